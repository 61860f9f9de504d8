"""dyno runs: the table of raw recordings in words, as JSON, and as a dyno sheet."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path

import numpy as np
import pytest

from tests.bench.recordings import DAMPER, GAS, HERTZ, STROKE, table, written
from tests.running import SHEETS, Cli
from trackside.analysis.rig import read_rig
from trackside.analysis.shed import Shed
from trackside.logbook import Logbook, patch


@pytest.fixture
def files(tmp_path: Path) -> list[Path]:
    return [
        written(tmp_path / f"run{n}.csv", table(hertz, 500 if hertz > 0.1 else 100))
        for n, hertz in enumerate(HERTZ)
    ]


def test_json_tells_every_run_gas_and_friction(cli: Cli, files: list[Path]) -> None:
    found = cli("dyno", "runs", *files, "--json").json
    assert found["gas_in"] is False
    assert found["gas_N"] == pytest.approx(GAS, abs=6)
    assert found["friction_N"] > 0
    assert found["warnings"] == []
    assert len(found["runs"]) == len(HERTZ)
    for run, hertz in zip(found["runs"], HERTZ, strict=True):
        assert run["frequency_Hz"] == pytest.approx(hertz, rel=1e-3)
        assert run["stroke_mm"] == pytest.approx(STROKE * 1000, rel=1e-3)
        # v = π·S·f of a sine: derived
        assert run["speed_mm_s"] == pytest.approx(np.pi * STROKE * 1000 * hertz, rel=1e-3)
        assert 0.6 < run["fullness"] < 1.05
        assert {"energy_J", "bump_scatter_N", "rebound_scatter_N", "oil_C", "shape"} <= set(run)


def test_the_sheet_is_read_fitted_and_the_dampers(
    cli: Cli, files: list[Path], tmp_path: Path
) -> None:
    out = tmp_path / "sheet.csv"
    found = cli("dyno", "runs", *files, "--position", 6, "--sheet", out, "--json").json
    assert (found["sheet"], found["rows"], found["position"]) == (str(out), 10, 6)
    lines = [line for line in out.read_text().splitlines() if not line.startswith("#")]
    for row in csv.DictReader(lines):
        true = DAMPER.true_force(row["direction"], 6, np.array([float(row["speed_mm_s"]) / 1000]))
        assert float(row["force_N"]) == pytest.approx(true[0], abs=6 + 0.01 * true[0])
    fitted = cli("dyno", "fit", out, "--json").json
    assert fitted["rows"] == 10
    assert {e["position"] for e in fitted["estimates"]} == {6}
    assert not list(tmp_path.glob(".sheet*"))


def test_a_sheet_never_replaces_a_file_unasked_nor_ever_a_logbook(
    cli: Cli, files: list[Path], tmp_path: Path
) -> None:
    log, theirs = tmp_path / "team.trackside", tmp_path / "theirs.csv"
    Logbook.open(log).close()
    theirs.write_text("precious")
    before = log.read_bytes()
    for target, more in ((theirs, ()), (theirs, ("--add",)), (log, ("--add",)), (files[0], ())):
        ran = cli("dyno", "runs", *files, "--position", 6, "--sheet", target, *more)
        assert ran.status == 2, target
        assert "--replace" not in ran.err
    assert (theirs.read_text(), log.read_bytes()) == ("precious", before)


def test_one_position_after_another_makes_a_whole_sheet(
    cli: Cli, files: list[Path], tmp_path: Path
) -> None:
    out = tmp_path / "sheet.csv"
    for n, position in enumerate((6, 11, 6)):
        found = cli(
            "dyno", "runs", *files, "--position", position, "--sheet", out, "--add", "--json"
        )
        assert found.json["rows"] == (10, 20, 20)[n]
    assert cli("dyno", "fit", out, "--json").json["directions"]["bump"]["positions"] == [6, 11]
    before = out.read_text()
    odd = cli("dyno", "runs", *files[2:], "--position", 16, "--sheet", out, "--add")
    assert odd.status == 2
    assert "this table holds the gas force and sheet.csv does not" in odd.err
    assert out.read_text() == before
    gassed = tmp_path / "gassed.csv"
    cli("dyno", "runs", *files[2:], "--position", 16, "--sheet", gassed)
    back = cli("dyno", "runs", *files, "--position", 6, "--sheet", gassed, "--add")
    assert (back.status, "gassed.csv holds the gas force" in back.err) == (2, True)
    assert cli("dyno", "runs", *files, "--add").status == 2
    ringed = Path(shutil.copy(SHEETS / "RP-0713-A.csv", tmp_path / "ringed.csv"))
    ring = cli("dyno", "runs", *files, "--position", 6, "--sheet", ringed, "--add")
    assert (ring.status, "preload positions" in ring.err) == (2, True)


def test_words(cli: Cli, files: list[Path]) -> None:
    said = cli("dyno", "runs", *files)
    assert said.status == 0
    assert "gas taken out above" in said.out
    assert "50.0" in said.out
    still = cli("dyno", "runs", *files[2:])
    assert "! no run is slow enough" in still.out


def test_loops_are_kept_with_the_newest_sheet(
    cli: Cli, files: list[Path], samples_log: Path, tmp_path: Path
) -> None:
    log = Path(shutil.copy(samples_log, tmp_path / "copy.trackside"))

    def keep(position: float, *some: Path) -> dict:
        arguments = ("--position", position, "--loops-of", "fp-0611", "--json")
        return cli("--log", log, "dyno", "runs", *some, *arguments).json

    def sheets() -> list[dict]:
        out = tmp_path / "all.json"
        out.unlink(missing_ok=True)
        cli("--log", log, "export", out)
        every = json.loads(out.read_text())["entities"]
        return [e["body"] for e in every if e["kind"] == "sheet"]

    before = sheets()
    found = keep(10, *files)
    assert {found["damper"], found["loops"]} == {"FP-0611", len(files)}
    keep(5, *files[:2])
    keep(10, *files[:3])
    after = sheets()
    changed = [(a, b) for a, b in zip(before, after, strict=True) if a != b]
    assert len(changed) == 1
    old, new = changed[0]
    assert old.pop("loops") == []
    loops = new.pop("loops")
    assert old == new
    assert sorted(loop["position"] for loop in loops) == [5, 5, 10, 10, 10]
    with Logbook.open(log, read_only=True) as logbook:
        kept = Shed.of(logbook).sheet(Shed.of(logbook).build("FP-0611"))
    rig = read_rig(files[:2])
    assert [x for x in kept.loops if x.position == 5] == list(rig.loops(5))


def test_loops_are_kept_though_another_sheet_cannot_be_read(
    cli: Cli, files: list[Path], samples_log: Path, tmp_path: Path
) -> None:
    log = Path(shutil.copy(samples_log, tmp_path / "copy.trackside"))
    with Logbook.open(log) as logbook:
        bodies = dict(logbook.all("sheet"))
        [other, *_] = [e for e, body in bodies.items() if body["damper"] != "FP-0611"]
        logbook.write(patch("sheet", other, {"rows": "torn"}))
    arguments = ("--position", 10, "--loops-of", "fp-0611", "--json")
    assert cli("--log", log, "dyno", "runs", *files, *arguments).json["loops"] == len(files)


def test_loops_are_refused_where_no_sheet_is(
    cli: Cli, files: list[Path], samples_log: Path, tmp_path: Path
) -> None:
    log = Path(shutil.copy(samples_log, tmp_path / "copy.trackside"))
    for serial, position, told in (
        ("NO-1", 6, "NO-1 has no dyno sheet"),
        ("FP-0611", 6, "no position 6: it has 0, 5, 10"),
    ):
        arguments = ("--position", position, "--loops-of", serial)
        refused = cli("--log", log, "dyno", "runs", *files[:2], *arguments)
        assert refused.status == 2
        assert told in refused.err
    alone = cli("--log", log, "dyno", "runs", *files[:2], "--loops-of", "FP-0611")
    assert (alone.status, "need --position" in alone.err) == (2, True)


def test_what_is_refused(cli: Cli, files: list[Path], tmp_path: Path) -> None:
    before = files[1].read_bytes()
    out = tmp_path / "sheet.csv"
    for arguments, told in (
        (("--sheet", out), "--sheet and --loops-of need --position"),
        (("--position", "hard"), "--position"),
        (("--position", -1), "no count of clicks"),
        (("--position", 6, "--sheet", files[1]), "is a recording"),
        (("--position", 6, "--sheet", tmp_path / "no" / "where.csv"), "cannot be written"),
    ):
        result = cli("dyno", "runs", *files, *arguments)
        assert result.status == 2
        assert told in result.err
    only = cli("dyno", "runs", files[0], "--position", 6, "--sheet", out)
    assert (only.status, out.exists()) == (2, False)
    assert "only slow runs" in only.err
    assert files[1].read_bytes() == before
    missing = cli("dyno", "runs", tmp_path / "none.csv")
    assert missing.status == 2
    assert "none.csv" in missing.err


def test_what_is_doubtful_of_a_recording_goes_with_its_sheet_to_the_damper(
    cli: Cli, files: list[Path], samples_log: Path, tmp_path: Path
) -> None:
    """The force of the runs at one position comes late against the displacement."""
    log = Path(shutil.copy(samples_log, tmp_path / "copy.trackside"))
    columns = table(HERTZ[-1], 500)
    columns[:, 2] = np.roll(columns[:, 2], round(0.18 * 500 / HERTZ[-1]))
    late = [*files[:-1], written(tmp_path / "late.csv", columns)]
    out = tmp_path / "sheet.csv"
    first = cli("dyno", "runs", *late, "--position", 10, "--sheet", out, "--json").json
    said = [w for w in first["warnings"] if "of its rectangle" in w]
    assert said
    cli("dyno", "runs", *files, "--position", 15, "--sheet", out, "--add")
    text = out.read_text()
    assert "# serious warning loop_fullness at 10: late" in text
    add = ("dyno", "add", out, "--damper", "FP-0611", "--count-from", "hard", "--json")
    added = cli("--log", log, *add).json
    carried = [w for w in added["warnings"] if w["name"] == "loop_fullness"]
    assert [w["sentence"] for w in carried] == said
    assert all(w["serious"] and w["position"] == 10 for w in carried)
    assert added["waits"] is True
    cli("dyno", "runs", *files, "--position", 10, "--sheet", out, "--add")
    assert "loop_fullness" not in out.read_text(), "the position was run again"


def test_the_whole_sheet_is_judged_as_it_grows(cli: Cli, files: list[Path], tmp_path: Path) -> None:
    out = tmp_path / "sheet.csv"
    found = cli("dyno", "runs", *files, "--position", 6, "--sheet", out, "--json").json
    fitted = cli("dyno", "fit", out, "--count-from", "hard", "--json").json
    assert found["warnings"] == fitted["warnings"]
    assert any("only 5 rod speeds" in warning for warning in found["warnings"])
