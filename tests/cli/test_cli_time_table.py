"""The time-table from the command line and on paper."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.running import Cli
from trackside.logbook import Logbook, put


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A practice of 40 minutes that ran, and a qualifying that begins before it is over."""
    path = tmp_path / "team.trackside"
    with Logbook.open(path, author="Mara", device="d") as logbook:
        event = put("event", {"venue": "Harrow Fen", "date": "2026-05-09"})
        car = put("car", {"name": "Coupé"})
        length = {"typed": "40", "unit": "min", "si": 2400.0}
        practice = {"kind": "practice", "start": "2026-05-09 10:00", "status": "done"}
        qualifying = {"kind": "qualifying", "start": "2026-05-09 10:30"}
        logbook.write(event, car)
        for body in (practice | {"duration": length}, qualifying):
            logbook.write(put("session", {**body, "event": event.entity, "car": car.entity}))
    return path


def test_the_day_is_listed_in_its_order(cli: Cli, log: Path) -> None:
    assert cli("--log", log, "timetable", "2026-05-09").out.splitlines() == [
        "10:00 to 10:40  practice    Harrow Fen  Coupé             "
        "  at the same time as qualifying (10:30)",
        "10:30           qualifying  Harrow Fen  Coupé  not run yet"
        "  at the same time as practice (10:00 to 10:40)",
    ]
    body = cli("--log", log, "timetable", "2026-05-09", "--json").json
    first, second = body["sessions"]
    assert (first["begins"], first["ends"]) == ("2026-05-09T10:00", "2026-05-09T10:40")
    assert (first["ran"], first["beside"]) == (True, ["qualifying"])
    assert (second["ends"], second["ran"]) == (None, False)


def test_a_day_without_sessions_and_what_is_no_day(cli: Cli, log: Path) -> None:
    assert cli("--log", log, "timetable", "2026-05-10").out == "No session begins on 2026-05-10.\n"
    assert cli("--log", log, "timetable").status == 0
    ran = cli("--log", log, "timetable", "Saturday")
    assert (ran.status, ran.out) == (2, "")
    assert "“Saturday” is no day: give it as 2026-05-09" in ran.err


def test_paper_says_from_when_to_when(cli: Cli, log: Path) -> None:
    told = " ".join(cli("--log", log, "sheet", "last-1").out.split())
    assert "10:00 to 10:40, at the same time as qualifying (10:30)" in told
    shown = cli("--log", log, "show", "last-1", "--json").json["values"]["duration"]
    assert shown == {"typed": "40", "unit": "min", "si": 2400.0, "si_unit": "s"}
