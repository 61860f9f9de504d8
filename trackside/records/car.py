"""A car: what it weighs at each corner and how the damper sees the wheel."""

from __future__ import annotations

from pydantic import Field, PositiveFloat

from trackside.errors import BadNumber
from trackside.records.base import Line, Record, Words
from trackside.records.stops import StopCurve, read_stops
from trackside.units import one_line


class CarCorner(Record):
    """One corner. `motion_ratio` is damper travel over wheel travel; masses in kg, rates in N/m."""

    mass: PositiveFloat | None = None
    """On the scale, driver in, unsprung mass included (kg)."""
    unsprung_mass: PositiveFloat | None = None
    motion_ratio: PositiveFloat | None = Field(default=None, le=3)
    spring_ratio: PositiveFloat | None = Field(default=None, le=3)
    """Spring travel over wheel travel, where the spring is not on the damper."""
    spring_rate: PositiveFloat | None = None
    """The rate on the car when the run sheet names none (N/m)."""
    tyre_rate: PositiveFloat | None = None
    stop_gap: float | None = Field(default=None, ge=0)
    """Free rod travel from static to the bump stop, packers out (m)."""


class Car(Record):
    """A car of the team; lengths in m."""

    name: Line
    number: Line = ""
    wheelbase: PositiveFloat | None = None
    track_front: PositiveFloat | None = None
    track_rear: PositiveFloat | None = None
    FL: CarCorner = CarCorner()
    FR: CarCorner = CarCorner()
    RL: CarCorner = CarCorner()
    RR: CarCorner = CarCorner()
    stops: Words | None = None
    """Its bump stops' curves: see `stops.read_stops`."""
    words: Words = ""

    def stop(self, name: str) -> StopCurve | None:
        """The curve of the stop that the run sheet calls so, if it is on record and readable."""
        try:
            return read_stops(self.stops or "").get(one_line(name).casefold())
        except BadNumber:
            return None

    def corner(self, corner: str) -> CarCorner:
        """The corner FL, FR, RL or RR."""
        return getattr(self, corner)
