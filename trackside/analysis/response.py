"""How far a damper's rod travels before it answers, as it was set."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from trackside.analysis.estimate import Setting, ground
from trackside.analysis.shed import Shed
from trackside.damper.response import response_travel
from trackside.errors import BadNumber, NoEstimate
from trackside.records import Build

SPEED = 1.0
"""Rod speed (m/s) at which it is told."""
SHARE = 0.8
AIR = 0.01
"""Air in the oil, by volume at atmospheric pressure."""


@dataclass(frozen=True)
class Response:
    """Rod travel (m) of one direction until SHARE of its force at SPEED stands: with oil alone,
    and with AIR in it. `gas` is the gauge pressure (Pa) that it was calculated from: `read` in the
    session, or else what the build was charged with."""

    direction: str
    oil: float
    airy: float
    gas: float
    read: bool


def response(at: Setting, shed: Shed, gas: float | None = None) -> Response:
    """The travel at a setting, gas as read in the session (gauge Pa), else the build's charge.

    The oil that springs is half the stroke of it, rod at mid stroke; hoses and tubes give
    nothing; pressure builds up from the charge. NoEstimate says which figure is missing.
    """
    area, volume = _oil(at.build)
    charge = at.build.gas_pressure if gas is None else gas
    if charge is None:
        raise NoEstimate("no gas pressure is on record", "read it, or enter the build's charge")
    path = ground(at.build, at.direction, shed).path(at)
    try:
        oil, airy = (
            float(response_travel(SPEED, path, area, volume, SHARE, charge, air)[0])
            for air in (0.0, AIR)
        )
    except BadNumber as error:
        raise NoEstimate(error.cause, error.remedy) from error
    return Response(at.direction, oil, airy, charge, gas is not None)


def _oil(build: Build) -> tuple[float, float]:
    """Area (m²) of piston less rod, and the oil (m³) of half a stroke before it."""
    figures = {
        "piston": build.piston_diameter,
        "rod": build.rod_diameter,
        "stroke": build.stroke,
    }
    known = {name: float(figure) for name, figure in figures.items() if figure is not None}
    if missing := [name for name in figures if name not in known]:
        raise NoEstimate(
            f"{', '.join(missing)} of {build.damper} build {build.version} not recorded",
            "enter the sizes with the build",
        )
    piston, rod, stroke = known.values()
    area = pi / 4 * (piston**2 - rod**2)
    return area, area * stroke / 2
