"""What a sheet says beyond the flow network: a Gaussian process on what the network misses.

A real valve is not the network. What it misses is a smooth function, of four kinds, each
an error of one thing with its effect on the force there:

- valve: the flow of stack and leak, by pressure; the same at all positions;
- needle: the bleed's discharge, by pressure and by how far it is open;
- shape: the force itself, by speed and by position;
- rub: friction in newtons, by speed.

Their sizes, and the bench's own scatter (a share of force, and newtons), are learned from the sheet
by marginal likelihood with the network's numbers integrated out (restricted likelihood; Fisher's
scoring), and with beliefs about the sizes: our own, no source; set on the virtual benches
of the tests. So the network is corrected where rows say so, and carries the force where none do.

Source of the linear algebra: universal kriging with a basis of the network's slopes, textbook.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from trackside.damper import solver
from trackside.damper.flow import Floats
from trackside.damper.network import Point

KINDS = ("valve", "needle", "shape", "rub")
_NOISES = ("run", "relative", "absolute")
# ln of the size before the rows speak, and how unsure that is: shares; newtons for rub and absolute
_BELIEVED = {
    "valve": (np.log(0.020), 1.3),
    "needle": (np.log(0.015), 1.3),
    "shape": (np.log(0.008), 1.1),
    "rub": (np.log(1.0), 0.6),
    "run": (np.log(0.004), 0.7),
    "relative": (np.log(0.015), 0.3),
    "absolute": (np.log(2.0), 0.35),
}
NAMES = (*KINDS, *_NOISES)
_MOST = np.log([0.25, 0.15, 0.06, 8.0, 0.04, 0.06, 12.0])
"""ln of the largest sizes: a sheet that asks for more has a run mixed up, and must not be followed
(our own, no source)."""


_PRESSURE = 0.35  # e-folds of pressure over which the valve errs alike
_DISCHARGE = 0.8  # and the needle
_OPENING = 1.0  # e-folds of bleed over which the needle errs alike
_SPEED = 0.9  # e-folds of speed over which the shape errs alike
_CLICKS = 0.25  # measured ranges over which it does
_RUB = 1.0  # e-folds of speed over which friction does
_SHUT = 0.05  # of the widest bleed: below it the needle is as good as shut
_STEPS = 12
_LADDER = 160  # pressures in a table
_TINY = 1e-9
_HUGE = 1e30


@dataclass(frozen=True)
class Places:
    """m points: ln pressure, ln speed, ln opening, clicks and ring in measured ranges, each (m,);
    effects (4, m): the scaled force that an error of size one of each kind makes."""

    pressure: Floats
    speed: Floats
    opening: Floats
    clicks: Floats
    ring: Floats
    effects: Floats

    @property
    def count(self) -> int:
        """How many points."""
        return self.pressure.size

    @property
    def one_run(self) -> np.ndarray:
        """Whether two points (n, n) are of one run."""
        return (self.clicks[:, None] == self.clicks) & (self.ring[:, None] == self.ring)


def opening(bleed: Floats, widest: float) -> Floats:
    """ln of a scaled bleed against the widest; nearly shut is as good as shut."""
    return np.log(np.maximum(bleed, 0.0) + _SHUT * max(widest, 1e-3))


def places(
    point: Point, speed: Floats, bleed: Floats, widest: float, clicks: Floats, ring: Floats
) -> Places:
    """The places of scaled points; bleed scaled, clicks and ring in measured ranges, all (m,)."""
    return Places(
        np.log(np.maximum(point.pressure, _TINY)),
        np.log(np.maximum(speed, _TINY)),
        opening(bleed, widest),
        np.broadcast_to(clicks, speed.shape),
        np.broadcast_to(ring, speed.shape),
        _effects(point, speed, bleed),
    )


def joined(every: list[Places]) -> Places:
    """The points of all, one after another."""
    names = ("pressure", "speed", "opening", "clicks", "ring")
    columns = {name: np.concatenate([getattr(one, name) for one in every]) for name in names}
    return Places(**columns, effects=np.concatenate([one.effects for one in every], axis=1))


def _square(apart: Floats) -> Floats:
    return np.exp(-0.5 * apart**2)


def _rough(apart: Floats) -> Floats:
    far = np.sqrt(3.0) * np.abs(apart)
    return (1.0 + far) * np.exp(-far)


def _effects(point: Point, speed: Floats, bleed: Floats) -> Floats:
    """The scaled force (4, m) that an error of size one of each kind makes."""
    return np.array(
        [
            point.by_flow * point.shared_flow,
            point.by_bleed * np.maximum(bleed, 0.0),
            point.force,
            (speed > 0.0) * 1.0,
        ]
    )


def alike(a: Places, b: Places) -> Floats:
    """Of each kind, the covariance (4, a, b) for errors of size one."""
    pressure = a.pressure[:, None] - b.pressure
    speed = a.speed[:, None] - b.speed
    opening = a.opening[:, None] - b.opening
    clicks, ring = a.clicks[:, None] - b.clicks, a.ring[:, None] - b.ring
    kinds = np.empty((len(KINDS), *pressure.shape))
    kinds[0] = _rough(pressure / _PRESSURE)
    kinds[1] = np.exp(-0.5 * ((pressure / _DISCHARGE) ** 2 + (opening / _OPENING) ** 2))
    kinds[2] = _rough(speed / _SPEED) * np.exp((clicks**2 + ring**2) * (-0.5 / _CLICKS**2))
    kinds[3] = _square(speed / _RUB)
    kinds *= a.effects[:, :, None]
    kinds *= b.effects[:, None, :]
    return kinds


@dataclass(frozen=True)
class Sizes:
    """ln of the sizes in `NAMES`' order; newtons are scaled to the sheet's `top` force (N)."""

    logs: Floats
    top: float

    @property
    def of(self) -> dict[str, float]:
        """Sizes by name: shares, and newtons over top."""
        scale = np.array([1.0, 1.0, 1.0, 1.0 / self.top, 1.0, 1.0, 1.0 / self.top])
        return dict(zip(NAMES, (np.exp(self.logs) * scale).tolist(), strict=True))

    def covariance(self, a: Places, b: Places) -> Floats:
        """Covariance (a, b) of the residual itself, without bench scatter."""
        return self.together(alike(a, b))

    def together(self, kinds: Floats) -> Floats:
        """The same from what is `alike` (4, a, b)."""
        of = self.of
        squares = np.array([of[name] ** 2 for name in KINDS])
        return np.asarray((squares @ kinds.reshape(len(KINDS), -1)).reshape(kinds.shape[1:]))

    def bench(self, at: Places, weights: Floats, lifts: Floats) -> Floats:
        """Covariance (n, n) of what the bench errs at n rows: each by itself, and every run as a
        whole; lifts (n,) are what the row's run may be off beyond others (share of force)."""
        force = at.effects[2]
        lifted = lifts * force
        runs = self.of["run"] ** 2 * np.outer(force, force) + np.outer(lifted, lifted)
        return at.one_run * runs + np.diag(self.noise(force) / weights)

    def noise(self, force: Floats) -> Floats:
        """Variance of the bench's scatter from row to row at scaled forces."""
        of, moving = self.of, force > 0.0
        return (of["relative"] * force) ** 2 + (of["absolute"] * moving) ** 2


def believed(top: float) -> Sizes:
    """The sizes before any row has spoken."""
    return Sizes(np.array([_BELIEVED[name][0] for name in NAMES]), top)


def unsure() -> Floats:
    """Standard deviation of ln of each size before any row has spoken."""
    return np.array([_BELIEVED[name][1] for name in NAMES])


@dataclass(frozen=True)
class Seen:
    """n rows with one set of the network's numbers: places, and slopes (n, p) of the force by
    those numbers."""

    at: Places
    slopes: Floats

    @cached_property
    def kinds(self) -> Floats:
        """What is `alike` among the rows (4, n, n)."""
        return alike(self.at, self.at)

    def total(self, sizes: Sizes, weights: Floats, lifts: Floats) -> Floats:
        """Covariance (n, n) of what the network misses and the bench errs."""
        return sizes.together(self.kinds) + sizes.bench(self.at, weights, lifts)


def learned(
    sizes: Sizes,
    seen: Seen,
    misses: Floats,
    wide: Floats,
    weights: Floats,
    lifts: Floats | float = 0.0,
) -> tuple[Sizes, float]:
    """Sizes that the rows speak for, and how unlikely the rows are then: −2 ln of their density
    and of that of the sizes, without its constant. misses (n,): of the network less its own
    numbers' pull.

    wide (p, p): the covariance of the numbers before the rows spoke; weights (n,) of the rows in
    (0, 1].
    """
    mean = np.array([_BELIEVED[name][0] for name in NAMES])
    hold = 1.0 / unsure() ** 2
    force, slopes, n = seen.at.effects[2], seen.slopes, misses.size
    runs = seen.at.one_run
    dense = len(KINDS) + 1
    parts = np.empty((dense, n, n))
    parts[:-1] = seen.kinds
    parts[3] /= sizes.top**2
    of_run = runs[:, np.unique(np.argmax(runs, axis=1))] * force[:, None]
    np.matmul(of_run, of_run.T, out=parts[-1])
    noises = np.array([force**2, np.full(n, sizes.top**-2.0)]) / weights
    lifted = np.broadcast_to(lifts, force.shape) * force
    fixed = slopes @ wide @ slopes.T + runs * np.outer(lifted, lifted)
    bordered = np.zeros((n + 1, n + 1))
    room = np.empty((2, dense, n * n))

    def look(logs: Floats) -> tuple[float, Floats]:
        square = np.exp(2.0 * logs)
        total = (square[:dense] @ parts.reshape(dense, -1)).reshape(n, n)
        total += fixed
        total.reshape(-1)[:: n + 1] += square[dense:] @ noises
        # the last row of the factor is the misses through it, so that one serves for both
        bordered[:n, :n], bordered[n, :n], bordered[n, n] = total, misses, _HUGE
        low = np.asarray(np.linalg.cholesky(bordered), float)
        cost = 2.0 * np.sum(np.log(np.diag(low)[:n])) + low[n, :n] @ low[n, :n]
        return float(cost + np.sum(hold * (logs - mean) ** 2)), low[:n, :n]

    def turn(logs: Floats, low: Floats) -> tuple[Floats, Floats]:
        inverse = solver.inverse(low)
        pull = inverse @ misses
        square = 2.0 * np.exp(2.0 * logs)
        spread, turned = room
        kinds = len(KINDS) * n
        np.matmul(parts[:-1].reshape(-1, n), inverse, out=spread.reshape(-1, n)[:kinds])
        np.matmul(of_run, of_run.T @ inverse, out=spread.reshape(-1, n)[kinds:])
        each = spread.reshape(dense, n, n)
        np.copyto(turned.reshape(dense, n, n), np.swapaxes(each, 1, 2))
        information = np.empty((len(logs), len(logs)))
        information[:dense, :dense] = spread @ turned.T
        # a noise is diagonal: its traces are sums over the rows
        crossed = np.einsum("kab,ab->kb", each, inverse) @ noises.T
        information[:dense, dense:], information[dense:, :dense] = crossed, crossed.T
        information[dense:, dense:] = noises @ inverse**2 @ noises.T
        gradient = np.concatenate(
            [
                np.trace(each, axis1=1, axis2=2) - (parts @ pull) @ pull,
                noises @ (np.diag(inverse) - pull**2),
            ]
        )
        information *= np.outer(square, square)
        return square * gradient + 2.0 * hold * (logs - mean), information + np.diag(2.0 * hold)

    logs = sizes.logs.copy()
    cost, low = look(logs)
    for _ in range(_STEPS):
        gradient, information = turn(logs, low)
        step = np.clip(np.linalg.solve(information, gradient), -1.0, 1.0)
        for _ in range(5):
            trial = look(np.minimum(logs - step, _MOST))
            if trial[0] < cost:
                break
            step = 0.4 * step
        else:
            break
        gained = cost - trial[0]
        logs, (cost, low) = np.minimum(logs - step, _MOST), trial
        if gained < 1e-2:
            break
    return replace(sizes, logs=logs), cost


@dataclass(frozen=True)
class Grid:
    """Positions (p,) by speeds (s,): scaled bleed, ln opening and clicks (measured ranges) of
    each position, ln speed; ring of all."""

    bleed: Floats
    opening: Floats
    clicks: Floats
    speed: Floats
    ring: float

    @property
    def shape(self) -> tuple[int, int]:
        """Positions by speeds."""
        return len(self.bleed), len(self.speed)


@dataclass(frozen=True)
class Residual:
    """The residual as learned at n rows, together with the network's numbers.

    pull (n,): inverse covariance times what the network misses; inverse (n, n) of the covariance of
    residual and scatter; slopes (n, p) of the network; free (p, p): covariance of its numbers.
    """

    at: Places
    sizes: Sizes
    pull: Floats
    inverse: Floats
    slopes: Floats
    free: Floats

    def mean(self, asked: Places) -> Floats:
        """What to add to the network's scaled force (m,)."""
        return self.sizes.covariance(asked, self.at) @ self.pull

    def mean_on(self, grid: Grid, point: Point) -> Floats:
        """The same on a grid (p·s,), whose points are given: each kind is a function of two things
        at most, so that a table of it is enough."""
        at, of, pull = self.at, self.sizes.of, self.pull
        rows = {
            kind: of[kind] ** 2 * effect * pull
            for kind, effect in zip(KINDS, at.effects, strict=True)
        }
        pressure = np.log(np.maximum(point.pressure, _TINY)).reshape(grid.shape)
        ladder = np.linspace(pressure.min(), pressure.max(), _LADDER)
        apart = ladder[:, None] - at.pressure
        valve = np.interp(pressure, ladder, _rough(apart / _PRESSURE) @ rows["valve"])
        opened = _square((grid.opening[:, None] - at.opening) / _OPENING) * rows["needle"]
        by_pressure = opened @ _square(apart / _DISCHARGE).T
        needle = np.array(
            [np.interp(p, ladder, known) for p, known in zip(pressure, by_pressure, strict=True)]
        )
        place = np.hypot(grid.clicks[:, None] - at.clicks, grid.ring - at.ring)
        swift = grid.speed[:, None] - at.speed
        shape = (_square(place / _CLICKS) * rows["shape"]) @ _rough(swift / _SPEED).T
        rub = np.broadcast_to(_square(swift / _RUB) @ rows["rub"], grid.shape)
        speed, bleed = np.tile(np.exp(grid.speed), len(grid.bleed)), grid.bleed.repeat(len(swift))
        effects = _effects(point, speed, bleed)
        return np.sum(
            [e * k.ravel() for e, k in zip(effects, (valve, needle, shape, rub), strict=True)],
            axis=0,
        )

    def covariance(self, asked: Places, slopes: Floats) -> Floats:
        """Covariance (m, m) of the force, numbers and residual together; slopes (m, p)."""
        shared = self.sizes.covariance(asked, self.at)
        told = shared @ self.inverse
        left = slopes - told @ self.slopes
        return np.asarray(
            self.sizes.covariance(asked, asked) - told @ shared.T + left @ self.free @ left.T
        )

    def runs_off(self, lifts: Floats) -> tuple[Floats, Floats]:
        """Of each row's run (n,): the share of force that it is off what all others say of it, and
        that in standard deviations of a run that is not lifted."""
        force = self.at.effects[2]
        runs = self.at.one_run * force
        both = runs @ self.inverse @ self.slopes
        told = np.sum((runs @ self.inverse) * runs, axis=1)
        told = np.maximum(told - np.sum((both @ self.free) * both, axis=1), 1e-30)
        seen = runs @ self.pull
        alone = np.maximum(1.0 - lifts**2 * told, 1e-9)
        return seen / told, seen / np.sqrt(told * alone)

    def strange(self, weights: Floats) -> Floats:
        """How far each row is off what all the others say of it, in standard deviations (n,) of
        what a row of full weight would be off."""
        both = self.inverse @ self.slopes
        alone = np.diag(self.inverse) - np.sum((both @ self.free) * both, axis=1)
        spread = 1.0 / np.maximum(alone, 1e-30)
        extra = self.sizes.noise(self.at.effects[2]) * (1.0 / weights - 1.0)
        return np.asarray(self.pull * spread / np.sqrt(np.maximum(spread - extra, 1e-30)))
