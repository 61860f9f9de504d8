"""A motion ratio that changes with travel: damper travel over wheel travel, as a table.

Between the points a monotone cubic (Fritsch and Carlson, scipy); outside them nothing is guessed.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from trackside.corner.wheel import Floats
from trackside.errors import BadNumber


@dataclass(frozen=True)
class MotionTable:
    """Points (wheel travel m, bump positive, 0 at static; ratio), travel rising.

    Raises BadNumber for a table that does not rise in travel, or a ratio that is not above zero.
    """

    points: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        rising = all(b[0] > a[0] for a, b in pairwise(self.points))
        if len(self.points) < 2 or not rising or not all(0 < r < np.inf for _, r in self.points):
            raise BadNumber(
                "a motion ratio table needs two or more points, travel rising, ratios above zero",
                "give damper travel over wheel travel at each wheel travel",
            )

    @property
    def range(self) -> tuple[float, float]:
        """First and last wheel travel (m) at which the ratio is known."""
        return self.points[0][0], self.points[-1][0]

    def at(self, travel: ArrayLike) -> Floats:
        """The ratio at wheel travels (m). BadNumber outside the range."""
        return np.asarray(self._curve(self._inside(travel)))

    def slope(self, travel: ArrayLike) -> Floats:
        """How fast the ratio grows with wheel travel (1/m)."""
        return np.asarray(self._curve(self._inside(travel), 1))

    def damper_travel(self, travel: ArrayLike) -> Floats:
        """Damper travel (m) from static: the ratio integrated over wheel travel."""
        whole = self._curve.antiderivative()
        return np.asarray(whole(self._inside(travel)) - whole(self._inside(0.0)))

    def wheel_travel(self, damper_travel: float) -> float:
        """Wheel travel (m) from static at which the damper has gone so far (m). BadNumber where
        that lies outside the range."""
        from scipy.optimize import brentq

        def off(travel: float) -> float:
            return float(self.damper_travel(travel)) - damper_travel

        first, last = self.range
        if not off(first) <= 0.0 <= off(last):
            ends = (float(self.damper_travel(end)) * 1e3 for end in self.range)
            raise BadNumber(
                "the motion ratio is known from {:.4g} to {:.4g} mm of damper travel only".format(
                    *ends
                ),
                "measure it further",
            )
        return float(brentq(off, first, last, xtol=1e-12))

    def wheel_rate(self, travel: ArrayLike, rate: ArrayLike, force: ArrayLike) -> Floats:
        """Rate at the wheel (N/m) of a spring of `rate` N/m that pushes with `force` N there.

        k·MR² + F·dMR/dz: the force at the wheel F·MR differentiated by travel (derived). The
        second term is what a rising ratio adds under load.
        """
        ratio, k, f = self.at(travel), np.asarray(rate, float), np.asarray(force, float)
        return k * ratio**2 + f * self.slope(travel)

    @cached_property
    def _curve(self) -> Any:
        from scipy.interpolate import PchipInterpolator

        return PchipInterpolator(*np.array(self.points).T)

    def _inside(self, travel: ArrayLike) -> Floats:
        z, (first, last) = np.asarray(travel, float), self.range
        if not np.all((z >= first) & (z <= last)):
            raise BadNumber(
                f"the motion ratio is known from {first * 1e3:g} to {last * 1e3:g} mm of wheel "
                "travel only",
                "measure it further",
            )
        return z
