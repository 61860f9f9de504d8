"""What a run burnt: fuel at the start less fuel at the end, and that over the laps driven."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from trackside.analysis.lap_figures import LapFigure, laps_driven
from trackside.records import Session

MOST_A_LAP: Final = {"m³": 0.02, "kg": 15.0}
"""By base unit. A lap that used more is a slip of the hand or the unit: our own, no source."""


@dataclass(frozen=True)
class FuelUse:
    """What a run used, in m³ or kg as both readings have it (`base`), and the laps that it is
    spread over; None where their number is unknown or zero."""

    used: float
    base: str
    laps: LapFigure | None

    @property
    def per_lap(self) -> float | None:
        """Used a lap, in `base`; in-laps and out-laps count as laps."""
        return self.used / self.laps.number if self.laps else None

    @property
    def is_implausible(self) -> bool:
        """Whether it is more a lap than any car burns."""
        return self.per_lap is not None and self.per_lap > MOST_A_LAP[self.base]


def fuel_used(session: Session) -> FuelUse | None:
    """None where one of the two is unknown, where they are of two kinds (litres and kilograms: no
    density is assumed), or where there is more at the end.

    >>> from trackside.records import Reading
    >>> typed = {"fuel": "40 L", "fuel_end": "22 L"}
    >>> run = {name: Reading.of_text(text, "fuel") for name, text in typed.items()}
    >>> laps = Reading.of_text("8", "count")
    >>> found = fuel_used(Session(**run, laps=laps))
    >>> round(found.used * 1000, 3), round(found.per_lap * 1000, 3)
    (18.0, 2.25)
    """
    levels = _levels(session)
    if levels is None or levels[1] > levels[0]:
        return None
    start, end, base = levels
    laps = laps_driven(session)
    return FuelUse(start - end, base, laps if laps and laps.number > 0 else None)


def fuel_gained(session: Session) -> bool:
    """Whether more is in the tank at the end than at the start."""
    levels = _levels(session)
    return levels is not None and levels[1] > levels[0]


def _levels(session: Session) -> tuple[float, float, str] | None:
    """At the start, at the end, and the base unit of both; None where they cannot be compared."""
    start, end = session.fuel, session.fuel_end
    if start is None or end is None or start.si is None or end.si is None:
        return None
    base = start.base("fuel")
    return (start.si, end.si, base) if base == end.base("fuel") else None
