"""What the day's air does: to the pressure that a tyre is set to, and how dense it is itself."""

from __future__ import annotations

from dataclasses import dataclass

from trackside.corner.air import air_density
from trackside.corner.tyres import ATMOSPHERE, ZERO_C, cold_pressure
from trackside.errors import BadNumber
from trackside.records import Session


@dataclass(frozen=True)
class ColdToday:
    """The pressure to set cold (gauge Pa) for `hot` (gauge Pa), which is the target, or else the
    hot pressure of the session before; `air` is today's, in °C."""

    cold: float
    hot: float
    is_target: bool
    air: float


def cold_as_before(before: Session | None, now: Session, corner: str) -> ColdToday | None:
    """What to set cold today for the target, or else for the hot pressure of the session before;
    None where a pressure then, or an air temperature, is not known.

    An estimate without data of its own: the tyre is taken to become as hot as then, its gas to be
    dry, and both times to be set at the temperature of the air (derived).
    """
    if before is None:
        return None
    was = before.corner(corner)
    cold, hot = was.si("cold_pressure"), was.si("hot_pressure")
    air_then, air_now = before.si("air_temperature"), now.si("air_temperature")
    if cold is None or hot is None or air_then is None or air_now is None or hot <= cold:
        return None
    then, here = (one.si("air_pressure") or ATMOSPHERE for one in (before, now))
    warm = (air_then + ZERO_C) * (hot + then) / (cold + then) - ZERO_C
    try:
        target = now.corner(corner).si("hot_target")
        aim = hot if target is None else target
        wanted = float(cold_pressure(aim, warm, air_now, here, here))
    except BadNumber:
        return None
    return ColdToday(wanted, aim, target is not None, air_now)


def density(now: Session) -> float | None:
    """How dense the air is (kg/m³); None where temperature, pressure or humidity is missing."""
    values = [now.si(name) for name in ("air_temperature", "air_pressure", "humidity")]
    if any(value is None for value in values):
        return None
    celsius, pascal, humidity = (float(value) for value in values if value is not None)
    try:
        return float(air_density(celsius, pascal, humidity))
    except BadNumber:
        return None
