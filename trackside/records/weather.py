"""The weather at an event, read at a time."""

from __future__ import annotations

from typing import Literal

from trackside.records.base import Line, Record, Words
from trackside.records.reading import Reading


class Weather(Record):
    """One look at the instruments. `event` is the entity of its record; `at` sorts as text."""

    event: str = ""
    at: Line = ""
    """YYYY-MM-DD HH:MM."""
    surface: Literal["dry", "damp", "wet"] | None = None
    air_temperature: Reading | None = None
    track_temperature: Reading | None = None
    humidity: Reading | None = None
    air_pressure: Reading | None = None
    wind: Line | None = None
    """In words or figures, as it was typed: `light, from turn 3`, `15 km/h NW`."""
    words: Words = ""
