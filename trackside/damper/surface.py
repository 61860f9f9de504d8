"""Force over position and speed as one table that obeys the laws of a damper.

Network and residual together may dip where rows scatter. The table lies midway between the lowest
surface above them and the highest below that are never softer for a harder position and never less
for a faster rod; between its points ln force is straight, which keeps both laws exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from trackside.damper import residual
from trackside.damper.estimation import FitResult
from trackside.damper.flow import Floats
from trackside.damper.force_model import ForceModel

FARTHEST = 1.5  # measured ranges beyond which no force is given: our own, no source
_BETWEEN = 32  # steps between the outermost measured positions, at least
_OUTSIDE = 10  # steps beyond them on either side
_SPEEDS = 72
_SLOWEST, _FASTEST = 0.1, 4.0  # of the sheet's slowest and fastest speed
_LEAST = 1e-6  # of the largest force: what is less has no logarithm here


@dataclass(frozen=True)
class Surface:
    """Scaled ln force (p, s) at positions (p,) from full hard and scaled ln speeds (s,)."""

    positions: Floats
    speeds: Floats
    forces: Floats
    friction: float

    def at(self, position: float, speed: Floats) -> Floats:
        """Scaled force (m,) at scaled speeds; none at rest, friction alone where it hardly moves.

        Faster than the table, ln force goes on as it did last.
        """
        last = len(self.positions) - 1
        right = int(np.clip(np.searchsorted(self.positions, position), min(1, last), last))
        if len(self.positions) == 1:
            along = self.forces[0]
        else:
            left, here = self.positions[right - 1], self.positions[right]
            part = float(np.clip((position - left) / (here - left), 0.0, 1.0))
            along = (1.0 - part) * self.forces[right - 1] + part * self.forces[right]
        slow = np.exp(self.speeds[0])
        with np.errstate(divide="ignore"):
            log = np.log(speed)
        growth = (along[-1] - along[-2]) / (self.speeds[-1] - self.speeds[-2])
        beyond = growth * np.maximum(log - self.speeds[-1], 0.0)
        force = np.exp(np.interp(log, self.speeds, along) + beyond)
        least = np.exp(along[0])
        rest = min(self.friction, float(least))
        crawl = rest + (least - rest) * speed / slow
        return np.asarray(np.where(speed < slow, crawl * (speed > 0.0), force))


def surface(
    found: FitResult, bleed_law: ForceModel, crack: float, ring: float, speeds: Floats
) -> Surface:
    """The table at a scaled crack and preload position; the sheet's scaled `speeds` are in it."""
    net = found.network
    positions, bleeds = _bleeds(bleed_law, net.nodes(found.free)[0])
    grid = np.geomspace(_SLOWEST * speeds.min(), _FASTEST * speeds.max(), _SPEEDS)
    grid = np.unique(np.concatenate([grid, np.unique(speeds)]))
    shape = positions.size, grid.size
    speed = np.tile(grid, positions.size)
    bleed = np.repeat(bleeds, grid.size)
    point = net.through(found.free, speed, bleed, np.full(speed.shape, crack))
    widest = float(net.nodes(found.free)[0][-1])
    table = residual.Grid(
        bleeds,
        residual.opening(bleeds, widest),
        positions / (bleed_law.range or 1.0),
        np.log(grid),
        ring,
    )
    force = (point.force + found.residual.mean_on(table, point)).reshape(shape)
    force = np.log(np.maximum(force, np.maximum(_LEAST, 0.05 * point.force.reshape(shape))))
    return Surface(positions, np.log(grid), _lawful(force), float(found.free[-1]))


def _bleeds(law: ForceModel, values: Floats) -> tuple[Floats, Floats]:
    """Positions and the scaled bleed there, rising and kept between its measured neighbours."""
    nodes = np.asarray(law.nodes)
    if nodes.size == 1:
        return nodes, values
    steps = max(2, -(-_BETWEEN // (nodes.size - 1)))
    inside = np.concatenate([np.linspace(a, b, steps, endpoint=False) for a, b in pairwise(nodes)])
    beyond = np.linspace(0.0, FARTHEST * law.range, _OUTSIDE + 1)
    positions = np.concatenate([nodes[0] - beyond[:0:-1], inside, nodes[-1] + beyond])
    bleed = law.weights(positions) @ values
    below = np.searchsorted(nodes, positions, "right") - 1
    floor = np.where(below < 0, 0.0, values[np.maximum(below, 0)])
    above = np.minimum(below + 1, nodes.size - 1)
    ceiling = np.where(below + 1 >= nodes.size, np.inf, values[above])
    bleed = np.clip(bleed, floor, ceiling)
    exact = np.isin(positions, nodes)
    bleed[exact] = values[np.searchsorted(nodes, positions[exact])]
    outer = positions <= nodes[0]
    bleed[outer] = np.minimum.accumulate(bleed[outer][::-1])[::-1]
    return positions, np.maximum.accumulate(bleed)


def _lawful(table: Floats) -> Floats:
    """Midway between the lawful tables just above and just below; rows soften, columns rise."""
    above = np.maximum.accumulate(np.maximum.accumulate(table[::-1], axis=0)[::-1], axis=1)
    below = np.minimum.accumulate(np.minimum.accumulate(table[:, ::-1], axis=1)[:, ::-1], axis=0)
    return np.asarray(0.5 * (above + below))
