"""Tyre pressures: what to set cold for a target hot, and what a reading means elsewhere.

Constant volume and dry gas: absolute pressure goes with absolute temperature. Water in the tyre
adds its own vapour pressure and makes it rise more: not calculated here. What the tyre's maker and
the series' rules say comes first.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trackside.errors import BadNumber

Floats = NDArray[np.float64]
ATMOSPHERE = 101_325.0  # Pa
ZERO_C = 273.15


def pressure_at(
    p_gauge: ArrayLike,
    read_at_C: ArrayLike,
    at_C: ArrayLike,
    atmosphere: float = ATMOSPHERE,
    atmosphere_then: float | None = None,
) -> Floats:
    """Gauge pressure (Pa) at `at_C` of a tyre that reads `p_gauge` at `read_at_C` (°C).

    atmosphere is the barometric pressure (Pa) at the reading, atmosphere_then at the other
    moment if it is another. Source: p/T constant (a published worked example is checked).
    20 psi at 70 °F is 23.9 psi at 130 °F:

    >>> psi = 6894.757
    >>> f"{pressure_at(20 * psi, (70 - 32) / 1.8, (130 - 32) / 1.8) / psi:.1f}"
    '23.9'
    """
    before, after = (np.asarray(c, float) + ZERO_C for c in (read_at_C, at_C))
    absolute = np.asarray(p_gauge, float) + atmosphere
    if not (np.all(before > 0.0) and np.all(after > 0.0) and np.all(absolute >= 0.0)):
        raise BadNumber("a tyre pressure or temperature is not possible", "check sign and unit")
    return absolute * after / before - (atmosphere if atmosphere_then is None else atmosphere_then)


def cold_pressure(
    hot_gauge: ArrayLike,
    hot_C: ArrayLike,
    set_at_C: ArrayLike,
    atmosphere: float = ATMOSPHERE,
    atmosphere_when_set: float | None = None,
) -> Floats:
    """Gauge pressure (Pa) to set at `set_at_C` so that the tyre reads `hot_gauge` at `hot_C`.

    >>> f"{cold_pressure(1.90e5, 85.0, 22.0) / 1e5:.3f} bar"
    '1.388 bar'
    """
    return pressure_at(hot_gauge, hot_C, set_at_C, atmosphere, atmosphere_when_set)
