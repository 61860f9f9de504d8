"""What is next by the time-table, on the day and at the minute."""

from __future__ import annotations

from datetime import datetime

import pytest

from trackside.analysis.time_table import TimeTables, day_of, time_table
from trackside.logbook import Logbook, put
from trackside.reports.time_table import next_said, running_said, slot_said_of

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


MINUTES = {"typed": "40", "unit": "min", "si": 2400.0}


def _running(logbook: Logbook, hour: int, minute: int, day: int = 9) -> str:
    now = datetime(2026, 5, day, hour, minute, 59)
    return running_said(time_table(logbook, now.strftime("%Y-%m-%d")), now)


def test_a_session_that_is_on_is_told_with_what_is_left_of_it(day: Logbook) -> None:
    _plan(day, "practice", "2026-05-09 10:00", duration=MINUTES, status="done")
    assert _running(day, 9, 59) == ""
    assert _running(day, 10, 0) == "practice until 10:40, 40 min left"
    assert _running(day, 10, 28) == "practice until 10:40, 12 min left"
    assert _running(day, 10, 39) == "practice until 10:40, 1 min left"
    assert _running(day, 10, 40) == ""
    assert _running(day, 10, 28, 10) == ""


def test_the_length_of_a_session_is_the_one_of_any_run_and_car(day: Logbook) -> None:
    one = {"number": {"typed": "1", "unit": "", "si": 1.0}}
    _plan(day, "practice", "2026-05-09 10:00", duration=MINUTES, **one)
    run = {"run": {"typed": "2", "unit": "", "si": 2.0}, "car": "another"}
    _plan(day, "practice", "2026-05-09 10:20", **one, **run)
    assert _running(day, 10, 30) == "practice 1 until 10:40, 10 min left"
    assert {slot_said_of(day, line) for line in day.session_lines()} == {"10:00 to 10:40"}
    [slot] = time_table(day, "2026-05-09")
    assert [line.start[-5:] for line in slot.lines] == ["10:00", "10:20"]


def test_a_length_typed_on_a_later_run_counts_from_the_first(day: Logbook) -> None:
    """It is that of the session, which begins with its first run."""
    one = {"number": {"typed": "1", "unit": "", "si": 1.0}}
    first, second = ({"run": {"typed": n, "unit": "", "si": float(n)}} for n in "12")
    _plan(day, "practice", "2026-05-09 10:00", **one, **first)
    _plan(day, "practice", "2026-05-09 10:25", duration=MINUTES, **one, **second)
    assert _running(day, 10, 30) == "practice 1 until 10:40, 10 min left"
    assert _running(day, 10, 41) == ""


def test_a_run_got_ready_before_its_session_does_not_begin_it(day: Logbook) -> None:
    planned = {"number": {"typed": "1", "unit": "", "si": 1.0}, "status": "planned"}
    _plan(day, "practice", "13:00", **planned, duration=MINUTES)
    second = {"run": {"typed": "2", "unit": "", "si": 2.0}}
    _plan(day, "practice", "2026-05-09 11:20", **planned, **second)
    _plan(day, "practice", "2026-05-09 11:25", **planned, car="another")
    [slot] = time_table(day, "2026-05-09")
    assert (slot.begins.hour, slot.ends and slot.ends.minute, len(slot.lines)) == (13, 40, 3)
    assert _running(day, 11, 30) == "", "nothing is on before it begins"
    _plan(day, "practice", "2026-05-09 12:50", **planned | {"status": "done"})
    [slot] = time_table(day, "2026-05-09")
    assert (slot.begins.hour, slot.begins.minute) == (12, 50), "one that has run does"


def test_what_is_on_at_the_same_time_is_named_on_both(day: Logbook) -> None:
    _plan(day, "practice", "2026-05-09 10:00", duration=MINUTES)
    _plan(day, "qualifying", "2026-05-09 10:39")
    _plan(day, "race", "2026-05-09 10:40", duration=MINUTES)
    told = {line.kind: slot_said_of(day, line) for line in day.session_lines()}
    assert told == {
        "practice": "10:00 to 10:40, at the same time as qualifying (10:39)",
        "qualifying": "at the same time as practice (10:00 to 10:40)",
        "race": "10:40 to 11:20",
    }


def test_two_events_on_one_day_are_not_in_each_others_way(day: Logbook) -> None:
    _plan(day, "practice", "2026-05-09 10:00", duration=MINUTES)
    day.write(put("session", {"kind": "test", "start": "2026-05-09 10:10"}))
    assert [slot_said_of(day, line) for line in day.session_lines()] == ["", "10:00 to 10:40"]


@pytest.mark.parametrize("si", [None, 0.0, -60.0, 27 * 3600.0, True, "long"])
def test_a_length_that_cannot_be_right_is_no_length(day: Logbook, si: object) -> None:
    _plan(day, "practice", "2026-05-09 10:00", duration={"typed": "x", "unit": "min", "si": si})
    assert _running(day, 10, 5) == ""


def test_a_table_that_is_kept_is_read_again_when_the_logbook_has_grown(day: Logbook) -> None:
    tables = TimeTables(day)
    assert tables.of("2026-05-09") == []
    _plan(day, "practice", "10:00", duration=MINUTES)
    [slot] = tables.of("2026-05-09")
    assert tables.of("2026-05-09") is tables.of("2026-05-09")
    assert day_of(slot.lines[0]) == "2026-05-09"
    assert tables.of("2026-05-10") == []
    day.write(put("session", {"kind": "test"}))
    assert slot_said_of(day, slot.lines[0]) == "10:00 to 10:40"
    assert slot_said_of(day, next(one for one in day.session_lines() if one.kind == "test")) == ""


@pytest.mark.parametrize("start", ["2026-13-45 10:00", "soon", ""])
def test_a_day_that_no_calendar_has_has_no_time_table(day: Logbook, start: str) -> None:
    _plan(day, "practice", start, duration=MINUTES)
    [line] = day.session_lines()
    assert slot_said_of(day, line) == ""
