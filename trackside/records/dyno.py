"""A dyno sheet: force against rod speed at known adjuster positions."""

from __future__ import annotations

from typing import ClassVar, Literal, NamedTuple, Self

from pydantic import Field, model_validator

from trackside.records.base import Line, Record, Words
from trackside.records.sheet_warning import SheetWarning

MOST_LOOP_POINTS = 200


class DynoRow(NamedTuple):
    """One point: position as counted, speed in m/s, force in N (positive where the damper resists;
    gas force still in it may push a slow rebound row below zero), oil in °C."""

    position: float
    direction: Literal["bump", "rebound"]
    speed: float
    force: float
    oil_C: float | None = None
    preload_position: float | None = None


class Loop(Record):
    """The mean loop of one bench run: displacement from mid stroke (m, growing as the damper
    closes) against force (N, positive in bump), gas force still in it."""

    position: float
    speed: float
    """Peak speed, m/s."""
    displacement: tuple[float, ...]
    force: tuple[float, ...]

    @model_validator(mode="after")
    def _paired(self) -> Self:
        if len(self.displacement) != len(self.force):
            raise ValueError("a loop has as many displacements as forces")
        if len(self.force) > MOST_LOOP_POINTS:
            raise ValueError(f"a loop has at most {MOST_LOOP_POINTS} points")
        return self

    def __hash__(self) -> int:
        """Of what tells it apart: a sheet is looked up often, and its points are many."""
        return hash((self.position, self.speed, len(self.force)))


class DynoSheet(Record):
    """A sheet of one damper's build. `rebound_sign` is −1 when its rebound forces were negative."""

    IN_PARTS: ClassVar[bool] = False

    damper: Line = ""
    build: Line = ""
    date: Line = ""
    source: Line = ""
    """The file it was read from."""
    counted_from: Literal["hard", "soft"] | None = None
    """None: as the damper's own adjusters count."""
    gas_in: bool | None = False
    """Whether the gas force is still in the forces; None until somebody says it."""
    gas_pressure: float | None = None
    """The charge on the bench, gauge Pa."""
    gas_force: float | None = None
    """The gas force (N) itself, where it is known better than from the charge."""
    zeroed: Literal["", "empty", "damper"] = ""
    """How the load cell was set to zero: empty, or with the damper in it at rest."""
    friction_in: bool = True
    rebound_sign: Literal[1, -1] = 1
    rows: tuple[DynoRow, ...] = Field(min_length=1)
    loops: tuple[Loop, ...] = ()
    warnings: tuple[SheetWarning, ...] = ()
    """What was doubtful about it when it was added."""
    seen_by: Line = ""
    """Who saw its serious warnings and let it count; empty: nobody yet."""
    words: Words = ""

    @property
    def waits(self) -> bool:
        """Whether it does not count yet: it has serious warnings, and nobody has seen them."""
        return not self.seen_by and any(warning.serious for warning in self.warnings)

    def of_direction(self, direction: str) -> tuple[DynoRow, ...]:
        """The rows of one direction."""
        return tuple(row for row in self.rows if row.direction == direction)

    def positions(self, direction: str) -> tuple[float, ...]:
        """The positions measured in that direction, ascending."""
        return tuple(sorted({row.position for row in self.of_direction(direction)}))
