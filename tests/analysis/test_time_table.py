"""The time-table of a day: when a session begins and ends, and what is on at the same time."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

import pytest

from trackside.analysis.time_table import (
    LONGEST,
    Slot,
    TimeTables,
    beside,
    day_of,
    running,
    slot_of,
    time_table,
)
from trackside.logbook import Logbook, put

DAY = "2026-05-09"


@pytest.fixture
def log() -> Iterator[Logbook]:
    with Logbook.open(":memory:", device="here", author="A") as logbook:
        yield logbook


def count(n: int) -> dict[str, Any]:
    return {"typed": f"{n}", "unit": "", "si": float(n)}


def minutes(n: float) -> dict[str, Any]:
    return {"typed": f"{n}", "unit": "min", "si": 60.0 * n}


def run(logbook: Logbook, start: str, kind: str = "practice", **more: Any) -> str:
    body = {"event": "e", "car": "c", "kind": kind, "start": f"{DAY} {start}", **more}
    write = put("session", body)
    logbook.write(write)
    return write.entity


def told(logbook: Logbook, day: str = DAY) -> list[str]:
    return [
        f"{slot.name} {slot.begins:%H:%M}-{f'{slot.ends:%H:%M}' if slot.ends else '?'}"
        for slot in time_table(logbook, day)
    ]


def test_sessions_stand_in_the_order_in_which_they_begin(log: Logbook) -> None:
    run(log, "12:00", "race")
    run(log, "10:00", "warm-up", duration=minutes(10))
    run(log, "10:00", "test")
    assert told(log) == ["test 10:00-?", "warm-up 10:00-10:10", "race 12:00-?"]
    assert told(log, "2026-05-10") == told(log, "soon") == told(log, "") == []


def test_the_longest_length_typed_on_any_run_counts_from_the_first(log: Logbook) -> None:
    later = run(log, "10:25", run=count(2), duration=minutes(20))
    first = run(log, "10:00", run=count(1), duration=minutes(30))
    [slot] = time_table(log, DAY)
    assert told(log) == ["practice 10:00-10:30"]
    assert [line.entity for line in slot.lines] == [first, later]
    assert slot_of([slot], later) is slot
    assert slot_of([slot], "another") is None


@pytest.mark.parametrize(
    ("seconds", "ends"),
    [
        (LONGEST, True), (26 * 3600 + 1, False), (1, True), (1.5, True), (0, False), (-60, False),
        (True, False), ("40", False), (None, False),
    ],
)  # fmt: skip
def test_a_length_is_more_than_nothing_and_a_day_at_most(
    log: Logbook, seconds: Any, ends: bool
) -> None:
    """26 hours: our own, no source."""
    run(log, "10:00", duration={"typed": "x", "unit": "min", "si": seconds})
    [slot] = time_table(log, DAY)
    assert slot.ends == (slot.begins + timedelta(seconds=seconds) if ends else None)


def test_a_length_that_is_no_reading_is_none(log: Logbook) -> None:
    run(log, "10:00", duration="40")
    assert told(log) == ["practice 10:00-?"]


@pytest.mark.parametrize(
    ("early", "late", "begins"),
    [
        # got ready before the run that it follows, and that says the length
        ({"run": count(2)}, {"run": count(1), "duration": minutes(40)}, 13),
        # or for another car
        ({"car": "other"}, {"duration": minutes(40)}, 13),
        ({"run": count(2), "status": "done"}, {"run": count(1), "duration": minutes(40)}, 11),
        ({"run": count(2), "duration": minutes(20)}, {"run": count(1)}, 11),
        ({"run": count(1)}, {"run": count(2), "duration": minutes(40)}, 11),
        ({}, {"duration": minutes(40)}, 11),
        ({"car": "other"}, {}, 11),
    ],
)
def test_a_run_that_was_got_ready_before_its_session_does_not_begin_it(
    log: Logbook, early: dict[str, Any], late: dict[str, Any], begins: int
) -> None:
    run(log, "11:00", **{"status": "planned", **early})
    run(log, "13:00", status="planned", **late)
    [slot] = time_table(log, DAY)
    assert slot.begins.hour == begins
    assert len(slot.lines) == 2


def slot(begins: int, ends: int | None, event: str = "e", name: str = "x") -> Slot:
    """From one minute after ten to another."""
    ten = datetime(2026, 5, 9, 10)
    end = None if ends is None else ten + timedelta(minutes=ends)
    return Slot(event, name, ten + timedelta(minutes=begins), end, (), opened=False)


@pytest.mark.parametrize(
    ("one", "other", "both"),
    [
        (slot(0, 40), slot(39, 60), True),
        (slot(0, 40), slot(40, 60), False),
        (slot(0, None), slot(0, 20), True),  # without a length: a minute
        (slot(0, None), slot(1, 20), False),
        (slot(0, 40), slot(10, None), True),
        (slot(0, 40), slot(10, 20, "other"), False),
    ],
)
def test_sessions_of_one_event_overlap_while_both_are_on(
    one: Slot, other: Slot, both: bool
) -> None:
    assert one.overlaps(other) is other.overlaps(one) is both
    assert beside([one, other], one) == ([other] if both else [])


def test_what_is_on_now_the_first_to_be_over_first() -> None:
    long, short, open_ = slot(0, 40), slot(10, 20), slot(5, None)
    slots = [long, short, open_]
    at = {m: datetime(2026, 5, 9, 10, m) for m in (0, 10, 19, 20, 39, 40)}
    assert running(slots, at[0]) == [long]
    assert running(slots, at[10]) == running(slots, at[19]) == [short, long]
    assert running(slots, at[20]) == running(slots, at[39]) == [long]
    assert running(slots, at[40]) == []


def test_the_day_of_a_run_is_that_of_its_start_else_of_its_event(log: Logbook) -> None:
    event = put("event", {"venue": "Fen", "date": "2026-05-08"})
    log.write(event)
    run(log, "10:00", "a")
    run(log, "", "b", event=event.entity)
    log.write(put("session", {"event": event.entity, "kind": "c", "start": "10:00"}))
    log.write(put("session", {"kind": "d"}))
    days = {line.kind: day_of(line) for line in log.session_lines()}
    assert (days["a"], days["c"], days["d"]) == (DAY, "2026-05-08", "")


def test_a_table_is_kept_until_the_logbook_grows_or_another_day_is_asked(log: Logbook) -> None:
    tables = TimeTables(log)
    assert tables.of(DAY) == []
    run(log, "10:00")
    kept = tables.of(DAY)
    assert len(kept) == 1
    assert tables.of(DAY) is kept
    assert tables.of("2026-05-10") == []
    assert tables.of(DAY) is not kept
