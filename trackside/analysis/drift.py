"""Whether a figure drifts: a line through readings, and a chart that adds up small steps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

WEIGHT: Final = 0.3
"""What the newest sheet weighs in an exponentially weighted moving average (EWMA): 0.2 to 0.3 is
usual. Roberts, Technometrics 1 (1959) 239; NIST/SEMATECH e-Handbook, EWMA charts: from memory,
neither was read."""
WIDTH: Final = 3.0
"""Limits lie this many standard deviations out: the same sources, from memory."""
REACH: Final = 1.96
_SURE: Final = 2.576 / REACH
"""A fall is one when 99 % of the band lies below zero: with twenty dampers on a page, 95 % would
cry on every other day. Our own, no source."""


@dataclass(frozen=True)
class Line:
    """A least-squares line through readings: `value` on `day`, the middle of them, and `slope` a
    day with half of its 95 % band."""

    day: float
    value: float
    slope: float
    band: float

    @property
    def falls(self) -> bool:
        """Whether it falls beyond what its readings may miss."""
        return self.slope + _SURE * self.band < 0.0

    def reaches(self, limit: float) -> tuple[float, float] | None:
        """The day on which a falling line comes to the limit, and the earliest that its band
        allows; None where it does not fall."""
        if not self.falls:
            return None
        gap = limit - self.value
        near, far = sorted((self.slope - self.band, self.slope + self.band))
        return self.day + gap / self.slope, self.day + gap / (near if gap < 0 else far)


def line_through(days: Sequence[float], values: Sequence[float], deviation: float) -> Line | None:
    """The line through readings that each miss by that standard deviation, or by more where they
    themselves scatter more; None for readings of one moment. Source: least squares (textbook)."""
    x, y = np.asarray(days, float), np.asarray(values, float)
    if x.size < 2:
        return None
    mean, level = float(x.mean()), float(y.mean())
    spread = float(np.sum((x - mean) ** 2))
    if spread <= 0.0:
        return None
    slope = float((x - mean) @ (y - level)) / spread
    band = REACH * deviation / spread**0.5
    if x.size > 2:
        left = y - level - slope * (x - mean)
        seen = float(np.sqrt(left @ left / (x.size - 2)))
        band = max(band, student(x.size - 2) * seen / spread**0.5)
    return Line(mean, level, slope, band)


def student(freedom: int, share: float = 0.95) -> float:
    """How many standard errors hold that share, of an error that was itself estimated."""
    from scipy.special import stdtrit

    return float(stdtrit(freedom, 0.5 + share / 2))


@dataclass(frozen=True)
class ChartPoint:
    """One sheet on the chart: its own figure against the first sheet, the moving average, and the
    limit that this stays within, above and below zero, while nothing changes."""

    value: float
    average: float
    limit: float

    @property
    def is_out(self) -> bool:
        """Whether the average is beyond its limit."""
        return abs(self.average) > self.limit


def chart(values: Sequence[float], deviations: Sequence[float]) -> tuple[ChartPoint, ...]:
    """An EWMA chart of figures against one reference, in their order. Each deviation is that of one
    sheet; the reference misses like any of them, and what it misses by is in every point."""
    if not values:
        return ()
    reference = float(np.median(deviations))
    average = own = weight = 0.0
    points = []
    for value, deviation in zip(values, deviations, strict=True):
        average = WEIGHT * value + (1.0 - WEIGHT) * average
        own = (WEIGHT * deviation) ** 2 + (1.0 - WEIGHT) ** 2 * own
        weight = WEIGHT + (1.0 - WEIGHT) * weight
        limit = WIDTH * (own + (weight * reference) ** 2) ** 0.5
        points.append(ChartPoint(value, average, limit))
    return tuple(points)
