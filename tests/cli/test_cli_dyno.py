"""dyno fit and dyno add: contract, counting, units, signs, and every way a file can be wrong."""

from __future__ import annotations

import csv
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.bench.virtual_bench import virtual_damper
from tests.cli.contract import check_estimate
from tests.running import SHEETS, Cli
from trackside.units import INCH, LBF

DAMPER = virtual_damper(1007)
POSITIONS = [round(DAMPER.clicks * share) for share in (0, 0.25, 0.5, 0.75, 1)]


def rows() -> list[tuple[float, str, float, float]]:
    """Position from full hard, direction, mm/s, N."""
    sheet = DAMPER.measure(POSITIONS, seed=7)
    return [(p, d, 1000 * v, f) for p, d, v, f in sheet.rows]


def text(
    header: str = "position,direction,speed_mm_s,force_N",
    cells: str = "{p:g},{d},{v:.6g},{f:.3f}",
    given: list[tuple[float, str, float, float]] | None = None,
) -> str:
    lines = [cells.format(p=p, d=d, v=v, f=f) for p, d, v, f in given or rows()]
    return "\n".join([header, *lines]) + "\n"


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    path = tmp_path / "sheet.csv"
    path.write_text(text())
    return path


def written(tmp_path: Path, content: str | bytes, name: str = "other.csv") -> Path:
    path = tmp_path / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def test_fit_keeps_the_contract(cli: Cli, sheet: Path) -> None:
    found = cli("dyno", "fit", sheet, "--count-from", "hard", "--json").json
    assert found["source"] == "sheet.csv"
    assert found["counted_from"] == "hard"
    assert found["count_from_stated"] is True
    assert found["warnings"] == []
    assert set(found["directions"]) == {"bump", "rebound"}
    assert len(found["estimates"]) == 2 * len(POSITIONS)
    for estimate in found["estimates"]:
        check_estimate(estimate)
        assert estimate["basis"] == "measured"
        assert estimate["clicks_from_hard"] == estimate["position"]
    speeds = sorted({v for _, _, v, _ in rows()})
    assert found["estimates"][0]["speed_mm_s"] == pytest.approx(speeds)


def test_fit_residuals_are_measured_less_fitted_for_every_row(cli: Cli, sheet: Path) -> None:
    found = cli("dyno", "fit", sheet, "--json").json
    for direction, body in found["directions"].items():
        given = [(p, v, f) for p, d, v, f in rows() if d == direction]
        told = [(r["position"], r["speed_mm_s"], r["force_N"]) for r in body["residuals"]]
        assert np.array(told) == pytest.approx(np.array(given), abs=1e-3)
        misses = [r["residual_N"] for r in body["residuals"]]
        assert misses == pytest.approx([r["force_N"] - r["fitted_N"] for r in body["residuals"]])
        assert body["rms_N"] == pytest.approx(np.sqrt(np.mean(np.square(misses))))
        # a share of the force, or of 2 % of the largest where the force is next to nothing
        least = 0.02 * max(r["force_N"] for r in body["residuals"])
        shares = [r["residual_N"] / max(r["force_N"], least) for r in body["residuals"]]
        assert body["rms_percent"] == pytest.approx(100 * np.sqrt(np.mean(np.square(shares))))
        for parameter in body["parameters"]:
            assert set(parameter) == {"name", "value", "low", "high", "unit"}
            assert parameter["low"] <= parameter["value"] <= parameter["high"]


def test_fit_tells_how_each_position_is_known(cli: Cli, sheet: Path) -> None:
    between, beyond = (POSITIONS[1] + POSITIONS[2]) / 2, POSITIONS[-1] + 3
    arguments = [word for p in (POSITIONS[1], between, beyond) for word in ("--at", p)]
    found = cli("dyno", "fit", sheet, *arguments, "--speeds", "25,50,100", "--json").json
    bases = {(e["position"], e["basis"]) for e in found["estimates"]}
    assert bases == {
        (POSITIONS[1], "measured"),
        (between, "between clicks"),
        (beyond, "outside range"),
    }
    assert all(e["speed_mm_s"] == [25, 50, 100] for e in found["estimates"])
    assert any("beyond" in warning for warning in found["warnings"])


def test_counting_is_inferred_from_the_forces_and_said(cli: Cli, tmp_path: Path) -> None:
    soft = [(DAMPER.clicks - p, d, v, f) for p, d, v, f in rows()]
    path = written(tmp_path, text(given=soft))
    found = cli("dyno", "fit", path, "--json").json
    assert found["counted_from"] == "soft"
    assert found["count_from_stated"] is False
    assert any("full soft" in warning for warning in found["warnings"])
    hard = cli("dyno", "fit", written(tmp_path, text(), "hard.csv"), "--json").json
    assert hard["counted_from"] == "hard"
    by_place = {(DAMPER.clicks - e["position"], e["direction"]): e for e in found["estimates"]}
    for estimate in hard["estimates"]:
        twin = by_place[estimate["position"], estimate["direction"]]
        assert twin["force_N"] == pytest.approx(estimate["force_N"])
        assert twin["clicks_from_hard"] is None, "the travel of the adjuster is not on the sheet"


def test_a_bleed_is_named_by_its_position_as_counted(cli: Cli, tmp_path: Path) -> None:
    soft = [(DAMPER.clicks - p, d, v, f) for p, d, v, f in rows()]
    found = cli("dyno", "fit", written(tmp_path, text(given=soft)), "--json").json
    bleeds = {
        float(p["name"].removeprefix("bleed at ")): p["value"]
        for p in found["directions"]["bump"]["parameters"]
        if p["name"].startswith("bleed at ")
    }
    assert sorted(bleeds) == sorted({p for p, *_ in soft})
    in_order = [bleeds[p] for p in sorted(bleeds)]
    assert in_order == sorted(in_order, reverse=True), "counted from soft, 0 is widest open"


def test_a_count_that_the_forces_contradict_is_refused(cli: Cli, sheet: Path) -> None:
    ran = cli("dyno", "fit", sheet, "--count-from", "soft")
    assert (ran.status, ran.out) == (2, "")
    assert "sheet.csv" in ran.err
    assert "soft" in ran.err


def test_directions_that_count_against_each_other_are_refused(cli: Cli, tmp_path: Path) -> None:
    odd = [(DAMPER.clicks - p if d == "bump" else p, d, v, f) for p, d, v, f in rows()]
    ran = cli("dyno", "fit", written(tmp_path, text(given=odd)))
    assert ran.status == 2
    assert "bump counts from full soft, rebound from full hard" in ran.err


def test_one_position_is_assumed_and_others_have_no_estimate(cli: Cli, tmp_path: Path) -> None:
    one = [row for row in rows() if row[0] == POSITIONS[2]]
    path = written(tmp_path, text(given=one))
    found = cli("dyno", "fit", path, "--at", POSITIONS[2], "--at", POSITIONS[2] + 1, "--json").json
    assert found["count_from_stated"] is False
    assert any("assumption" in warning for warning in found["warnings"])
    bases = [e["basis"] for e in found["estimates"]]
    assert bases == ["measured", "no estimate"] * 2
    assert all(e["why"] for e in found["estimates"] if e["basis"] == "no estimate")
    alone = cli("dyno", "fit", path, "--at", POSITIONS[2] + 1)
    assert (alone.status, alone.out) == (2, "")


def test_inches_and_pounds_tell_the_same_as_si(cli: Cli, sheet: Path, tmp_path: Path) -> None:
    inch = [(p, d, v / 1000 / INCH, f / LBF) for p, d, v, f in rows()]
    other = text("position,direction,speed_in_s,force_lbf", "{p:g},{d},{v:.12g},{f:.12g}", inch)
    si = text(cells="{p:g},{d},{v:.12g},{f:.12g}")
    a = cli("dyno", "fit", written(tmp_path, si, "si.csv"), "--json").json
    b = cli("dyno", "fit", written(tmp_path, other), "--json").json
    for one, two in zip(a["estimates"], b["estimates"], strict=True):
        for key in ("speed_mm_s", "force_N", "low_N", "high_N"):
            assert two[key] == pytest.approx(one[key], rel=1e-6)


def test_negative_rebound_stays_negative(cli: Cli, sheet: Path, tmp_path: Path) -> None:
    signed = [(p, d, v, -f if d == "rebound" else f) for p, d, v, f in rows()]
    plain = cli("dyno", "fit", sheet, "--json").json
    found = cli("dyno", "fit", written(tmp_path, text(given=signed)), "--json").json
    for one, two in zip(plain["estimates"], found["estimates"], strict=True):
        check_estimate(two)
        sign = -1 if two["direction"] == "rebound" else 1
        assert two["force_N"] == pytest.approx([sign * f for f in one["force_N"]])
        assert sorted(map(abs, (two["low_N"][3], two["high_N"][3]))) == pytest.approx(
            [one["low_N"][3], one["high_N"][3]]
        )
    residuals = found["directions"]["rebound"]["residuals"]
    assert all(r["force_N"] < 0 and r["fitted_N"] < 0 for r in residuals)


@pytest.mark.parametrize(
    ("header", "cells"),
    [
        ("position;direction;speed_mm_s;force_N", "{p:g};{d};{v:.6g};{f}"),
        ("\ufeffPosition\tDirection\tspeed_MM_S\tforce_n", "{p:g}\t{d}\t{v:.6g}\t{f}"),
        ("note;force_N;speed_mm_s;direction;position;more", "x;{f};{v:.6g};{d};{p:g};y"),
    ],
)
def test_semicolons_tabs_and_decimal_commas(
    cli: Cli, sheet: Path, tmp_path: Path, header: str, cells: str
) -> None:
    lines = [
        cells.format(p=p, d=d.upper(), v=v, f=f"{f:.3f}".replace(".", ",")) for p, d, v, f in rows()
    ]
    path = written(tmp_path, "\r\n".join([header, "", *lines]))
    plain, found = (cli("dyno", "fit", name, "--json").json for name in (sheet, path))
    assert [e["force_N"] for e in found["estimates"]] == [e["force_N"] for e in plain["estimates"]]


def test_gas_force_in_the_sheet_is_taken_out_for_the_fit_and_put_back(
    cli: Cli, tmp_path: Path
) -> None:
    gas = 0.5 * min(f for *_, f in rows())
    held = replace(DAMPER, gas_force=gas).measure(POSITIONS, seed=7, gas_in=True)
    path = written(tmp_path, held.as_csv())
    found = cli("dyno", "fit", path, "--gas-force", f"{gas:.3f}", "--json").json
    for estimate in found["estimates"]:
        check_estimate(estimate)
        v = np.array(estimate["speed_mm_s"]) / 1000
        true = DAMPER.true_force(estimate["direction"], estimate["position"], v)
        true = true + gas * (1 if estimate["direction"] == "bump" else -1)
        fast = v > 0.05
        assert np.array(estimate["force_N"])[fast] == pytest.approx(true[fast], rel=0.06)


def bad(lines: dict[int, str]) -> str:
    """The good sheet with some of its lines (1 is the header) replaced."""
    kept = text().splitlines()
    for line, content in lines.items():
        kept[line - 1] = content
    return "\n".join(kept)


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "is empty"),
        (b"\0\1\2\3", "not text"),
        (b"\xff\xfep\0o\0s", "UTF-16 text breaks off"),
        (b"PK\3\4xl/workbook", "a workbook or an archive, not text"),
        (b"position,direction,speed_mm_s,force_N\n0,bump,25,\xe9\n", "line 2"),
        (b"position,direction,speed_mm_s,force_N\n", "no rows"),
        (bad({1: "position,direction,speed_mm_s,load"}).encode(), "line 1 has no column force_N"),
        (bad({7: "0,bump,100,nan"}).encode(), "line 7"),
        (bad({7: "0,bump,100,inf"}).encode(), "line 7"),
        (bad({7: "0,bump,100,1e999"}).encode(), "line 7"),
        (bad({7: "0,bump,100,"}).encode(), "line 7"),
        (bad({7: "0,bump,100"}).encode(), "line 7"),
        (bad({7: "0,sideways,100,400"}).encode(), "line 7"),
        (bad({7: "0,bump,100,-400"}).encode(), "line 7"),
        (bad({15: "0,rebound,100,-400"}).encode(), "line 15"),
        (bad({7: "0,bump,fast,400"}).encode(), "line 7"),
        (text().replace("mm_s", "m_s").encode(), "speed"),
        (text(given=rows()[:3]).encode(), "at least 4 speeds"),
        (text(given=[(p, d, v, 0.0) for p, d, v, _ in rows()]).encode(), "force is zero"),
        (bad({7: "-1,bump,100,400"}).encode(), "no count of clicks"),
        (bad({7: "1e300,bump,100,400"}).encode(), "no count of clicks"),
        (bad({7: "0.001,bump,100,400"}).encode(), "are one"),
        (bad({7: "0,bump,100," + "4" * 200_000}).encode(), "not a table"),
    ],
)
def test_a_sheet_that_cannot_be_used_names_file_and_place(
    cli: Cli, tmp_path: Path, content: bytes, told: str
) -> None:
    ran = cli("dyno", "fit", written(tmp_path, content, "bad.csv"))
    assert (ran.status, ran.out) == (2, "")
    assert "bad.csv" in ran.err
    assert told in ran.err
    assert ran.err.count("\n") == 1


def test_files_that_are_none(cli: Cli, tmp_path: Path) -> None:
    huge = tmp_path / "huge.csv"
    with huge.open("wb") as file:
        file.truncate(2 * 1024**3)
    for name, told in ((tmp_path, "folder"), (tmp_path / "none.csv", "no file"), (huge, "MB")):
        ran = cli("dyno", "fit", name)
        assert ran.status == 2
        assert told in ran.err


@pytest.mark.parametrize(
    "arguments",
    [
        ("--at", "hard"), ("--at", "-1"), ("--at", "1e300"), ("--at", "nan"), ("--speeds", "0,25"),
        ("--count-from", "middle"), ("--gas-force", "20 bar"),
    ],
)  # fmt: skip
def test_options_that_cannot_be_used(cli: Cli, sheet: Path, arguments: tuple[str, ...]) -> None:
    ran = cli("dyno", "fit", sheet, *arguments)
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.count("\n") == 1


def test_fit_in_words_tells_forces_band_and_warnings(cli: Cli, sheet: Path) -> None:
    ran = cli("dyno", "fit", sheet, "--at", POSITIONS[2])
    assert ran.status == 0
    assert f"position {POSITIONS[2]}, measured" in ran.out
    assert "±" in ran.out
    assert "! positions are taken as counted from full hard" in ran.out


@pytest.mark.parametrize("path", sorted(SHEETS.glob("*.csv")), ids=lambda path: path.stem)
def test_every_sample_sheet_can_be_fitted(cli: Cli, path: Path) -> None:
    found = cli("dyno", "fit", path, "--speeds", "50,100", "--json").json
    for estimate in found["estimates"]:
        check_estimate(estimate)
    with path.open() as file:
        assert found["rows"] == sum(1 for _ in csv.DictReader(file))


def test_add_puts_the_sheet_to_its_damper(cli: Cli, samples_log: Path, tmp_path: Path) -> None:
    log = tmp_path / "copy.trackside"
    log.write_bytes(samples_log.read_bytes())
    clicks = {"position": 20, "direction": "bump"}
    given = [(min(p, clicks["position"]), d, v, f) for p, d, v, f in rows() if p <= 20]
    path = written(tmp_path, text(given=given))
    before = cli("--log", log, "curve", "last", "FL", "--json").json
    added = cli(
        "--log", log, "dyno", "add", path, "--damper", "fp-0611", "--date", "2026-11-01",
        "--yes", "--json",
    ).json  # fmt: skip
    assert (added["damper"], added["build"], added["rows"]) == ("FP-0611", "A", len(given))
    after = cli("--log", log, "curve", "last", "FL", "--json").json
    assert "2026-11-01" in after["estimates"][0]["ground"]
    assert after["estimates"][0]["force_N"] != before["estimates"][0]["force_N"]
    again = cli("--log", log, "dyno", "add", path, "--damper", "FP-0611")
    assert again.status == 2
    assert "already" in again.err
    # the same rows with another word on their gas force are other forces: they put it right
    otherwise = ("--gas-force", "40", "--yes", "--json")
    corrected = cli("--log", log, "dyno", "add", path, "--damper", "FP-0611", *otherwise).json
    assert corrected["rows"] == len(given)
    counting = cli("--log", log, "curve", "last", "FL", "--json").json
    assert counting["estimates"][0]["force_N"] != after["estimates"][0]["force_N"]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("--damper", "NO-1"), "no damper NO-1"),
        (("--damper", "FP-0611", "--build", "Z"), "no build"),
        (("--damper", "FP-0611", "--date", "yesterday"), "not a date"),
        (("--damper", "FP-0611", "--count-from", "soft"), "full soft"),
        (("--damper", "FP-0611", "--gas-in", "much"), "not a number"),
        ((), "--damper"),
    ],
)
def test_add_refuses_and_writes_nothing(
    cli: Cli, samples_log: Path, tmp_path: Path, arguments: tuple[str, ...], told: str
) -> None:
    log = tmp_path / "copy.trackside"
    log.write_bytes(samples_log.read_bytes())
    path = written(tmp_path, text(given=[row for row in rows() if row[0] <= 20]))
    ran = cli("--log", log, "dyno", "add", path, *arguments)
    assert ran.status == 2
    assert told in ran.err
    assert log.read_bytes() == samples_log.read_bytes()


def test_a_file_named_for_another_damper_is_refused(
    cli: Cli, samples_log: Path, tmp_path: Path
) -> None:
    log = tmp_path / "copy.trackside"
    log.write_bytes(samples_log.read_bytes())
    sheet = SHEETS / "FP-0619-C.csv"
    refused = cli("--log", log, "dyno", "add", sheet, "--damper", "FP-0611")
    assert refused.status == 2
    assert "named for damper FP-0619" in refused.err
    assert log.read_bytes() == samples_log.read_bytes()


def test_a_second_sheet_is_compared_with_the_first(
    cli: Cli, samples_log: Path, tmp_path: Path
) -> None:
    """FP-0611's own sheet with every force down by a tenth: a loss, told by add and compare."""
    log = tmp_path / "copy.trackside"
    log.write_bytes(samples_log.read_bytes())
    lines = (SHEETS / "FP-0611-A.csv").read_text("utf-8").splitlines()
    header = lines[0].split(",")
    force = header.index("force_N")
    weak = tmp_path / "FP-0611-again.csv"
    rows = [line.split(",") for line in lines[1:] if line.strip()]
    for row in rows:
        row[force] = f"{0.9 * float(row[force]):.1f}"
    weak.write_text("\n".join([lines[0], *(",".join(row) for row in rows)]), "utf-8")
    assert cli("--log", log, "dyno", "compare", "FP-0611").status == 2
    added = cli(
        "--log", log, "dyno", "add", str(weak), "--damper", "FP-0611", "--date", "2026-11-01"
    )
    # both sheets are fitted, so the tenth comes back to a tenth of a percent or two
    lost = re.search(r"! bump −(\d+\.\d) %", added.out)
    assert lost
    assert float(lost[1]) == pytest.approx(10.0, abs=0.2)
    found = cli("--log", log, "dyno", "compare", "FP-0611", "--json").json
    assert [sheet["counts"] for sheet in found["sheets"]] == [False, True]
    for change in found["changes"].values():
        assert change["lost"]
        assert change["change"] == pytest.approx(-0.1, abs=change["band"])
    said = cli("--log", log, "dyno", "compare", "FP-0611").out
    assert "more than 4 % of the force is lost" in said
    assert "limit 4 %: our own, no source" in said
