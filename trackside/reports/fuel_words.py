"""What a run burnt, in the crew's unit."""

from __future__ import annotations

from trackside.analysis.fuel import FuelUse, fuel_used
from trackside.preferences import Preferences
from trackside.records import Session
from trackside.units import QUANTITIES, from_si, show


def fuel_words(session: Session, preferences: Preferences) -> str:
    """`fuel used 18.0 L, 2.25 L a lap over 8 laps`; empty where the two readings give nothing."""
    found = fuel_used(session)
    if found is None:
        return _why_none(session)
    told = f"fuel used {show(found.used, 'fuel', unit_of(found, preferences), with_unit=True)}"
    if found.laps is None:
        return f"{told}; type the laps to see how much a lap"
    laps, count = found.laps, f"{found.laps.number:g}"
    listed = " in the lap times, in-laps and out-laps too" if laps.from_laps else ""
    over = f"{count} lap{'' if count == '1' else 's'}{listed}"
    return f"{told}, {a_lap(found, preferences)} a lap over {over}"


def a_lap(found: FuelUse, preferences: Preferences) -> str:
    """What a lap used, with its unit, to a hundredth."""
    unit = unit_of(found, preferences)
    return "–" if found.per_lap is None else f"{from_si(found.per_lap, 'fuel', unit):.2f} {unit}"


def unit_of(found: FuelUse, preferences: Preferences) -> str:
    """The crew's unit of fuel where it is of that kind, else the first that is: no density is
    assumed between litres and kilograms."""
    kind = QUANTITIES["fuel"]
    units = (kind.unit(preferences.unit("fuel")), *kind.units)
    return next(unit.symbol for unit in units if unit.base == found.base)


def _why_none(session: Session) -> str:
    start, end = session.fuel, session.fuel_end
    both = start and end and start.si is not None and end.si is not None
    if both and start.base("fuel") != end.base("fuel"):  # type: ignore[union-attr]
        return "fuel used: not known, one reading is by volume and the other by weight"
    return ""
