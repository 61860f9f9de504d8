"""Oil: viscosity and density against temperature, as the ratios that `flow` takes.

Viscosity by ASTM D341 (the standard's text was not read; the formula was, second-hand):
log10 log10 Z = A − B·log10 T, T in K, with Z = ν + 0.7 + exp(−1.47 − 1.84ν − 0.51ν²), ν in mm²/s
(cSt). Density falls by volumetric expansion, ρ = ρ₀/(1 + a·ΔT). Without viscosities only the
density moves.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trackside.damper.flow import Floats
from trackside.errors import BadNumber

ZERO_C = 273.15
EXPANSION = 7e-4  # 1/K, mineral oil: from memory; take the oil's data sheet
_GRADE_AT_C, _HOT_C = 40.0, 100.0
_COLDEST, _HOTTEST = -60.0, 200.0


@dataclass(frozen=True)
class OilData:
    """Two kinematic viscosities (mm²/s) at two temperatures (°C), and the expansion (1/K).

    Raises BadNumber unless the oil is thinner at the higher temperature.
    """

    nu_cold: float
    nu_hot: float
    cold_C: float = _GRADE_AT_C
    hot_C: float = _HOT_C
    expansion: float = EXPANSION

    def __post_init__(self) -> None:
        if not (0.2 <= self.nu_hot < self.nu_cold and self.cold_C < self.hot_C):
            raise BadNumber(
                "the oil's two viscosities contradict each other",
                "give cSt at two temperatures, the thinner one hotter, usually at 40 and 100 °C",
            )
        if not 0.0 <= self.expansion < 0.01:
            raise BadNumber("the oil's expansion is not a plausible figure", "for example 0.0007/K")

    def viscosity(self, at_C: ArrayLike) -> Floats:
        """Kinematic viscosity (mm²/s) at °C.

        >>> f"{OilData(32.0, 5.4).viscosity(80.0):.3f}"
        '8.533'
        """
        kelvin = _kelvin(at_C)
        first, second = (_double_log(nu) for nu in (self.nu_cold, self.nu_hot))
        logs = np.log10(np.array([self.cold_C, self.hot_C]) + ZERO_C)
        slope = (first - second) / (logs[1] - logs[0])
        level = first + slope * logs[0]
        return _from_double_log(level - slope * np.log10(kelvin))


def ratios(oil: OilData | None, reference_C: ArrayLike, at_C: ArrayLike) -> tuple[Floats, Floats]:
    """(viscosity ratio, density ratio) for `flow`: oil at `reference_C` over oil at `at_C`.

    Dynamic viscosity is ν·ρ. oil None: no data, so the viscosity ratio is 1 and the density
    moves with the usual expansion; say "no data for the oil: density only".
    """
    expansion = EXPANSION if oil is None else oil.expansion
    thinner = 1.0 + expansion * (_kelvin(at_C) - _kelvin(reference_C))
    if np.any(thinner <= 0.0):
        raise BadNumber("the oil's temperatures are not plausible", "check their unit")
    if oil is None:
        return np.ones_like(thinner), thinner
    return oil.viscosity(reference_C) / oil.viscosity(at_C) * thinner, thinner


def _kelvin(at_C: ArrayLike) -> Floats:
    celsius = np.asarray(at_C, float)
    if not np.all((celsius >= _COLDEST) & (celsius <= _HOTTEST)):
        raise BadNumber(
            f"an oil temperature is outside {_COLDEST:.0f} to {_HOTTEST:.0f} °C", "check its unit"
        )
    return celsius + ZERO_C


def _double_log(nu: ArrayLike) -> Floats:
    nu = np.asarray(nu, float)
    return np.log10(np.log10(nu + 0.7 + np.exp(-1.47 - 1.84 * nu - 0.51 * nu**2)))


def _from_double_log(value: Floats) -> Floats:
    """ν from log10 log10 Z; the standard's own inverse, within 2e-4 of the exact one."""
    z = 10.0 ** (10.0**value) - 0.7
    return z - np.exp(-0.7487 - 3.295 * z + 0.6119 * z**2 - 0.3193 * z**3)
