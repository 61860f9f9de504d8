"""How rough a road is: ISO 8608's classes, and the white noise that a car makes of one.

Displacement spectral density over spatial frequency Gd(n) = Gd(n0)·(n/n0)^−2, n0 = 0.1 cycles/m,
in m³. At a steady speed V the road's vertical velocity is then white, of two-sided intensity
S = 2π²·n0²·Gd(n0)·V (derived). The classes' geometric means are taken from public files that quote
ISO 8608; the standard itself was not read. They belong to n0: over angular frequency, at
1 rad/m, the same roads have other numbers (class A 1.005e-6 m³/rad).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trackside.corner.wheel import Floats
from trackside.errors import BadNumber

N0 = 0.1
"""Reference spatial frequency, cycles/m."""
CLASSES = {letter: 16e-6 * 4.0**n for n, letter in enumerate("ABCDEFGH")}
"""Gd(n0), m³: the geometric mean of each class."""


@dataclass(frozen=True)
class Road:
    """A road of roughness Gd(n0) (m³) at a steady speed (m/s). BadNumber unless both are > 0."""

    roughness: float
    speed: float

    def __post_init__(self) -> None:
        if not 0.0 < self.roughness < np.inf:
            raise BadNumber("a road's roughness must be above zero", "give a class A to H")
        if not 0.0 < self.speed < np.inf:
            raise BadNumber(
                "the speed on a road must be above zero", "give the speed where it is rough"
            )

    @property
    def intensity(self) -> float:
        """S of the road's vertical velocity (m²/s)."""
        return 2.0 * np.pi**2 * N0**2 * self.roughness * self.speed

    def velocity(self, steps: int, step: float, seed: int = 0) -> Floats:
        """The road's mean vertical velocity (m/s) in each of `steps` steps of `step` s, (steps,):
        one road for one seed, its heights a random walk exactly at the steps' ends."""
        drawn = np.random.default_rng(seed).standard_normal(steps)
        return drawn * np.sqrt(self.intensity / step)


def road(letter: str, speed: float) -> Road:
    """The geometric mean of a class A to H, at a speed (m/s). BadNumber for another letter.

    >>> f"{road('C', 20.0).intensity:.6g}"
    '0.00101065'
    """
    name = letter.strip().upper()
    if name not in CLASSES:
        raise BadNumber(f"“{letter.strip()}” is no road class", "give a letter from A to H")
    return Road(CLASSES[name], speed)
