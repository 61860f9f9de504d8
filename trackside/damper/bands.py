"""How far a force, or a change of force, may be off: four parts, added as variances.

- the fitted numbers and what the sheet says beyond the network, together (`residual`);
- the law between and beyond measured positions (`law`);
- for a new bench point, the bench's own scatter;
- at speeds that the sheet did not run, what a valve may do there that no row shows.

Forces at several positions and speeds have one covariance, so a change's band is that of the
difference: what both ends share cancels. All in the scaled units of `network`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from trackside.damper.estimation import FitResult
from trackside.damper.flow import Floats
from trackside.damper.force_model import ForceModel
from trackside.damper.network import Point
from trackside.damper.residual import Places, joined

BAND = 0.95
"""Share of bench points that a band is to hold."""

_SLOWER, _FASTER, _FARTHER = 0.2, 0.11, 1.5
"""Standard deviation of ln force one e-fold of speed below and above the sheet's, and the power by
which it grows: our own, no source; set on the virtual benches of the tests."""


@dataclass(frozen=True)
class End:
    """One curve: its position and preload, the network's forces and slopes there, and their places
    for `residual`."""

    position: float
    preload: float
    point: Point
    at: Places


@dataclass(frozen=True)
class Laws:
    """The laws of both adjusters and the scaled values at their measured positions."""

    bleed: ForceModel
    crack: ForceModel
    bleeds: Floats
    cracks: Floats

    def doubt(self, ends: tuple[End, ...]) -> tuple[Floats, Floats]:
        """Covariance (e, e) of the scaled bleed and crack at the ends, from the laws alone."""
        return (
            _doubt(self.bleed, self.bleeds, [end.position for end in ends]),
            _doubt(self.crack, self.cracks, [end.preload for end in ends]),
        )


def _doubt(law: ForceModel, values: Floats, positions: list[float]) -> Floats:
    if len(law.nodes) == 1:
        return np.zeros((len(positions), len(positions)))
    return law.doubt(np.array(positions), values)


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


def variance(found: FitResult, laws: Laws, *ends: End) -> Floats:
    """Variance (m,) of one curve, or of the second less the first, without bench scatter."""
    total = covariance(found, laws, list(ends))
    speeds = ends[0].point.force.size
    if len(ends) == 1:
        return np.maximum(np.diag(total), 0.0)
    first, both = np.arange(speeds), np.arange(speeds) + speeds
    change = total[first, first] + total[both, both] - 2.0 * total[first, both]
    return np.maximum(change, 0.0)


def covariance(found: FitResult, laws: Laws, ends: list[End]) -> Floats:
    """Covariance (e·m, e·m) of the forces of all ends at all speeds, without bench scatter."""
    slopes = np.concatenate([end.point.slopes for end in ends])
    total = found.residual.covariance(joined([end.at for end in ends]), slopes)
    speeds = ends[0].point.force.size
    bleed, crack = laws.doubt(tuple(ends))
    for doubt, by in (
        (bleed, np.concatenate([end.point.by_bleed for end in ends])),
        (crack, np.concatenate([end.point.by_crack for end in ends])),
    ):
        total += np.outer(by, by) * np.kron(doubt, np.ones((speeds, speeds)))
    return total


def around(force: Floats, half: Floats) -> tuple[Floats, Floats]:
    """Lower and upper end (n,) of bands that reach `half` (n,) either way of forces (n,).

    Even in ln force, because near full hard force goes with the bleed to the power −2. Where a band
    is wider than its force, the upper end goes on in a straight line: newtons of scatter on a force
    of less say nothing of its logarithm.
    """
    share = np.divide(half, force, out=np.zeros_like(force), where=force > 0.0)
    near = np.minimum(share, 1.0)
    return force * np.exp(-share), force * np.exp(near) * np.maximum(share, 1.0)


def unrun(speeds: Floats, slowest: float, fastest: float) -> Floats:
    """Standard deviation (n,) of ln force at speeds outside those that the sheet ran; none within
    them, and none at rest, where there is no force."""
    moving = np.where(speeds > 0.0, speeds, slowest)
    slower = np.maximum(np.log(slowest / moving), 0.0) ** _FARTHER
    faster = np.maximum(np.log(moving / fastest), 0.0) ** _FARTHER
    return np.asarray(_SLOWER * slower + _FASTER * faster)


def scatter(found: FitResult, force: Floats) -> Floats:
    """Standard deviation of one bench point."""
    return np.sqrt(found.residual.sizes.noise(force))
