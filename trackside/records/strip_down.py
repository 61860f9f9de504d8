"""A strip-down as a job on the bench: its steps in the order of the work, and what was read on the
way."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, PositiveInt

from trackside.records.base import Line, Record, Words
from trackside.records.damper import Parts
from trackside.records.figure import NotNegative, Positive, si_of

Degrees = Annotated[float | None, BeforeValidator(si_of)]
"""°C, or unknown."""


class ForecastPoint(Record):
    """One force that was forecast (N) with its 95 % band, at a position as counted, and in clicks
    from full hard, and a rod speed (m/s)."""

    direction: Literal["bump", "rebound"]
    position: float | None = None
    """None where the direction has no adjuster."""
    from_hard: float = 0.0
    speed: float
    force: float
    low: float
    high: float


class KeptForecast(Record):
    """What a build was forecast to make, before it was on a bench. It is never changed: another
    forecast is another record beside it."""

    at: Line
    """The moment, as in revisions."""
    build: Line
    """The build's name."""
    basis: dict[str, Line] = Field(default_factory=dict)
    """Direction → what it rests on: `carried over` or `parts`."""
    points: tuple[ForecastPoint, ...] = ()


class StripDown(Record):
    """One damper taken apart, planned or under way. Lengths m, pressures gauge Pa, temperatures °C,
    torque N·m, volume m³. Who ticked a step, and when, is in its revisions."""

    damper: Line
    """The damper's serial."""
    date: Line = ""
    """The day it is planned for, YYYY-MM-DD."""
    why: Words = ""
    who: Line | None = None
    reseal: Literal["yes"] | None = None
    """New seals, the valving as it was: no new build comes of it, and the dyno sheet stays."""
    build: Line = ""
    """The build that came of it; empty until its parts went in."""
    steps: dict[str, Line] = Field(default_factory=dict)
    """What is to be done, by the name of the step."""
    places: dict[str, float] = Field(default_factory=dict)
    """Where each step is in the order of the work: the smallest first."""
    done: dict[str, Literal["yes"]] = Field(default_factory=dict)
    """The steps that are ticked."""
    closed: Literal["yes"] | None = None
    """Put away with steps open."""

    gas_found: NotNegative = None
    gas_found_at: Degrees = None
    found: Line | None = None
    """What was found: discs, wear, seals, rod."""
    goes_in: Line | None = None
    bump_stack: Line = ""
    """Of the planned build, like what follows; what is empty stays as it is in the damper."""
    rebound_stack: Line = ""
    bump_parts: Parts | None = None
    rebound_parts: Parts | None = None
    forecasts: dict[str, KeptForecast] = Field(default_factory=dict)
    """By a name of its own, the oldest first by `at`."""
    torque: Positive = None
    """Of the piston nut, as set."""
    threadlocker: Line | None = None
    oil: Line | None = None
    oil_volume: Positive = None
    piston_level: NotNegative = None
    """Depth of the floating piston below the end of the tube."""
    bleed_cycles: PositiveInt | None = None
    """Strokes by hand until no more air came."""
    charge: Positive = None
    charge_at: Degrees = None
    bench: Line | None = None
    """What the bench run showed, in words; its figures are in the dyno sheet."""
    fitted_to: Line | None = None
    """Car and corner."""

    @property
    def forecast(self) -> KeptForecast | None:
        """The last one that was kept."""
        return max(self.forecasts.values(), key=lambda one: one.at, default=None)

    @property
    def in_order(self) -> tuple[str, ...]:
        """The names of the steps in the order of the work."""
        return tuple(sorted(self.steps, key=lambda name: (self.places.get(name, 1e9), name)))

    @property
    def open_steps(self) -> tuple[str, ...]:
        """Those that nobody has ticked, in that order."""
        return tuple(name for name in self.in_order if name not in self.done)
