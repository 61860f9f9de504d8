"""The positions that a crew uses: from the sessions that ran, the newest first."""

from __future__ import annotations

from pathlib import Path

from trackside.analysis.used import SESSIONS, last_corners
from trackside.logbook import Logbook, put
from trackside.records import Reading


def session(day: int, corner: str, clicks: float, status: str = "done", damper: str = "D1") -> dict:
    body = {"damper": damper, "bump_bleed": Reading.of_si(clicks, "clicks").body()}
    return {"start": f"2026-05-{day:02d} 10:00", "status": status, corner: body}


def test_the_last_sessions_that_ran_say_what_is_used(tmp_path: Path) -> None:
    with Logbook.open(tmp_path / "season.trackside", device="d") as logbook:
        assert last_corners(logbook, "D1") == ()
        bodies = [session(day, "FL", day) for day in range(1, 9)]
        bodies += [session(9, "RR", 20.0), session(11, "FL", 30.0, "planned")]
        bodies += [session(10, "FR", 40.0, damper="D2")]
        logbook.write(*(put("session", body) for body in bodies))
        used = last_corners(logbook, "d1")
        assert [corner.si("bump_bleed") for corner in used] == [20.0, 8.0, 7.0, 6.0, 5.0]
        assert len(used) == SESSIONS


def test_sessions_behind_two_hundred_newer_ones_are_not_looked_through(tmp_path: Path) -> None:
    with Logbook.open(tmp_path / "season.trackside", device="d") as logbook:
        other = [session(day, "FL", 5.0, damper="D2") for day in range(2, 22) for _ in range(10)]
        old = put("session", session(1, "FL", 5.0))
        logbook.write(old, *(put("session", body) for body in other[1:]))
        assert len(last_corners(logbook, "D1")) == 1
        logbook.write(put("session", other[0]))
        assert last_corners(logbook, "D1") == ()
