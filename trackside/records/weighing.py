"""A car on the scales: what each wheel weighed, when, and with what on board."""

from __future__ import annotations

from typing import Literal

from trackside.records.base import Line, Record, Words
from trackside.records.figure import Positive
from trackside.records.reading import Reading


class ScaleCorner(Record):
    """One wheel; `mass` in kg."""

    mass: Positive = None


class Weighing(Record):
    """Four scales read once. `car` is the entity of its record; `at` sorts as text: a day, or a day
    and a time. It is a reading: nothing carries it on."""

    car: str = ""
    at: Line = ""
    driver: Literal["in", "out"] | None = None
    """In the seat, or out of it; None where nobody said."""
    fuel: Reading | None = None
    """In the tank then."""
    where: Line | None = None
    """Which scales, on which floor."""
    words: Words = ""
    FL: ScaleCorner = ScaleCorner()
    FR: ScaleCorner = ScaleCorner()
    RL: ScaleCorner = ScaleCorner()
    RR: ScaleCorner = ScaleCorner()

    def mass(self, corner: str) -> float | None:
        """kg on the scale at FL, FR, RL or RR; None when unknown."""
        scale: ScaleCorner = getattr(self, corner)
        return scale.mass
