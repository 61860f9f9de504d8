"""Running hours, summed from runs by hand."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from trackside.analysis.hours import hours_run, in_the_car, is_beyond, run_time
from trackside.logbook import Logbook, SessionLine, put
from trackside.logbook.driven import Driven
from trackside.records import Session

CAR = "c"


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Logbook]:
    """An empty logbook."""
    with Logbook.open(tmp_path / "log", device="d") as logbook:
        yield logbook


def hours(number: float) -> dict[str, Any]:
    return {"typed": f"{number:g}", "unit": "h", "si": number * 3600}


def minutes(number: float) -> dict[str, Any]:
    return {"typed": f"{number:g}", "unit": "min", "si": number * 60}


def run(logbook: Logbook, start: str, car: str = CAR, **more: Any) -> None:
    body = {"car": car, "event": "e", "kind": "practice", "start": start, "status": "done"}
    logbook.write(put("session", body | more))


def at(begun: str) -> SessionLine:
    """A run that begins then."""
    blank = dict.fromkeys(SessionLine._fields, "")
    return SessionLine(**{**blank, "sort_key": f"{begun[:10]} {begun}"})  # type: ignore[arg-type]


def unit(logbook: Logbook, since: str, part: str = "engine", **more: Any) -> None:
    logbook.write(put("counter", {"car": CAR, "part": part, "since": since, **more}))


def test_a_run_is_as_long_as_was_typed_else_as_its_laps() -> None:
    typed = Session.checked({"run_time": minutes(25), "lap_times": [95.0]})
    assert run_time(typed) == (1500, True)
    assert run_time(Session(lap_times=("2:00 out", 95.0, 96.0))) == (311, True)
    assert run_time(Session(lap_times=("out", 95.0))) == (95, False)
    assert run_time(Session(lap_times=("what", 95.0))) == (95, False)
    assert run_time(Session(lap_times=("in",))) is None
    assert run_time(Session()) is None


def test_runs_since_it_went_in_count(log: Logbook) -> None:
    unit(log, "2026-05-08", start=hours(10), limit=hours(30), serial="E12")
    run(log, "2026-05-07 10:00", run_time=minutes(60))  # before it went in
    run(log, "2026-05-08 10:00", run_time=minutes(30))
    run(log, "2026-05-09 10:00", lap_times=[100.0] * 18)
    [found] = hours_run(log, CAR)
    assert (found.driven, found.runs, found.short) == (3600, 2, 0)
    assert found.seconds == 11 * 3600
    assert found.left == 19 * 3600


def test_another_of_the_part_takes_its_place_and_a_gearbox_does_not(log: Logbook) -> None:
    unit(log, "2026-05-08", start=hours(0), serial="E12")
    unit(log, "2026-05-09 12:00", "Engine", start=hours(5), serial="E13")
    unit(log, "2026-05-08", "gearbox")
    run(log, "2026-05-08 10:00", run_time=minutes(20))
    run(log, "2026-05-09 10:00", run_time=minutes(60))
    run(log, "2026-05-09 14:00", run_time=minutes(90))
    listed = hours_run(log, CAR)
    assert listed[0].record.serial == "E13", "the one that went in last first"
    found = {one.record.serial or one.record.part: one for one in listed}
    assert (found["E12"].driven, found["E12"].until) == (4800, "2026-05-09 12:00")
    unit(log, "2026-05-20", "engine ", serial="E14")
    untils = {one.record.serial: one.until for one in hours_run(log, CAR)}
    assert (untils["E12"], untils["E13"]) == ("2026-05-09 12:00", "2026-05-20")
    run(log, "2026-05-21 10:00", run_time=minutes(1))
    assert (found["E13"].driven, found["E13"].until) == (5400, "")
    assert (found["gearbox"].driven, found["gearbox"].seconds) == (10200, None)
    assert {one.record.part for one in in_the_car(log, CAR)} == {"engine", "gearbox"}


def test_a_run_that_is_not_timed_is_told(log: Logbook) -> None:
    unit(log, "2026-05-08", start=hours(0))
    run(log, "2026-05-08 10:00")
    run(log, "2026-05-08 11:00", lap_times=[100.0, "in"])
    run(log, "2026-05-08 12:00", run_time=minutes(10))
    [found] = hours_run(log, CAR)
    assert (found.driven, found.runs, found.short) == (700, 3, 2)


def test_what_did_not_run_and_other_cars_do_not_count(log: Logbook) -> None:
    unit(log, "2026-05-08", start=hours(0))
    run(log, "2026-05-08 10:00", status="planned", tyre_set="S1")
    run(log, "2026-05-08 10:00", car="other", run_time=minutes(10))
    [found] = hours_run(log, CAR)
    assert (found.driven, found.runs) == (0, 0)


def test_up_to_a_run_the_later_ones_do_not_count(log: Logbook) -> None:
    unit(log, "2026-05-08", start=hours(1))
    run(log, "2026-05-08 10:00", run_time=minutes(30))
    run(log, "2026-05-08 12:00", run_time=minutes(30))
    [found] = hours_run(log, CAR, at("2026-05-08 12:00"))
    assert found.seconds == 1.5 * 3600


def test_before_a_run_the_unit_that_was_in_then_counts(log: Logbook) -> None:
    unit(log, "2026-05-08", start=hours(1), serial="E12")
    unit(log, "2026-05-10", start=hours(0), serial="E13")
    run(log, "2026-05-08 10:00", run_time=minutes(30))
    [found] = in_the_car(log, CAR, at("2026-05-09 10:00"))
    assert (found.record.serial, found.seconds) == ("E12", 5400)


def test_a_run_without_a_start_counts_on_its_events_day(log: Logbook) -> None:
    event = put("event", {"venue": "v", "date": "2026-05-08"})
    log.write(event)
    unit(log, "2026-05-08 12:00", start=hours(0))
    run(log, "", event=event.entity, run_time=minutes(30))
    assert hours_run(log, CAR)[0].driven == 1800


def test_beyond_the_limit_less_than_nothing_is_left(log: Logbook) -> None:
    unit(log, "2026-05-08", start=hours(30), limit=hours(30))
    run(log, "2026-05-08 10:00", run_time=minutes(30))
    assert hours_run(log, CAR)[0].left == -1800


@pytest.mark.parametrize(
    ("limit", "beyond"), [(10.5, False), (10.0, True), (9.5, True), (None, False)]
)
def test_a_unit_at_its_limit_has_what_the_shop_allows_it(
    log: Logbook, limit: float | None, beyond: bool
) -> None:
    more = {} if limit is None else {"limit": hours(limit)}
    unit(log, "2026-05-08", start=hours(10), **more)
    assert is_beyond(hours_run(log, CAR)[0]) == beyond


def test_without_a_limit_or_a_start_nothing_is_left_to_say(log: Logbook) -> None:
    unit(log, "2026-05-08", start=hours(3))
    unit(log, "2026-05-08", "gearbox", limit=hours(3))
    assert [one.left for one in hours_run(log, CAR)] == [None, None]


def test_a_run_of_an_event_that_began_before_another_counts_too(log: Logbook) -> None:
    """Runs are listed by the day on which their event began."""
    unit(log, "2026-05-15 08:00", start=hours(0))
    for day, start in (
        ("2026-05-01", "2026-05-18 10:00"),
        ("2026-05-10", "2026-05-11 10:00"),
        ("2026-03-16", "2026-05-18 12:00"),  # sixty days before, the limit itself
        ("2026-03-15", "2026-05-18 14:00"),  # 61: our own, no source
    ):
        event = put("event", {"venue": day, "date": day})
        log.write(event)
        run(log, start, event=event.entity, run_time=minutes(30))
    [found] = hours_run(log, CAR)
    assert (found.runs, found.driven) == (2, 3600)


def test_laps_that_are_not_in_the_list_have_no_time() -> None:
    """Twelve laps, the times of two: it ran longer than these two."""
    twelve = {"typed": "12", "unit": "", "si": 12.0}
    assert run_time(Session.checked({"laps": twelve, "lap_times": [95.0, 96.0]})) == (191, False)
    whole = Session.checked({"laps": twelve, "lap_times": [95.0] * 12})
    assert run_time(whole) == (1140, True)


def test_of_runs_without_a_start_those_that_stand_before_it_count(log: Logbook) -> None:
    event = put("event", {"venue": "v", "date": "2026-05-08"})
    log.write(event)
    unit(log, "2026-05-08", start=hours(0))
    for _ in range(3):
        run(log, "", event=event.entity, run_time=minutes(30))
    newest_first = log.session_lines(car=CAR)
    found = [hours_run(log, CAR, line)[0].driven for line in newest_first]
    assert found == [3600, 1800, 0]


def test_of_the_unit_in_the_car_no_run_before_it_is_read(
    log: Logbook, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A page that tells it beside a run is not to wait for ten seasons."""
    unit(log, "2026-05-08", start=hours(1), serial="E12")
    unit(log, "2026-05-10", start=hours(0), serial="E13")
    for day in ("08", "09", "10", "11"):
        run(log, f"2026-05-{day} 10:00", run_time=minutes(30))
    for month in ("01", "02"):
        run(log, f"2026-{month}-08 10:00", run_time=minutes(30))
    read: list[Driven] = []
    asked = log.driven
    monkeypatch.setattr(log, "driven", lambda *of: read.extend(asked(*of)) or read)
    [found] = in_the_car(log, CAR)
    assert (found.record.serial, found.runs, found.seconds) == ("E13", 2, 3600)
    assert len(read) == 4  # those of the days on which an event with runs from then on may begin
