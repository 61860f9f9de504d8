"""dyno fit as a technician meets it: odd rows, cut files, few positions, two knobs."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from tests.bench.virtual_bench import SPEEDS, virtual_damper
from tests.cli.contract import check_estimate
from tests.running import SHEETS, Cli
from trackside.units import LBF

DAMPER = virtual_damper(1007)
POSITIONS = (0, 6, 11, 16, 22)
ROWS = DAMPER.measure(POSITIONS, seed=7).rows
NOBODY = 65534


def sheet(tmp_path: Path, rows=ROWS, header: str = "position,direction,speed_mm_s,force_N") -> Path:
    path = tmp_path / "bench.csv"
    lines = [f"{p:g},{d},{1000 * v:g},{f:.2f}" for p, d, v, f in rows]
    path.write_text("\n".join([header, *lines]) + "\n")
    return path


def fit(cli: Cli, path: Path, *arguments: object) -> dict:
    return cli("dyno", "fit", path, "--count-from", "hard", *arguments, "--json").json


def test_one_wild_row_is_named_and_moves_the_curve_little(cli: Cli, tmp_path: Path) -> None:
    wild = [(p, d, v, f * (1.6 if (p, d, v) == (11, "bump", 0.1) else 1.0)) for p, d, v, f in ROWS]
    sound = fit(cli, sheet(tmp_path), "--at", 11, "--at", 14)
    found = fit(cli, sheet(tmp_path, wild), "--at", 11, "--at", 14)
    assert sound["warnings"] == []
    [warning] = found["warnings"]
    assert "bump at position 11 and 100 mm/s" in warning
    assert "60% off" in warning
    for one, other in zip(sound["estimates"], found["estimates"], strict=True):
        assert other["force_N"] == pytest.approx(one["force_N"], rel=0.03)


@pytest.mark.parametrize("softer", [11, 16])
def test_some_runs_in_pounds_are_refused(cli: Cli, tmp_path: Path, softer: int) -> None:
    """Bump runs from there on stand in lbf under a header of N."""
    mixed = [(p, d, v, f / LBF if p >= softer and d == "bump" else f) for p, d, v, f in ROWS]
    ran = cli("dyno", "fit", sheet(tmp_path, mixed))
    assert (ran.status, ran.out) == (2, "")
    assert "bench.csv" in ran.err
    assert "lbf under N?" in ran.err or "check which run is which" in ran.err


def test_what_is_refused_names_its_file_once_and_writes_nothing(
    cli: Cli, samples_log: Path, tmp_path: Path
) -> None:
    log = tmp_path / "copy.trackside"
    log.write_bytes(samples_log.read_bytes())
    mixed = [(p, d, v, f / LBF if p >= 11 and d == "bump" else f) for p, d, v, f in ROWS if p < 20]
    for rows in (mixed, ROWS[:3]):
        path = sheet(tmp_path, rows)
        ran = cli("--log", log, "dyno", "add", path, "--damper", "FP-0611")
        assert ran.status == 2
        assert ran.err.count("bench.csv") == 1
    assert log.read_bytes() == samples_log.read_bytes()


def test_the_softest_run_alone_in_pounds_is_warned_of(cli: Cli, tmp_path: Path) -> None:
    """A wide open bleed might do the same, so it is not refused."""
    mixed = [(p, d, v, f / LBF if (p, d) == (22, "bump") else f) for p, d, v, f in ROWS]
    found = fit(cli, sheet(tmp_path, mixed))
    assert any("the bump fit misses its rows" in warning for warning in found["warnings"])


def test_some_rows_in_pounds_are_refused(cli: Cli, tmp_path: Path) -> None:
    mixed = [(p, d, v, f / LBF if n % 2 else f) for n, (p, d, v, f) in enumerate(ROWS)]
    ran = cli("dyno", "fit", sheet(tmp_path, mixed))
    assert ran.status == 2
    assert "falls as speed rises" in ran.err
    assert "mixed up" in ran.err


def test_a_sheet_cut_off_between_two_lines_is_noticed(cli: Cli, tmp_path: Path) -> None:
    cut = fit(cli, sheet(tmp_path, ROWS[:50]))
    assert any("rebound lacks position 11" in warning for warning in cut["warnings"])


def test_one_direction_only_is_said(cli: Cli, tmp_path: Path) -> None:
    found = fit(cli, sheet(tmp_path, [row for row in ROWS if row[1] == "bump"]))
    assert set(found["directions"]) == {"bump"}
    assert "the sheet has no rebound rows: nothing is said of rebound" in found["warnings"]


@pytest.mark.parametrize("kept", [POSITIONS, (0, 11, 22), (0, 22)])
def test_fewer_positions_carry_the_rest(cli: Cli, tmp_path: Path, kept: tuple[int, ...]) -> None:
    found = fit(cli, sheet(tmp_path, [r for r in ROWS if r[0] in kept]), "--at", 8)
    for told in found["estimates"]:
        check_estimate(told)
        assert told["basis"] == "between clicks"
        true = DAMPER.true_force(told["direction"], 8, SPEEDS)
        # within a quarter from two positions, 4 % from three or more: what this damper shows
        within = 0.25 if len(kept) == 2 else 0.04
        error = np.array(told["force_N"]) / true - 1
        assert np.sqrt(np.mean(error**2)) < within


def test_one_position_is_carried_by_the_shops_rule_and_says_so(cli: Cli, tmp_path: Path) -> None:
    one = sheet(tmp_path, [row for row in ROWS if row[0] == 6])
    speeds = ("--speeds", "50,100", "--click", 3, 50)
    found = fit(cli, one, "--at", 6, "--at", 10, *speeds)
    assert [e["basis"] for e in found["estimates"]] == ["measured", "shop rule"] * 2
    assert any("all others follow the shop rule" in warning for warning in found["warnings"])
    for here, there in zip(found["estimates"][::2], found["estimates"][1::2], strict=True):
        check_estimate(there)
        # even force steps: 1 − 0.03·10 over 1 − 0.03·6 of it at 50 mm/s (arithmetic); the seal's
        # friction does not change with the click
        friction = next(
            p["value"]
            for p in found["directions"][here["direction"]]["parameters"]
            if p["name"] == "friction"
        )
        left = (there["force_N"][0] - friction) / (here["force_N"][0] - friction)
        assert left == pytest.approx(0.70 / 0.82, rel=1e-3)
    unknown = cli("dyno", "fit", one, "--at", 10, *speeds)
    assert unknown.status == 2
    assert "--count-from hard" in unknown.err


def test_positions_of_both_knobs_may_be_asked(cli: Cli) -> None:
    path = SHEETS / "RP-0713-A.csv"
    asked = ("--at", 6, "--preload", 2.5, "--preload", 9, "--speeds", "50,200")
    found = cli("dyno", "fit", path, *asked, "--json").json
    bump = [e for e in found["estimates"] if e["direction"] == "bump"]
    assert [(e["preload_position"], e["basis"]) for e in bump] == [
        (2.5, "between clicks"),
        (9, "outside range"),
    ]
    assert any("position 6, preload 9 is beyond" in warning for warning in found["warnings"])
    rebound = [e for e in found["estimates"] if e["direction"] == "rebound"]
    assert len(rebound) == 1
    assert "preload_position" not in rebound[0]


@pytest.mark.parametrize(
    "arguments",
    [("--click", "much", "50"), ("--click", "4", "50,60"), ("--click", "120", "50"),
     ("--preload", "-1"), ("--preload", "soft")],
)  # fmt: skip
def test_knobs_that_cannot_be(cli: Cli, arguments: tuple[str, ...]) -> None:
    ran = cli("dyno", "fit", SHEETS / "RP-0713-A.csv", *arguments)
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.count("\n") == 1


@pytest.mark.parametrize("command", ["fit", "runs"])
def test_a_file_without_permission_is_told(cli: Cli, tmp_path: Path, command: str) -> None:
    path = sheet(tmp_path)
    cli("dyno", command, path)  # what is imported late is imported now
    path.chmod(0)
    user = os.geteuid()
    if user == 0:
        os.seteuid(NOBODY)  # no permission stops root
    try:
        ran = cli("dyno", command, path)
    finally:
        os.seteuid(user)
    assert (ran.status, ran.out) == (2, "")
    assert "bench.csv cannot be read (Permission denied)" in ran.err
    assert ran.err.count("\n") == 1
