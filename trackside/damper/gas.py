"""The nitrogen charge: what a reading means at another temperature, and what it does to the rod.

Pressures at the edge are gauge, in the law absolute. State: p = ρRT(1 + Bρ + Cρ²) with virial
coefficients fitted to the reference equation of Span, Lemmon, Jacobsen, Wagner and Yokozeki
(J. Phys. Chem. Ref. Data 29 (2000) 1361) as computed with CoolProp 8.0.0, −20 to 130 °C, up to
7 MPa; within 0.005 % of it over 0.3 to 4 MPa and 0 to 120 °C. The maker's figure comes first:
nothing here says what a damper may be charged to.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trackside.damper.flow import Floats, FlowPath, speed_at
from trackside.errors import BadNumber

ATMOSPHERE = 101_325.0  # Pa
ZERO_C = 273.15  # K
REFERENCE_C = 20.0  # every filling is also shown at this temperature
_R = 8.314462618 / 0.0280134800  # J/(kg K): gas constant over molar mass of nitrogen
_B = (-4.02809e-4, -1.310042e-3, 1.502766e-3)  # m³/kg, powers 2, 1, 0 of 293.15 K / T
_C = (6.477512e-7, -3.401242e-7, 1.5313925e-6)  # m⁶/kg²


def density(p_absolute: ArrayLike, at_C: ArrayLike) -> Floats:
    """Nitrogen density kg/m³ at absolute pressure Pa and temperature °C.

    Worked example: 2 MPa at 20 °C is 23.076 kg/m³. Raises BadNumber below absolute zero pressure.
    """
    p, kelvin, b, c = *_checked(p_absolute, at_C), *_virial(at_C)
    ideal = p / (_R * kelvin)
    rho = ideal
    for _ in range(6):
        value = rho * (1.0 + rho * (b + rho * c)) - ideal
        rho = rho - value / (1.0 + rho * (2.0 * b + 3.0 * c * rho))
    return rho


def absolute_pressure(rho: ArrayLike, at_C: ArrayLike) -> Floats:
    """Absolute pressure Pa of nitrogen of density kg/m³ at °C."""
    rho, kelvin = _checked(rho, at_C)
    b, c = _virial(at_C)
    return rho * _R * kelvin * (1.0 + rho * (b + rho * c))


def _checked(value: ArrayLike, at_C: ArrayLike) -> tuple[Floats, Floats]:
    value, kelvin = np.asarray(value, float), np.asarray(at_C, float) + ZERO_C
    if not (np.all(value >= 0.0) and np.all(kelvin > 0.0)):
        raise BadNumber(
            "a gas pressure or temperature is below absolute zero, or not a number",
            "check its sign and unit",
        )
    return value, kelvin


def _virial(at_C: ArrayLike) -> tuple[Floats, Floats]:
    ratio = (REFERENCE_C + ZERO_C) / (np.asarray(at_C, float) + ZERO_C)
    return np.asarray(np.polyval(_B, ratio)), np.asarray(np.polyval(_C, ratio))


def pressure_at(
    p_gauge: ArrayLike, read_at_C: ArrayLike, at_C: ArrayLike, atmosphere: float = ATMOSPHERE
) -> Floats:
    """Gauge pressure at `at_C` of a charge read as `p_gauge` (Pa) at `read_at_C`; volume held.

    Oil expansion is left out: `pressure_in_damper` has it. 218 psi at 20 °C is 267.42 psi at 80 °C:

    >>> psi = 6894.757
    >>> f"{pressure_at(218 * psi, 20.0, 80.0) / psi:.2f}"
    '267.42'
    """
    rho = density(np.asarray(p_gauge, float) + atmosphere, read_at_C)
    return absolute_pressure(rho, at_C) - atmosphere


def pressure_at_20(
    p_gauge: ArrayLike, read_at_C: ArrayLike, atmosphere: float = ATMOSPHERE
) -> Floats:
    """The reading as it would be at 20 °C, so that fillings can be compared."""
    return pressure_at(p_gauge, read_at_C, REFERENCE_C, atmosphere)


def pressure_in_damper(
    p_gauge: ArrayLike,
    read_at_C: ArrayLike,
    at_C: ArrayLike,
    gas_volume: float,
    rod_diameter: float = 0.0,
    rod_in: ArrayLike = 0.0,
    oil_volume: float = 0.0,
    oil_expansion: float = 7e-4,
    atmosphere: float = ATMOSPHERE,
) -> Floats:
    """Gauge pressure with the chamber made smaller by the rod and by warm oil, all at `at_C`.

    Volumes m³, rod m, expansion 1/K (7e-4: from memory; take the oil's data sheet); the charge
    was read with the rod out. Slow strokes: gas and oil share one temperature. Raises BadNumber
    if nothing is left of the chamber.
    """
    warm = np.asarray(at_C, float) - np.asarray(read_at_C, float)
    taken = _area(rod_diameter) * np.asarray(rod_in, float) + oil_volume * oil_expansion * warm
    left = gas_volume - taken
    if np.any(left <= 0.0):
        raise BadNumber("no gas volume is left at this stroke and temperature", "check the volumes")
    rho = density(np.asarray(p_gauge, float) + atmosphere, read_at_C) * gas_volume / left
    return absolute_pressure(rho, at_C) - atmosphere


def pressure_after_stroke(
    p_gauge: ArrayLike,
    rod_diameter: float,
    rod_in: ArrayLike,
    gas_volume: float,
    exponent: float = 1.4,
    atmosphere: float = ATMOSPHERE,
) -> Floats:
    """Gauge pressure after a polytropic stroke, p = p₀(V₀/(V₀ − A·x))ⁿ, absolute in the law.

    exponent 1 for slow strokes; 1.4 for fast ones is the ideal gas, nitrogen at 1.5 MPa and
    20 °C comes to 1.425 (computed with CoolProp 8.0.0).
    """
    left = gas_volume - _area(rod_diameter) * np.asarray(rod_in, float)
    if np.any(left <= 0.0):
        raise BadNumber("the rod takes up the whole gas volume", "check volume and stroke")
    start = np.asarray(p_gauge, float) + atmosphere
    return start * (gas_volume / left) ** exponent - atmosphere


def rod_force(p_gauge: ArrayLike, rod_diameter: ArrayLike) -> Floats:
    """Force (N) that pushes the rod out: gauge pressure × rod area. Piston size plays no part."""
    return np.asarray(p_gauge, float) * _area(rod_diameter)


def spring_rate(
    p_gauge: ArrayLike,
    rod_diameter: float,
    gas_volume: float,
    exponent: float = 1.4,
    atmosphere: float = ATMOSPHERE,
) -> Floats:
    """Gas spring rate (N/m) with the rod out: n·p·A²/V, p absolute."""
    start = np.asarray(p_gauge, float) + atmosphere
    return exponent * start * _area(rod_diameter) ** 2 / gas_volume


def cavitation_force(
    p_gauge: ArrayLike,
    piston_area: float,
    vapour_pressure: float = 0.0,
    atmosphere: float = ATMOSPHERE,
) -> Floats:
    """Bump damping force (N) at which a monotube cavitates: (p_abs − p_vapour)·A.

    piston_area m², piston less rod. Rigid oil, floating piston without friction: the true limit
    is somewhat lower. Gas force comes on top of it in what a load cell reads.
    """
    return (np.asarray(p_gauge, float) + atmosphere - vapour_pressure) * piston_area


def cavitation_speed(
    limit: ArrayLike,
    path: FlowPath,
    viscosity_ratio: ArrayLike = 1.0,
    density_ratio: ArrayLike = 1.0,
) -> Floats:
    """Rod speed (m/s) in bump at which the damping force reaches `limit` (N)."""
    return speed_at(limit, path, viscosity_ratio, density_ratio)


@dataclass(frozen=True)
class ChargeLoss:
    """Between two readings: what the second should have shown, what is missing, and how surely.

    expected, missing: gauge Pa at the second reading's temperature; share: of the gas, 0 to 1;
    beyond_doubt: the missing part is more than the readings' own error can explain.
    """

    expected: float
    missing: float
    share: float
    doubt: float
    beyond_doubt: bool


def charge_lost(
    p_first: float,
    first_C: float,
    p_second: float,
    second_C: float,
    gauge_error: float = 10e3,
    temperature_error: float = 2.0,
    atmosphere: float = ATMOSPHERE,
) -> ChargeLoss:
    """What was lost between two readings beyond what temperature explains; gauge Pa and °C.

    gauge_error (Pa) and temperature_error (K) are 95 % errors of one reading: the shop's own;
    the defaults are our own, no source. Connecting a gauge itself lets gas out: a loss
    with each reading may be the gauge's hose.
    """
    expected = float(pressure_at(p_first, first_C, second_C, atmosphere))
    missing = expected - p_second
    slope = (expected + atmosphere) / (second_C + ZERO_C)  # Pa/K, ideal
    doubt = float(np.sqrt(2.0) * np.hypot(gauge_error, slope * temperature_error))
    before = float(density(p_first + atmosphere, first_C))
    after = float(density(p_second + atmosphere, second_C))
    return ChargeLoss(expected, missing, 1.0 - after / before, doubt, missing > doubt)


def _area(diameter: ArrayLike) -> Floats:
    return np.pi / 4.0 * np.asarray(diameter, float) ** 2
