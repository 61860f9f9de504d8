"""The weather of an event: its readings, and the one nearest to a run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Final

from trackside.records import Session, Weather

if TYPE_CHECKING:
    from trackside.logbook import Logbook

WITHIN: Final = timedelta(minutes=60)
"""A reading that is further from the start of a run says nothing of it: our own, no source."""

READ: Final = ("surface", "air_temperature", "track_temperature", "humidity", "air_pressure")
"""What a run has a value of its own for; that comes first."""


@dataclass(frozen=True)
class WeatherRead:
    """A reading of the weather, and its name in the logbook."""

    entity: str
    weather: Weather


def weather_at(logbook: Logbook, event: str) -> list[WeatherRead]:
    """The readings of that event, the newest first."""
    found = [one for one in logbook.records(Weather, "weather") if one[1].event == event]
    newest_first = sorted(found, key=lambda one: (one[1].at, one[0]), reverse=True)
    return [WeatherRead(entity, weather) for entity, weather in newest_first]


def nearest(found: Sequence[WeatherRead], start: str) -> WeatherRead | None:
    """The reading nearest to that start; of two as near the earlier one, which was there as the run
    began. None where none is within WITHIN, or the start has no time."""
    near = [
        (abs(apart), apart, one)
        for one in found
        if (apart := from_start(one, start)) is not None and abs(apart) <= WITHIN
    ]
    return min(near, key=lambda each: (each[0], each[1], each[2].entity))[2] if near else None


def from_start(read: WeatherRead, start: str) -> timedelta | None:
    """How long after that start it was read, below zero for before; None where one of the two has
    no time."""
    at, begun = _moment(read.weather.at), _moment(start)
    return None if at is None or begun is None else at - begun


def nearest_to_run(logbook: Logbook, entity: str, session: Session) -> WeatherRead | None:
    """The reading nearest to the start of that run, at its event."""
    if not session.event or not session.start:
        return None
    return nearest(weather_at(logbook, session.event), logbook.session_line(entity).begun)


def _moment(text: str) -> datetime | None:
    """A day and a time; None for a day alone, and for anything else."""
    try:
        return datetime.strptime(text[:16].replace("T", " "), "%Y-%m-%d %H:%M")
    except ValueError:
        return None
