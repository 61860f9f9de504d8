"""Air: density from temperature, pressure and humidity, and the standard air of an altitude.

Density by CIPM-2007 (Picard, Davis, Gläser, Fujii, Metrologia 45 (2008) 149; the abstract was
read, the formula second-hand in open implementations, some constants from memory and all checked
against computed densities). Meant for 15 to 27 °C and 600 to 1100 hPa, good beyond for a race.
Altitude by the ISO 2533 standard atmosphere (text not read, values computed).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trackside.errors import BadNumber

Floats = NDArray[np.float64]
_DRY, _WATER = 28.96546e-3, 18.01528e-3  # kg/mol, CO2 400 ppm
_GAS_CONSTANT = 8.314472  # J/(mol K), the value of that formula
_SEA_LEVEL_K, _SEA_LEVEL_PA, _LAPSE = 288.15, 101_325.0, 0.0065
_EXPONENT = 9.80665 / (287.05287 * _LAPSE)
_TROPOPAUSE = 11_000.0  # m


def air_density(at_C: ArrayLike, pressure: ArrayLike, humidity: ArrayLike) -> Floats:
    """Moist air density (kg/m³) at °C, absolute barometric pressure Pa, relative humidity 0 to 1.

    Raises BadNumber outside −40 to 60 °C, 50 to 110 kPa, 0 to 1.

    >>> f"{air_density(20.0, 101_325.0, 0.5):.4f}"
    '1.1993'
    """
    t, p, h = np.broadcast_arrays(*(np.asarray(x, float) for x in (at_C, pressure, humidity)))
    if not (
        np.all((t >= -40.0) & (t <= 60.0))
        and np.all((p >= 5e4) & (p <= 1.1e5))
        and np.all((h >= 0.0) & (h <= 1.0))
    ):
        raise BadNumber(
            "this is not the air of a race track",
            "give °C, barometric pressure as it is here (not reduced to sea level), humidity in %",
        )
    k = t + 273.15
    saturated = np.exp(1.2378847e-5 * k**2 - 1.9121316e-2 * k + 33.93711047 - 6.3431645e3 / k)
    enhanced = 1.00062 + 3.14e-8 * p + 5.6e-7 * t**2
    vapour = h * enhanced * saturated / p
    first = 1.58123e-6 - 2.9331e-8 * t + 1.1043e-10 * t**2
    first = first + (5.707e-6 - 2.051e-8 * t) * vapour + (1.9898e-4 - 2.376e-6 * t) * vapour**2
    second = 1.83e-11 - 0.765e-8 * vapour**2
    compress = 1.0 - p / k * first + (p / k) ** 2 * second
    return p * _DRY / (compress * _GAS_CONSTANT * k) * (1.0 - vapour * (1.0 - _WATER / _DRY))


def standard_pressure(altitude: ArrayLike) -> Floats:
    """Pressure (Pa) of the standard atmosphere at an altitude (m, geopotential, up to 11 km).

    >>> float(standard_pressure(0.0))
    101325.0
    """
    h = np.asarray(altitude, float)
    if not np.all((h >= -1000.0) & (h <= _TROPOPAUSE)):
        raise BadNumber("no race track lies at this altitude", "give metres above sea level")
    return _SEA_LEVEL_PA * (1.0 - _LAPSE * h / _SEA_LEVEL_K) ** _EXPONENT
