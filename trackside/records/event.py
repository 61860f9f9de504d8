"""An event: one weekend, or test day, at one venue."""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import BeforeValidator, Field

from trackside.records.base import Line, Record, Words
from trackside.records.figure import Positive, si_of

_DAY: Final = r"^\d{4}-\d{2}-\d{2}$"


class Event(Record):
    """Dates as YYYY-MM-DD, so that they sort; altitude in m."""

    venue: Line = Field(min_length=1)
    title: Line = ""
    date: Line = Field(pattern=_DAY)
    last_day: Line | None = Field(default=None, pattern=_DAY)
    """None where the first day is the only one."""
    altitude: Annotated[float | None, BeforeValidator(si_of)] = None
    road_class: Line | None = None
    """Of ISO 8608, A to H, where the venue is rough: see `corner.road`."""
    road_speed: Positive = None
    """The car's there, m/s."""
    words: Words = ""
