"""Left against right: an axle whose dampers end at unlike forces, whatever their counts say."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trackside.analysis.changes import AXLES
from trackside.analysis.estimate import DIRECTIONS, Estimate, Speeds, setting
from trackside.analysis.estimate_cache import EstimateCache
from trackside.analysis.shed import Shed
from trackside.errors import TracksideError
from trackside.records import Session


@dataclass(frozen=True)
class Uneven:
    """One direction of an axle whose two sides differ by more than both bands allow. `left` and
    `right` in N, `difference` is right less left with its 95 % band, at rod speeds (m/s), (n,)."""

    axle: str
    direction: str
    speed: NDArray[np.float64]
    left: NDArray[np.float64]
    right: NDArray[np.float64]
    difference: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]

    @property
    def clear(self) -> NDArray[np.bool_]:
        """Where the band does not hold zero, (n,)."""
        return (self.low > 0) | (self.high < 0)

    @property
    def clearest(self) -> int:
        """Index of the rod speed at which the difference is the largest share of its band."""
        band = self.high - self.low
        size = np.abs(self.difference)
        certain = np.where(size > 0, np.inf, 0.0)
        return int(np.argmax(np.divide(size, band, out=certain, where=band > 0)))


def uneven(
    session: Session, shed: Shed, speeds: Speeds, known: EstimateCache | None = None
) -> tuple[Uneven, ...]:
    """Each axle and direction whose forces are unlike beyond their bands; none where a side has no
    estimate. The errors of two dampers are independent: their half bands add as squares do. `known`
    has the curves of that shed at those speeds that were calculated already."""
    known = EstimateCache(shed, speeds) if known is None else known
    found = []
    for axle, (left, right) in AXLES.items():
        for direction in DIRECTIONS:
            try:
                pair = [known.at(setting(session, c, direction, shed)) for c in (left, right)]
            except TracksideError:
                continue
            one = _compared(axle, direction, *pair)
            if np.any(one.clear):
                found.append(one)
    return tuple(found)


def _compared(axle: str, direction: str, left: Estimate, right: Estimate) -> Uneven:
    difference = right.force - left.force
    below = np.hypot(right.force - right.low, left.high - left.force)
    above = np.hypot(right.high - right.force, left.force - left.low)
    return Uneven(
        axle,
        direction,
        right.speed,
        left.force,
        right.force,
        difference,
        difference - below,
        difference + above,
    )
