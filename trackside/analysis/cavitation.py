"""How near a corner comes to cavitation in bump: the gas alone holds the oil behind the piston.

For a monotube: oil tears where the damping force reaches absolute gas pressure × (piston − rod)
area (derived: rigid oil, floating piston without friction; the true limit is somewhat lower).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from trackside.analysis.estimate import estimate_at, ground, setting
from trackside.analysis.shed import Shed, build_or_reason
from trackside.damper.gas import cavitation_force, cavitation_speed, pressure_at
from trackside.errors import BadNumber, ChargeNotRead, NoEstimate
from trackside.records import Session


@dataclass(frozen=True)
class Cavitation:
    """Limit force (N) and the rod speed (m/s) at which bump reaches it; `margin` is the limit over
    the force at `peak`, `least` that over the upper end of the force's 95 % band.

    pressure: gauge Pa at `at_C`; None where the temperature of the reading is unknown, and the
    pressure then as it was read.
    """

    pressure: float
    at_C: float | None
    limit: float
    speed: float
    peak: float
    margin: float
    least: float

    @property
    def is_reached(self) -> bool:
        """Whether the force's band reaches the limit."""
        return self.least < 1.0


def cavitation(session: Session, corner: str, shed: Shed, peak: float) -> Cavitation:
    """The corner as it ran, up to the peak rod speed (m/s). NoEstimate says what is unknown.

    The charge is taken to the body temperature after the run where both temperatures are on the
    sheet, else to the temperature at which it was read: cold, so on the safe side. The barometer
    is the session's, else standard.
    """
    build, entered = build_or_reason(session, corner, shed), session.corner(corner)
    read = entered.si("gas_pressure")
    if not (build.piston_diameter and build.rod_diameter):
        raise NoEstimate(
            f"piston or rod diameter of {build.damper} is not entered", "enter them with the build"
        )
    if read is None:
        raise ChargeNotRead(
            f"the charge at {corner} was not read in this session", "read it, with its temperature"
        )
    air = {"atmosphere": p} if (p := session.si("air_pressure")) else {}
    read_at, body = entered.si("gas_temperature"), entered.si("body_temperature")
    at_C = body if body is not None and read_at is not None else read_at
    pressure = read
    if read_at is not None and at_C is not None:
        try:
            pressure = float(pressure_at(read, read_at, at_C, **air))
        except BadNumber as error:
            raise NoEstimate(f"the charge at {corner}: {error.cause}", error.remedy) from error
    area = pi / 4 * (build.piston_diameter**2 - build.rod_diameter**2)
    limit = float(cavitation_force(pressure, area, **air))
    at = setting(session, corner, "bump", shed)
    found = estimate_at(at, shed, [peak])
    speed = float(cavitation_speed(limit, ground(build, "bump", shed).path(at)))
    margin, least = (limit / float(force[0]) for force in (found.force, found.high))
    return Cavitation(pressure, at_C, limit, speed, peak, margin, least)
