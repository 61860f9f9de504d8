"""A car: what it weighs at each corner and how the damper sees the wheel."""

from __future__ import annotations

from typing import Any

from pydantic import model_validator

from trackside.errors import BadNumber
from trackside.records.base import Line, Record, Words
from trackside.records.figure import NotNegative, Positive, Ratio
from trackside.records.ratios import Points, at_ride, is_table, read_ratios
from trackside.records.stops import StopCurve, read_stops
from trackside.units import one_line


class CarCorner(Record):
    """One corner. `motion_ratio` is damper travel over wheel travel; masses in kg, rates in N/m."""

    mass: Positive = None
    """On the scale, driver in, unsprung mass included (kg)."""
    unsprung_mass: Positive = None
    motion_ratio: Ratio = None
    """At the ride position."""
    motion_table: Points = ()
    """Over wheel travel, where it was typed as a table: see `ratios.read_ratios`."""
    spring_ratio: Ratio = None
    """Spring travel over wheel travel, where the spring is not on the damper."""
    spring_rate: Positive = None
    """The rate on the car when the run sheet names none (N/m)."""
    tyre_rate: Positive = None
    stop_gap: NotNegative = None
    """Free rod travel from static to the bump stop, packers out (m)."""

    @model_validator(mode="before")
    @classmethod
    def _table_as_typed(cls, body: Any) -> Any:
        typed = body.get("motion_ratio") if isinstance(body, dict) else None
        if not isinstance(typed, dict) or not is_table(str(typed.get("typed", ""))):
            return body
        try:
            points = read_ratios(str(typed["typed"]))
        except BadNumber as error:
            raise ValueError(error.cause) from error
        return body | {"motion_ratio": at_ride(points), "motion_table": points}


class Car(Record):
    """A car of the team; lengths in m."""

    name: Line
    number: Line = ""
    wheelbase: Positive = None
    track_front: Positive = None
    track_rear: Positive = None
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
