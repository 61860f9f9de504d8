"""A set of tyres of a car, and what it had behind it when it came."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from trackside.records.base import Line, Record, Words
from trackside.records.figure import NotNegative


class TyreSet(Record):
    """`car` is the entity of its record; a run names the set by `name`."""

    car: str = ""
    name: Line = Field(min_length=1)
    compound: Line | None = None
    size: Line | None = None
    state: Literal["new", "used"] | None = None
    """When it came."""
    laps: NotNegative = None
    """Laps that it had when it came; None where nobody knows."""
    cycles: NotNegative = None
    """Heat cycles that it had when it came."""
    date: Line | None = None
    """The day on which it came, YYYY-MM-DD."""
    words: Words = ""
