"""How a coefficient grows from click to click: a smooth law through the measured positions.

A line plus a smooth departure from it (universal kriging; Gaussian process with a linear mean and
squared-exponential covariance), in two forms: the line is straight in clicks from full hard, or in
their power 3/2, as for a needle that opens the more the further it is out. Three or more values
say how far each form is to be believed (Bayes' rule), and the law is the mean of both. It is linear
in the values at the measured positions, so their errors carry through exactly, and it says how far
it may be off between and beyond them. How far a needle departs from its line, and how many open
ever more, is our own, no source; sizes were set on the virtual benches of the tests. For a
cone needle of seat D it follows from the frustum πx·sin a·(D − x·sin a·cos a).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from trackside.damper.flow import Floats

REACH = 1.0  # distance over which departures are alike, as a share of the measured range
_JITTER = 1e-8  # keeps the system solvable where positions are close together
_STEP = 1.0 / 128.0  # of the measured range, on the way from one measured position


@dataclass(frozen=True)
class Form:
    """A line in clicks to the `power`; departures from it as a share of the whole change, and how
    many adjusters are like that."""

    power: float
    departure: float
    share: float


STRAIGHT, BENT = Form(1.0, 0.28, 0.9), Form(1.5, 0.15, 0.1)
FORMS = (STRAIGHT, BENT)
OF_TWO = 0.55  # departure of a line that two positions alone tell


@dataclass(frozen=True)
class MeasuredLaw:
    """The law through `nodes`: measured positions, strictly rising, at least one.

    shares: how far each of `FORMS` is believed.
    """

    nodes: tuple[float, ...]
    shares: tuple[float, ...] = (1.0, 0.0)

    @property
    def range(self) -> float:
        """Distance between the outermost measured positions."""
        return self.nodes[-1] - self.nodes[0]

    def told_by(self, values: Floats, covariance: Floats) -> MeasuredLaw:
        """The law with the shares that the values (n,) speak for; covariance (n, n) is theirs."""
        size = float(np.ptp(values))
        if len(self.nodes) < 3 or size == 0.0:
            return self
        support = []
        for form, through in zip(FORMS, self._through, strict=True):
            blind, spread = through.blind
            spread = (form.departure * size) ** 2 * spread + blind @ covariance @ blind.T
            off = blind @ values
            squares = off @ np.linalg.solve(spread, off) + np.linalg.slogdet(spread)[1]
            support.append(np.log(form.share) - 0.5 * squares)
        shares = np.exp(np.array(support) - max(support))
        return replace(self, shares=tuple((shares / shares.sum()).tolist()))

    def weights(self, position: ArrayLike) -> Floats:
        """Weights (m, n) at m positions: the values there are weights @ node values.

        With one node the value is the same everywhere.
        """
        x = np.atleast_1d(np.asarray(position, float))
        if len(self.nodes) == 1:
            return np.ones((x.size, 1))
        told = zip(self.shares, self._through, strict=True)
        return np.sum([share * through.weights(x)[0] for share, through in told], axis=0)

    def doubt(self, position: ArrayLike, values: Floats) -> Floats:
        """Covariance (m, m) of the law's own error at m positions; zero at a node.

        In the square of the values' unit. With one node it is infinite elsewhere.
        """
        x = np.atleast_1d(np.asarray(position, float))
        if len(self.nodes) == 1:
            return np.diag(np.where(x == self.nodes[0], 0.0, np.inf))
        size, mean = float(np.ptp(values)), self.weights(x) @ values
        total = np.zeros((x.size, x.size))
        for form, share, through in zip(FORMS, self.shares, self._through, strict=True):
            departure = form.departure if len(self.nodes) > 2 else OF_TWO
            weights, alike = through.weights(x)
            off = weights @ values - mean
            total += share * ((departure * size) ** 2 * alike + np.outer(off, off))
        return total

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
        weights = self.weights(nodes[near] + step * np.arange(last_step + 2))
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

    @property
    def departure(self) -> Floats:
        """Rows R (n − 2, n): R @ values / size is standard normal for a law of this kind, of the
        straight form."""
        if len(self.nodes) < 3:
            return np.empty((0, len(self.nodes)))
        blind, spread = self._through[0].blind
        return np.linalg.solve(np.linalg.cholesky(spread), blind) / STRAIGHT.departure

    @cached_property
    def _through(self) -> tuple[_Through, ...]:
        return tuple(_Through(self.nodes, form.power) for form in FORMS)


@dataclass(frozen=True)
class _Through:
    """One form of the law through at least two nodes."""

    nodes: tuple[float, ...]
    power: float

    def weights(self, x: Floats) -> tuple[Floats, Floats]:
        """Weights (m, n) and how unsure the law is there, (m, m), for departures of size one."""
        n = len(self.nodes)
        cross = np.vstack([self._alike(x), self._line(x).T])
        solved = np.linalg.solve(self._system, cross)
        own = _bell(x[:, None] - x[None, :], REACH * self._range)
        weights, doubt = np.asarray(solved[:n].T), np.asarray(own - cross.T @ solved)
        exact, node = np.nonzero(x[:, None] == np.asarray(self.nodes))
        weights[exact] = np.eye(n)[node]
        doubt[exact, :] = doubt[:, exact] = 0.0
        return weights, doubt

    @cached_property
    def blind(self) -> tuple[Floats, Floats]:
        """Rows (n − 2, n) that see no line, and the covariance of what they see of a departure."""
        x = np.asarray(self.nodes)
        null = np.linalg.svd(self._line(x).T)[2][2:]
        return null, null @ self._alike(x) @ null.T + _JITTER * np.eye(x.size - 2)

    @property
    def _range(self) -> float:
        return self.nodes[-1] - self.nodes[0]

    def _line(self, x: Floats) -> Floats:
        part = x / self._range
        return np.column_stack([np.ones(x.size), np.sign(part) * np.abs(part) ** self.power])

    def _alike(self, x: Floats) -> Floats:
        return _bell(np.asarray(self.nodes)[:, None] - x[None, :], REACH * self._range)

    @cached_property
    def _system(self) -> Floats:
        x = np.asarray(self.nodes)
        line = self._line(x)
        top = np.hstack([self._alike(x) + _JITTER * np.eye(x.size), line])
        return np.vstack([top, np.hstack([line.T, np.zeros((2, 2))])])


def _bell(apart: Floats, reach: float) -> Floats:
    return np.exp(-0.5 * (apart / reach) ** 2)
