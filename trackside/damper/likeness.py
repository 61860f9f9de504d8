"""How far dampers of one model differ, and the curve of one whose parts are a little off.

Eight parts may be off at once: how much the needle opens, the bleed that is always open, where the
needle is zeroed, the crack force, the stack, the port, the leak and the seal's friction. Their
spread is our own, without a source, set on a tuning half of the tests' benches; how far a
crew's own dampers really differ is learned from them as one factor (`factor`).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property

import numpy as np

from trackside.damper.flow import Floats, FlowPath, force_at
from trackside.damper.sheet_fit import DirectionFit
from trackside.errors import NoEstimate


class Kind(StrEnum):
    """What a sister shares: valving and needle, or the needle alone."""

    MODEL = "model"
    NEEDLE = "needle"


# Standard deviations: needle, base bleed, zero (clicks), crack, stack, port, leak, friction; of ln,
# but for the zero.
SPREAD = {
    Kind.MODEL: np.array([0.035, 0.2, 0.2, 0.17, 0.2, 0.06, 0.35, 0.35]),
    Kind.NEEDLE: np.array([0.035, 0.3, 0.25, 0.5, 0.6, 0.15, 0.5, 0.5]),
}
REMAINDER = 0.012
"""Standard deviation of ln force that no part explains."""
REMAINDER_REACH = (0.3, 0.8)
"""Over which it is alike: a share of the measured range, and of ln speed."""
FACTOR_DOUBT = 0.4
"""Standard deviation of ln of the factor, before a crew's sisters speak."""
_PATH = ("leak", "bleed", "crack", "opening", "port", "knee")
_STEP = 0.05  # of a standard deviation, for slopes
_FACTORS = np.geomspace(0.3, 3.5, 41)


@dataclass(frozen=True)
class Variant:
    """One sister's curve with its parts off by `delta` (8,), as ln force on positions × speeds."""

    fit: DirectionFit
    preload: float | None
    _known: dict[float, FlowPath] = field(default_factory=dict, repr=False, compare=False)

    def log_force(self, positions: Floats, speed: Floats) -> Floats:
        """ln force (m·n,) of the sister as she is. NoEstimate where she tells nothing."""
        found = [self.fit.predict(float(p), speed, self._ring).force for p in positions]
        return np.log(np.maximum(np.concatenate(found), 1e-3))

    def doubt(self, positions: Floats, speed: Floats) -> Floats:
        """Standard deviation (m·n,) of her own ln force, without bench scatter."""
        deviations = []
        for p in positions:
            found = self.fit.predict(float(p), speed, self._ring)
            half = (found.high - found.low) / (3.92 * np.maximum(found.force, 1e-3))
            bench = self.fit.scatter(found.force) / np.maximum(found.force, 1e-3)
            deviations.append(np.sqrt(np.maximum(half**2 - bench**2, 0.0)))
        return np.concatenate(deviations)

    def moved(self, positions: Floats, speed: Floats, deltas: Floats) -> Floats:
        """ln of force with parts off by `deltas` (d, 8) over force as she is, (d, m·n)."""
        deltas = np.vstack([np.zeros(8), deltas])
        path = self._off(positions, deltas.T[:, :, None, None])
        force = force_at(speed[None, None, :], path) + self.fit.friction * np.exp(
            deltas[:, 7, None, None]
        )
        logs = np.log(np.maximum(force, 1e-3)).reshape(len(deltas), -1)
        return logs[1:] - logs[0]

    def path(self, position: float, delta: Floats) -> FlowPath:
        """Her flow path at a position with its parts off by `delta` (8,)."""
        path = self._off(np.array([position]), delta[:, None, None, None])
        return FlowPath(**{name: float(np.asarray(getattr(path, name)).item()) for name in _PATH})

    def _off(self, positions: Floats, deltas: Floats) -> FlowPath:
        """Paths (d, m, 1) at positions, parts off by deltas (8, d, 1, 1)."""
        paths = [self._path(float(p)) for p in positions]
        leak, bleed, crack, opening, port, knee = (
            np.array([float(np.asarray(getattr(path, name))) for path in paths])[None, :, None]
            for name in _PATH
        )
        needle, base, zero, of_crack, of_stack, of_port, of_leak, _ = deltas
        least = self._closed
        slope = np.array([self._slope(float(p)) for p in positions])[None, :, None]
        opened = np.maximum(bleed - least, 0.0) * np.exp(needle) + slope * zero
        return FlowPath(
            leak * np.exp(of_leak),
            np.maximum(opened + least * np.exp(base), 1e-12),
            crack * np.exp(of_crack),
            opening * np.exp(of_stack),
            port * np.exp(of_port),
            knee * np.exp(of_crack),
        )

    def slopes(self, positions: Floats, speed: Floats, delta: Floats, spread: Floats) -> Floats:
        """d ln force / d delta (m·n, 8) at `delta`."""
        steps = np.diag(_STEP * spread)
        found = self.moved(positions, speed, np.vstack([delta, delta + steps]))
        return ((found[1:] - found[0]) / (_STEP * spread)[:, None]).T

    @property
    def _ring(self) -> float | None:
        if len(self.fit.preloads) == 1:
            return None
        return self.preload if self.preload is not None else self.fit.preloads[0]

    def _path(self, position: float) -> FlowPath:
        if position not in self._known:
            self._known[position] = self.fit.path(position, self._ring)
        return self._known[position]

    def _bleed(self, position: float) -> float:
        return float(np.asarray(self._path(position).bleed))

    @cached_property
    def _closed(self) -> float:
        """The bleed that is always open: that at full hard, or at the hardest position known."""
        try:
            return min(self._bleed(0.0), self._bleed(self.fit.positions[0]))
        except NoEstimate:
            return self._bleed(self.fit.positions[0])

    def _slope(self, position: float) -> float:
        """Bleed gained per click there, no less than a tenth of the mean."""
        nodes = self.fit.positions
        mean = (self._bleed(nodes[-1]) - self._bleed(nodes[0])) / (nodes[-1] - nodes[0])
        try:
            here = 0.5 * (self._bleed(position + 1.0) - self._bleed(max(position - 1.0, 0.0)))
        except NoEstimate:
            here = mean
        return max(here, 0.1 * mean)


def alike(one: Floats, other: Floats, reach: float) -> Floats:
    """Correlation of what no part explains, between points (m, 2) of position and ln speed."""
    apart = (one[:, None, :] - other[None, :, :]) / np.array(
        [REMAINDER_REACH[0] * reach, REMAINDER_REACH[1]]
    )
    return np.asarray(np.exp(-0.5 * np.sum(apart**2, axis=2)))


def factor(curves: Floats, shape: Floats, noise: Floats, doubt: float = FACTOR_DOUBT) -> float:
    """How far k curves (k, m) differ, as a factor on the standard deviations of `shape` (m, m).

    Restricted likelihood of the curves' differences, covariance factor²·shape + noise, with ln
    factor normal about 0 beforehand; the square root of the mean of factor² is given. With one
    curve nothing is learned. `doubt` infinite leaves the likelihood alone, and gives its maximum.
    Source: REML of a mixed model with one variance; tests compare it with statsmodels.
    """
    off = curves - curves.mean(axis=0)
    flat = not np.isfinite(doubt)
    tries = np.geomspace(0.01, 30.0, 4001) if flat else _FACTORS
    root = np.linalg.inv(np.linalg.cholesky(noise))
    values, vectors = np.linalg.eigh(root @ shape @ root.T)
    squares = np.sum((off @ root.T @ vectors) ** 2, axis=0)
    spread = np.maximum(values, 0.0) * tries[:, None] ** 2 + 1.0
    support = -0.5 * np.sum((len(curves) - 1) * np.log(spread) + squares / spread, axis=1)
    if flat:
        return float(tries[np.argmax(support)])
    support -= 0.5 * (np.log(tries) / doubt) ** 2
    shares = np.exp(support - support.max())
    return float(np.sqrt(np.sum(shares * tries**2) / shares.sum()))
