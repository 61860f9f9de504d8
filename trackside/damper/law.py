"""How a coefficient grows from click to click: a smooth law through the measured positions.

A straight line plus a smooth departure from it (universal kriging; Gaussian process with a
linear mean and squared-exponential covariance). The law is linear in the values at the measured
positions, so their errors carry through exactly, and it says how far it may be off between and
beyond them. How far a needle departs from a straight line is common practice, no source; for a
cone needle of seat D it follows from the frustum πx·sin a·(D − x·sin a·cos a).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from trackside.damper.flow import Floats

REACH = 1.0  # distance over which departures are alike, as a share of the measured range
_JITTER = 1e-8  # keeps the system solvable where positions are close together
_STEP = 1.0 / 128.0  # of the measured range, on the way from one measured position


@dataclass(frozen=True)
class MeasuredLaw:
    """The law through `nodes`: measured positions, strictly rising, at least one."""

    nodes: tuple[float, ...]

    @property
    def range(self) -> float:
        """Distance between the outermost measured positions."""
        return self.nodes[-1] - self.nodes[0]

    def weights(self, position: ArrayLike) -> tuple[Floats, Floats]:
        """Weights of the node values at m positions, (m, n), and the law's own doubt, (m, m).

        The value at a position is weights @ node values; doubt is the covariance of the law's
        own error there in units of the departure's size, zero at a node. With one node the
        value is the same everywhere and its doubt infinite elsewhere.
        """
        x = np.atleast_1d(np.asarray(position, float))
        n = len(self.nodes)
        if n == 1:
            away = np.where(x == self.nodes[0], 0.0, np.inf)
            return np.ones((x.size, 1)), np.diag(away)
        cross = np.vstack([self._alike(x), np.ones(x.size), self._unit(x)])
        solved = np.linalg.solve(self._system, cross)
        own = _bell(x[:, None] - x[None, :], REACH * self.range)
        weights, doubt = np.asarray(solved[:n].T), np.asarray(own - cross.T @ solved)
        exact, node = np.nonzero(x[:, None] == np.asarray(self.nodes))
        weights[exact] = np.eye(n)[node]
        doubt[exact, :] = doubt[:, exact] = 0.0
        return weights, doubt

    def rising(self, position: float, values: Floats) -> Floats:
        """Weights (n,) at one position, such that the value never falls as the adjuster opens.

        Where the smooth law dips or shoots over a measured neighbour, the level that it had
        reached, or the neighbour's, stands.
        """
        nodes, last = np.asarray(self.nodes), len(self.nodes) - 1
        right = int(np.searchsorted(nodes, position))
        if last == 0 or (right <= last and nodes[right] == position):
            return np.eye(last + 1)[min(right, last)]
        near = max(right - 1, 0)
        step = np.copysign(_STEP * self.range, position - nodes[near])
        part, last_step = np.modf((position - nodes[near]) / step)
        weights, _ = self.weights(nodes[near] + step * np.arange(last_step + 2))
        along = weights @ values
        if 0 < right <= last:
            over = (along > values[right]) | (
                np.arange(along.size) * step > nodes[right] - nodes[near]
            )
            weights[over] = np.eye(last + 1)[right]
            along[over] = values[right]
        better = np.argmin if right == 0 else np.argmax
        before, after = weights[better(along[:-1])], weights[better(along)]
        return before + part * (after - before)

    @cached_property
    def departure(self) -> Floats:
        """Rows R (n − 2, n): R @ values / size is standard normal for a law of this kind."""
        n = len(self.nodes)
        if n < 3:
            return np.empty((0, n))
        x = np.asarray(self.nodes)
        line = np.column_stack([np.ones(n), self._unit(x)])
        null = np.linalg.svd(line.T)[2][2:]
        spread = null @ self._alike(x) @ null.T + _JITTER * np.eye(n - 2)
        return np.linalg.solve(np.linalg.cholesky(spread), null)

    def _unit(self, x: Floats) -> Floats:
        return (x - self.nodes[0]) / self.range

    def _alike(self, x: Floats) -> Floats:
        return _bell(np.asarray(self.nodes)[:, None] - x[None, :], REACH * self.range)

    @cached_property
    def _system(self) -> Floats:
        x = np.asarray(self.nodes)
        n = x.size
        line = np.column_stack([np.ones(n), self._unit(x)])
        top = np.hstack([self._alike(x) + _JITTER * np.eye(n), line])
        return np.vstack([top, np.hstack([line.T, np.zeros((2, 2))])])


def _bell(apart: Floats, reach: float) -> Floats:
    return np.exp(-0.5 * (apart / reach) ** 2)
