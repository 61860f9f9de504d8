"""Running hours of an engine, a gearbox or another part with a life."""

from __future__ import annotations

from pydantic import Field

from trackside.records.base import Line, Record, Words
from trackside.records.figure import NotNegative, Positive


class Counter(Record):
    """One unit in the car from `since` on, until another of the same `part` is. `car` is the entity
    of its record; times in s."""

    car: str = ""
    part: Line = Field(min_length=1)
    """`engine`, `gearbox`."""
    serial: Line | None = None
    since: Line = ""
    """The day, or day and time, at which it went in; runs from then on count."""
    start: NotNegative = None
    """What it had then (s); None where nobody knows."""
    limit: Positive = None
    """When the shop wants it out (s): the shop's own figure."""
    words: Words = ""
