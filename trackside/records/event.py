"""An event: one weekend, or test day, at one venue."""

from __future__ import annotations

from pydantic import Field

from trackside.records.base import Line, Record, Words


class Event(Record):
    """Dates as YYYY-MM-DD, so that they sort; altitude in m."""

    venue: Line = Field(min_length=1)
    title: Line = ""
    date: Line = Field(pattern=r"^\d{4}-\d{2}-\d{2}$")
    altitude: float | None = None
    words: Words = ""
