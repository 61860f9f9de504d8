"""The bump stop: force against compression, from which travel on, and what it adds at the wheel.

Compression and force in m and N, both at the damper's rod. A stop has no damping here, and one
curve: what it loses between the way in and the way out is left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike

from trackside.corner.wheel import Floats
from trackside.errors import BadNumber


class BumpStop(Protocol):
    """A stop's curve, numbers for a compression ≥ 0; nan beyond what is known of it."""

    def force(self, compression: ArrayLike) -> Floats:
        """N."""

    def rate(self, compression: ArrayLike) -> Floats:
        """N/m."""


@dataclass(frozen=True)
class TableStop:
    """A measured stop: points (compression m, force N) after the contact at (0, 0).

    Between the points a monotone cubic (Fritsch and Carlson, scipy). Raises BadNumber unless
    both columns rise.
    """

    points: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        steps = list(pairwise(((0.0, 0.0), *self.points)))
        if len(steps) < 2 or not all(b[0] > a[0] and b[1] > a[1] for a, b in steps):
            raise BadNumber(
                "a bump stop's table needs two or more points, compression and force both rising",
                "give compression:force from the softest point on, like 5:400 10:1300",
            )

    def force(self, compression: ArrayLike) -> Floats:
        """N; nan beyond the last point."""
        return self._curve(compression, 0)

    def rate(self, compression: ArrayLike) -> Floats:
        """N/m; nan beyond the last point."""
        return self._curve(compression, 1)

    def _curve(self, compression: ArrayLike, derivative: int) -> Floats:
        from scipy.interpolate import PchipInterpolator

        x, f = np.array(((0.0, 0.0), *self.points)).T
        curve = PchipInterpolator(x, f, extrapolate=False)
        return np.asarray(curve(np.asarray(compression, float), derivative))


@dataclass(frozen=True)
class CurveStop:
    """A stop by three numbers: F = k·x/(1 − x/X)ⁿ, our own curve, no source.

    contact_rate k N/m, stiffening n (0: a spring), full compression X m, where it is solid.

    >>> stop = CurveStop(contact_rate=50e3, stiffening=1.0, full=0.020)
    >>> float(stop.force(0.010)), float(stop.rate(0.010))
    (1000.0, 200000.0)
    """

    contact_rate: float
    stiffening: float
    full: float

    def __post_init__(self) -> None:
        if not (self.contact_rate > 0.0 and self.stiffening >= 0.0 and self.full > 0.0):
            raise BadNumber(
                "a bump stop needs a contact rate, a stiffening of zero or more and a full "
                "compression",
                "give the three like 40/1.5/20",
            )

    def force(self, compression: ArrayLike) -> Floats:
        """N; nan from full compression on."""
        left, x = self._left(compression)
        return self.contact_rate * x * left**-self.stiffening

    def rate(self, compression: ArrayLike) -> Floats:
        """N/m; nan from full compression on."""
        left, _ = self._left(compression)
        rise = left + self.stiffening * (1.0 - left)
        return self.contact_rate * rise * left ** (-self.stiffening - 1.0)

    def _left(self, compression: ArrayLike) -> tuple[Floats, Floats]:
        x = np.asarray(compression, float)
        left = 1.0 - x / self.full
        return np.where(left > 0.0, left, np.nan), x


def starts_at(gap: float, packers: float = 0.0) -> float:
    """Rod travel in bump (m) from static at which the stop works; below zero it works already.

    gap: free travel at static without packers; packers fill it up.
    """
    return gap - packers


def added_at_wheel(
    stop: BumpStop, wheel_travel: ArrayLike, gap: float, packers: float, mr: float
) -> tuple[Floats, Floats]:
    """What the stop adds at the wheel: force (N) and rate (N/m) at wheel travels in bump (m).

    mr is damper travel over wheel travel, constant here: F·MR and k·MR² (virtual work, derived).
    """
    x = np.asarray(wheel_travel, float) * mr - starts_at(gap, packers)
    touched, x = x > 0.0, np.maximum(x, 0.0)
    force = np.where(touched, stop.force(x) * mr, 0.0)
    return force, np.where(touched, stop.rate(x) * mr**2, 0.0)
