"""The weather along the day: which reading is nearest to a run."""

from __future__ import annotations

from pathlib import Path

import pytest

from trackside.analysis.weather import WeatherRead, nearest, nearest_to_run, weather_at
from trackside.logbook import Logbook, drop, put
from trackside.records import Session, Weather


def read(at: str) -> WeatherRead:
    return WeatherRead(at, Weather(event="e", at=at))


DAY = [read(f"2026-05-09 {at}") for at in ("15:00", "10:00", "09:30")]


@pytest.mark.parametrize(
    ("start", "at"),
    [
        ("2026-05-09 09:50", "10:00"),
        ("2026-05-09 09:44", "09:30"),
        ("2026-05-09 09:45", "09:30"),  # as near: the earlier one was there as the run began
        ("2026-05-09 11:00", "10:00"),  # an hour, the limit itself (our own, no source)
        ("2026-05-09 10:59:30", "10:00"),  # seconds, of another program
        ("2026-05-09T10:10", "10:00"),
        ("2026-05-09 11:01", None),
        ("2026-05-09 13:59", None),
        ("2026-05-09 14:00", "15:00"),
        ("2026-05-08 10:00", None),
        ("2026-05-09", None),
        ("", None),
        ("at ten", None),
    ],
)
def test_the_nearest_within_an_hour(start: str, at: str | None) -> None:
    found = nearest(DAY, start)
    assert (found.weather.at[11:] if found else None) == at


def test_a_reading_without_a_time_is_near_to_nothing() -> None:
    assert nearest([read("2026-05-09"), read("")], "2026-05-09 00:10") is None


def test_only_those_of_the_event_count(tmp_path: Path) -> None:
    with Logbook.open(tmp_path / "log", device="d") as logbook:
        for event, at in (("e", "10:00"), ("other", "10:20"), ("e", "12:00")):
            logbook.write(put("weather", {"event": event, "at": f"2026-05-09 {at}"}))
        noon = put("weather", {"event": "e", "at": "2026-05-09 12:00"})
        logbook.write(noon)
        assert weather_at(logbook, "e")[0].entity == noon.entity, "of one time the last entered"
        logbook.write(drop("weather", noon.entity))
        assert [one.weather.at[11:] for one in weather_at(logbook, "e")] == ["12:00", "10:00"]
        run = put("session", {"event": "e", "start": "2026-05-09 10:21"})
        logbook.write(run)
        found = nearest_to_run(logbook, run.entity, logbook.session_record(run.entity))
        assert found is not None
        assert found.weather.at == "2026-05-09 10:00"
        assert nearest_to_run(logbook, run.entity, Session(event="e")) is None


def test_a_start_without_its_day_is_on_that_of_the_event(tmp_path: Path) -> None:
    with Logbook.open(tmp_path / "log", device="d") as logbook:
        event = put("event", {"venue": "v", "date": "2026-05-09"})
        run = put("session", {"event": event.entity, "start": "10:21"})
        read = put("weather", {"event": event.entity, "at": "2026-05-09 10:00"})
        logbook.write(event, run, read)
        assert nearest_to_run(logbook, run.entity, logbook.session_record(run.entity))
