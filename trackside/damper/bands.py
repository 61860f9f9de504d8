"""How far a force, or a change of force, may be off: four parts, added as variances.

- the fitted numbers: their covariance, seen through the slopes of the force;
- the law between and beyond measured positions (`law`);
- the network itself, which is simpler than any damper (`misfit`);
- for a new bench point, the bench's own scatter.

All in the scaled units of `network`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from trackside.damper import misfit
from trackside.damper.estimation import ABSOLUTE, RELATIVE, Found
from trackside.damper.flow import Floats
from trackside.damper.law import MeasuredLaw
from trackside.damper.network import Point

BAND = 0.95
"""Share of bench points that a band is to hold."""

# Detents are not even: our own, no source. A share of the whole measured change.
DETENT = 0.002


@dataclass(frozen=True)
class End:
    """One curve: where it stands, its weights on the measured positions, its forces and slopes."""

    position: float
    preload: float
    bleed_weights: Floats
    crack_weights: Floats
    point: Point


@dataclass(frozen=True)
class Laws:
    """The laws of both adjusters and the scaled values at their measured positions."""

    bleed: MeasuredLaw
    crack: MeasuredLaw
    bleeds: Floats
    cracks: Floats

    def doubt(self, ends: tuple[End, ...]) -> tuple[Floats, Floats]:
        """Covariance (e, e) of the scaled bleed and crack at the ends, from the laws alone."""
        return (
            _doubt(self.bleed, self.bleeds, [end.position for end in ends]),
            _doubt(self.crack, self.cracks, [end.preload for end in ends]),
        )


def _doubt(law: MeasuredLaw, values: Floats, positions: list[float]) -> Floats:
    if len(law.nodes) == 1:
        return np.zeros((len(positions), len(positions)))
    places = np.array(positions)
    rough = (places[:, None] == places[None, :]) & ~np.isin(places, law.nodes)
    return law.doubt(places, values) + rough * (DETENT * float(np.ptp(values))) ** 2


@lru_cache(maxsize=64)
def reach(freedom: float) -> float:
    """Standard deviations on either side that hold `BAND` of Student's distribution, for one degree
    of freedom or more.

    With t = √ν·tan θ its density is cos^(ν−1) θ, which is summed here: derived. scipy has the same
    figure at the price of 20 MB and a tenth of a second, and of scipy a running program needs no
    more; a test holds the two together. Worked example: 10 degrees of freedom: 2.228.
    """
    angle = np.linspace(0.0, min(np.pi / 2.0, 12.0 / np.sqrt(freedom)), 20_001)
    inside = np.cumsum(np.cos(0.5 * (angle[1:] + angle[:-1])) ** (freedom - 1.0))
    held = np.interp(BAND, inside / inside[-1], angle[1:])
    return float(np.sqrt(freedom) * np.tan(held))


def variance(found: Found, laws: Laws, *ends: End) -> Floats:
    """Variance (m,) of one curve, or of the second less the first, without bench scatter."""
    signs = np.array([1.0] if len(ends) == 1 else [-1.0, 1.0])
    slopes = np.einsum("e,eij->ij", signs, np.array([end.point.slopes for end in ends]))
    total = np.einsum("ij,jk,ik->i", slopes, found.covariance, slopes)
    bleed, crack = laws.doubt(ends)
    by_bleed = signs[:, None] * np.array([end.point.by_bleed for end in ends])
    by_crack = signs[:, None] * np.array([end.point.by_crack for end in ends])
    total += np.einsum("ai,ab,bi->i", by_bleed, bleed, by_bleed)
    total += np.einsum("ai,ab,bi->i", by_crack, crack, by_crack)
    total += _misfit(laws, signs, ends)
    return np.maximum(total, 0.0)


def covariance(found: Found, laws: Laws, ends: list[End]) -> Floats:
    """Covariance (e·m, e·m) of the forces of all ends at all speeds: fitted numbers and laws."""
    slopes = np.concatenate([end.point.slopes for end in ends])
    total = slopes @ found.covariance @ slopes.T
    speeds = ends[0].point.force.size
    bleed, crack = laws.doubt(tuple(ends))
    for doubt, by in (
        (bleed, np.concatenate([end.point.by_bleed for end in ends])),
        (crack, np.concatenate([end.point.by_crack for end in ends])),
    ):
        total += np.outer(by, by) * np.kron(doubt, np.ones((speeds, speeds)))
    return total


def _misfit(laws: Laws, signs: Floats, ends: tuple[End, ...]) -> Floats:
    places = np.array(
        [
            [end.position / (laws.bleed.range or 1.0), end.preload / (laws.crack.range or 1.0)]
            for end in ends
        ]
    )
    apart = np.abs(places[:, None, :] - places[None, :, :]).sum(axis=2)
    found = [
        misfit.parts(
            end.point,
            max(float(end.bleed_weights @ laws.bleeds), 0.0),
            max(float(end.crack_weights @ laws.cracks), 0.0),
        )
        for end in ends
    ]
    total = np.zeros_like(ends[0].point.force)
    for same in zip(*found, strict=True):
        part = same[0][0]
        signed = part.share * signs[:, None] * np.array([effect for _, effect in same])
        total += np.einsum("ai,ab,bi->i", signed, np.exp(-apart / part.reach), signed)
    return total


def with_bleed(found: Found, laws: Laws, end: End) -> tuple[float, Floats]:
    """Standard deviation of the scaled bleed at a position, fitted numbers and law together; and
    how far the force (m,) goes with it, as a share of what the bleed alone would do.

    Less than one where another number makes up for the bleed, as leakage does in slow rows.
    """
    net = found.network
    weights = end.bleed_weights @ net.bleed_sums
    shared = found.covariance[:, : net.bleeds] @ weights
    law = float(laws.doubt((end,))[0][0, 0])
    square = weights @ shared[: net.bleeds] + law
    along = end.point.slopes @ shared + end.point.by_bleed * law
    alone = end.point.by_bleed * square
    share = np.divide(along, alone, out=np.zeros_like(alone), where=alone != 0.0)
    return float(np.sqrt(square)), share


def scatter(found: Found, force: Floats) -> Floats:
    """Standard deviation of one bench point."""
    moving = force > 0.0
    return found.scatter * np.hypot(RELATIVE * force, ABSOLUTE / found.network.force * moving)
