"""What is next by the time-table, on the day and at the minute."""

from __future__ import annotations

from datetime import datetime

import pytest

from trackside.logbook import Logbook, put
from trackside.reports.time_table import next_said

NOW = datetime(2026, 5, 9, 13, 55, 40)


@pytest.fixture
def day() -> Logbook:
    """One event of two days."""
    return Logbook.open(":memory:", device="here", author="A")


def _plan(logbook: Logbook, kind: str, start: str, **more: object) -> None:
    known = logbook.all("event")
    event = known[0][0] if known else None
    if event is None:
        new = put("event", {"venue": "Harrow Fen", "date": "2026-05-09"})
        logbook.write(new)
        event = new.entity
    logbook.write(put("session", {"event": event, "kind": kind, "start": start, **more}))


def _said(logbook: Logbook, now: datetime = NOW) -> str:
    return next_said(logbook.next_planned(now.strftime("%Y-%m-%d %H:%M")), now)


def test_the_planned_session_that_begins_next_is_told_with_its_wait(day: Logbook) -> None:
    _plan(day, "race", "2026-05-09 16:00")
    _plan(day, "qualifying", "2026-05-09 14:20")
    _plan(day, "practice", "2026-05-09 09:00")
    assert _said(day) == "next: qualifying at 14:20, in 25 min"
    assert _said(day, datetime(2026, 5, 9, 14, 20)) == "next: qualifying at 14:20, now"
    assert _said(day, datetime(2026, 5, 9, 14, 21)) == "next: race at 16:00, in 1 h 39 min"


def test_a_start_that_is_only_a_time_is_on_the_day_of_the_event(day: Logbook) -> None:
    _plan(day, "warm-up", "14:05")
    assert _said(day) == "next: warm-up at 14:05, in 10 min"


@pytest.mark.parametrize(
    ("start", "more"),
    [
        ("2026-05-10 14:00", {}),
        ("2026-05-09 13:54", {}),
        ("", {}),
        ("soon", {}),
        ("25:10", {}),
        ("2026-05-09 14:7", {}),
        ("2026-05-09 14:00", {"status": "done"}),
        ("2026-05-09 14:00", {"laps": {"typed": "3", "unit": "", "si": 3.0}}),
    ],
)
def test_what_is_not_ahead_today_is_not_next(day: Logbook, start: str, more: dict) -> None:
    _plan(day, "practice", start, **more)
    assert _said(day) == ""
