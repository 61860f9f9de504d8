"""What the day's air does: to the pressure that a tyre is set to, and how dense it is itself."""

from __future__ import annotations

from trackside.corner.air import air_density
from trackside.corner.tyres import ATMOSPHERE, ZERO_C, cold_pressure
from trackside.errors import BadNumber
from trackside.preferences import Preferences
from trackside.records import Session
from trackside.units import show


def cold_as_before(
    before: Session | None, now: Session, corner: str, preferences: Preferences
) -> str:
    """What to set cold today for the target, or else for the hot pressure of the session before, in
    words; empty where a pressure then, or an air temperature, is not known.

    An estimate without data of its own: the tyre is taken to become as hot as then, its gas to be
    dry, and both times to be set at the temperature of the air (derived).
    """
    if before is None:
        return ""
    was = before.corner(corner)
    cold, hot = was.si("cold_pressure"), was.si("hot_pressure")
    air_then, air_now = before.si("air_temperature"), now.si("air_temperature")
    if cold is None or hot is None or air_then is None or air_now is None or hot <= cold:
        return ""
    then, here = (one.si("air_pressure") or ATMOSPHERE for one in (before, now))
    warm = (air_then + ZERO_C) * (hot + then) / (cold + then) - ZERO_C
    try:
        aim = now.corner(corner).si("hot_target")
        wanted = float(cold_pressure(hot if aim is None else aim, warm, air_now, here, here))
    except BadNumber:
        return ""
    unit = preferences.unit("pressure")
    for_hot = f"{show(hot, 'pressure', unit)} hot as before"
    if aim is not None:
        for_hot = f"the target, {show(aim, 'pressure', unit)} hot"
    set_to = show(wanted, "pressure", unit, with_unit=True)
    air = show(air_now, "temperature", preferences.unit("temperature"), with_unit=True)
    return f"about {set_to} for {for_hot} (air {air})"


def density(now: Session) -> str:
    """How dense the air is, in words; empty where temperature, pressure or humidity is missing."""
    values = [now.si(name) for name in ("air_temperature", "air_pressure", "humidity")]
    if any(value is None for value in values):
        return ""
    celsius, pascal, humidity = (float(value) for value in values if value is not None)
    try:
        found = float(air_density(celsius, pascal, humidity))
    except BadNumber:
        return ""
    return f"air {found:.3f} kg/m³"
