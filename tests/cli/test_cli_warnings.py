"""What `dyno add` says of a sheet, and that it does not count until a person has seen it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.running import SHEETS, Cli, Ran
from trackside.analysis.shed import Shed
from trackside.logbook import Logbook, patch
from trackside.logbook.dampers import records_of

SERIAL = "FP-0611"


@pytest.fixture
def log(samples_log: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(samples_log, tmp_path / "copy.trackside"))


def again(tmp_path: Path, share: float = 1.0, wild: float = 1.0) -> Path:
    """FP-0611's own sheet, every force times `share`, and one of them times `wild` too."""
    lines = (SHEETS / f"{SERIAL}-A.csv").read_text("utf-8").splitlines()
    at = lines[0].split(",").index("force_N")
    rows = [line.split(",") for line in lines[1:] if line.strip()]
    for n, row in enumerate(rows):
        row[at] = f"{share * (wild if n == 14 else 1) * float(row[at]):.1f}"
    path = tmp_path / f"{SERIAL}-again.csv"
    path.write_text("\n".join([lines[0], *(",".join(row) for row in rows)]), "utf-8")
    return path


def add(cli: Cli, log: Path, path: Path, *arguments: object) -> Ran:
    given = ("--damper", SERIAL, "--date", "2026-11-01", *arguments)
    return cli("--log", log, "dyno", "add", path, *given)


def ground(cli: Cli, log: Path) -> str:
    return cli("--log", log, "curve", "last", "FL", "--json").json["estimates"][0]["ground"]


def test_every_warning_has_a_name_and_a_sentence(cli: Cli, log: Path, tmp_path: Path) -> None:
    found = add(cli, log, again(tmp_path, wild=1.5), "--json").json
    [warning] = [w for w in found["warnings"] if w["name"] == "stray_row"]
    assert warning["direction"] in ("bump", "rebound")
    assert warning["position"] in (0, 5, 10, 15, 20)
    assert "off its curve" in warning["sentence"]
    assert warning["serious"] is False
    assert found["waits"] is False
    fitted = cli("dyno", "fit", again(tmp_path, wild=1.5), "--count-from", "hard", "--json").json
    alone = [w for w in fitted["sheet_warnings"] if not w["name"].startswith("preload_counting")]
    assert alone == found["warnings"], "the damper's own adjusters say how preload counts"
    assert [w["sentence"] for w in fitted["sheet_warnings"]] == fitted["warnings"]


def test_a_sound_sheet_carries_none(cli: Cli, log: Path, tmp_path: Path) -> None:
    assert add(cli, log, again(tmp_path, 0.95), "--json").json["warnings"] == []
    assert "2026-11-01" in ground(cli, log)


@pytest.mark.parametrize("share", [1.4, 0.6])
def test_a_large_change_does_not_count_until_it_was_seen(
    cli: Cli, log: Path, tmp_path: Path, share: float
) -> None:
    found = add(cli, log, again(tmp_path, share), "--json").json
    assert {w["name"] for w in found["warnings"] if w["serious"]} == {"large_change"}
    assert (found["waits"], found["seen_by"]) == (True, None)
    assert "2026-11-01" not in ground(cli, log)
    told = cli("--log", log, "dyno", "compare", SERIAL, "--json").json
    assert [sheet["counts"] for sheet in told["sheets"]] == [True, False]
    assert [sheet["waits"] for sheet in told["sheets"]] == [False, True]
    assert (told["against"], told["changes"]) == (None, {}), "what does not count is not compared"
    seen = cli("--log", log, "dyno", "seen", SERIAL, "--json").json
    assert seen["sheets"][0]["warnings"] == found["warnings"]
    assert "2026-11-01" in ground(cli, log)
    with Logbook.open(log, read_only=True) as logbook:
        shed = Shed.of(logbook)
    sheet = shed.sheet(shed.build(SERIAL))
    assert sheet.seen_by == seen["seen_by"] != ""
    assert {w.name for w in sheet.warnings} == {"large_change"}, "they stay in the record"
    nothing = cli("--log", log, "dyno", "seen", SERIAL)
    assert (nothing.status, "waits to be seen" in nothing.err) == (2, True)


def test_yes_says_that_they_were_seen(cli: Cli, log: Path, tmp_path: Path) -> None:
    found = add(cli, log, again(tmp_path, 1.4), "--yes", "--json").json
    assert found["waits"] is False
    assert found["seen_by"]
    assert "2026-11-01" in ground(cli, log)


def test_people_read_that_it_waits_and_how_it_counts(cli: Cli, log: Path, tmp_path: Path) -> None:
    ran = add(cli, log, again(tmp_path, 1.4))
    assert ran.status == 0
    assert "! bump changed by +40 % against the sheet before" in ran.out
    assert f"does not count until its warnings were seen: trackside dyno seen {SERIAL}" in ran.out
    told = cli("--log", log, "dyno", "compare", SERIAL)
    assert "waits for its warnings to be seen" in told.out
    assert f"trackside dyno seen {SERIAL}" in told.out
    seen = cli("--log", log, "dyno", "seen", SERIAL)
    assert "! bump changed by +40 %" in seen.out
    assert "was chosen to count" not in seen.out
    assert "bump +40" in cli("--log", log, "dyno", "compare", SERIAL).out


def test_signing_says_that_another_sheet_was_chosen(cli: Cli, log: Path, tmp_path: Path) -> None:
    with Logbook.open(log, author="a", device="a") as logbook:
        shed = Shed.of(logbook)
        chosen = shed.named_sheets(shed.build(SERIAL))[0][0]
        entity = records_of(logbook, SERIAL)["build"]
        logbook.write(patch("build", entity, {"sheet": chosen}))
    add(cli, log, again(tmp_path, 1.4))
    assert (
        "another sheet of this build was chosen to count"
        in cli("--log", log, "dyno", "seen", SERIAL).out
    )
