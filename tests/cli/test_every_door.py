"""One judgement of a value, by whatever door it came in: typed, settled, imported, carried over.

The limits behind the marks are our own, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.running import Cli
from trackside.analysis.shed import Shed
from trackside.crew.deciding import value_typed
from trackside.crew.listener import Listener
from trackside.crew.workspace import Workspace
from trackside.logbook import Logbook, patch, put
from trackside.preferences import Preferences
from trackside.reports.mark_words import build_problems, problem_at
from trackside.reports.run_sheet import run_sheet
from trackside.reports.text import text

METRIC = Preferences(author="ann")
SAID = {
    ("surface", "drying"): "“drying” is none of dry, damp, wet",
    ("air_temperature", "75"): "75 °C is outside -30 to 55 °C",
    ("best_lap", "5"): "0:05.000 s is outside 0:10.000 to 30:00.000 s",
    ("FL.damper", "HRAD"): "HRAD is not in the damper shed",
    ("FL.cold_pressure", "145"): "145.00 bar is outside 0.30 to 4.50 bar",
    ("FR.cold_pressure", "1.4 mm"): "“mm” is not a unit of pressure",
    ("RL.gas_pressure", "150 bar"): "150.00 bar is outside 2.00 to 40.00 bar",
    ("RL.tread_inner", "200"): "200 °C is outside 10 to 160 °C",
    ("RR.camber", "3 0"): "“0” is not a unit of angle",
}
"""What no car ever showed, by path: another unit, another field, a digit too many, a word that is
no choice; and how the sentence about it begins."""
SLIPS = dict(SAID.keys())
BUILD = {"damper": "D", "version": "A", "stroke": 0.9, "bump_parts": {"clamp": 0.2}}
DOORS = ("screen", "command line", "import", "bundle", "folder")


def begun(log: Path) -> str:
    """A logbook with one session and one build; the session."""
    with Logbook.open(log, author="ann", device="here") as logbook:
        session = put("session", {"start": "2026-05-09 10:00", "status": "done"})
        logbook.write(session, put("damper", {"serial": "D"}), put("build", BUILD))
    return session.entity


def typed_on_screen(log: Path, session: str) -> None:
    """As the run sheet keeps what is typed in its cells."""
    desk = Workspace(log, METRIC, Listener())
    desk.take(session)
    for path, value in SLIPS.items():
        desk.keep_text(path, value)
    desk.flush()
    desk.close()


def settled(log: Path, session: str) -> None:
    """As `settle --value` writes what is typed there."""
    with Logbook.open(log, author="ann", device="here") as logbook:
        for path, value in SLIPS.items():
            body = value_typed("session", path, value, logbook.state(session) or {}, METRIC)
            logbook.write(patch("session", session, {path: body}))


@pytest.fixture
def by_door(cli: Cli, tmp_path: Path) -> Callable[[str], tuple[Path, str]]:
    """The logbook into which the slips came by that door, and the session that has them."""

    def come_in(door: str) -> tuple[Path, str]:
        first, other = tmp_path / "first.trackside", tmp_path / "other.trackside"
        session = begun(first)
        (settled if door == "command line" else typed_on_screen)(first, session)
        carried = tmp_path / "carried"
        if door == "import":
            cli("--log", first, "export", carried)
            cli("--log", other, "import", carried)
        elif door == "bundle":
            cli("--log", first, "bundle", "write", carried)
            cli("--log", other, "bundle", "read", carried)
        elif door == "folder":
            carried.mkdir()
            cli("--log", first, "share", carried)
            cli("--log", other, "share", carried)
        return (other if other.exists() else first), session

    return come_in


@pytest.mark.parametrize("door", DOORS)
def test_the_judgement_is_the_same_at_every_door(
    door: str, by_door: Callable[[str], tuple[Path, str]], cli: Cli
) -> None:
    log, session = by_door(door)
    marks = cli("--log", log, "show", session, "--json").json["marks"]
    assert set(marks) == set(SLIPS)
    assert [
        marks[path] for (path, _), said in SAID.items() if not marks[path].startswith(said)
    ] == []
    with Logbook.open(log, read_only=True) as logbook:
        shed, record = Shed.of(logbook), logbook.session_record(session)
        assert {path: problem_at(path, record, shed, METRIC) for path in SLIPS} == marks
        for path, typed in SLIPS.items():
            value = record.value(path)
            assert getattr(value, "typed", value) == typed, "it is marked, never changed"
        paper = " ".join(" ".join(text(run_sheet(logbook, session, shed, METRIC), 200)).split())
        assert [why for why in marks.values() if why not in paper] == []
        assert [one.partition(" is ")[0] for one in build_problems(shed.builds[0], METRIC)] == [
            "stroke: 900.0 mm",
            "bump parts clamp: 200.0 mm",
        ]
