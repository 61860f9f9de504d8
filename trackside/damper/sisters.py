"""One damper's curve from those of its sisters: of one model and needle, or of one needle alone.

Each sister's curve is bent, part by part, until it runs through the positions that the damper
itself was measured at, as likely as sisters differ that way (`likeness`); the rest of the curve
then comes with it. What the bending leaves over is carried along in ln force (Gaussian process).
Several sisters are averaged by how well each can know. With no position of its own the damper is
the sisters' mean.

    family = Family("rebound", own, (Sister("A", fit_a), Sister("B", fit_b)))
    family.predict(12, [0.025, 0.1])

The band: what the damper's own positions leave open, the sisters' mean, the click law between the
sisters' measured positions, the bench's scatter. How far these sisters differ is learned from them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from trackside.damper import advice, bands
from trackside.damper.basis import Basis, weakest
from trackside.damper.curve import Curve, Difference, Prediction
from trackside.damper.estimation import ABSOLUTE, RELATIVE
from trackside.damper.flow import Floats, FlowPath
from trackside.damper.likeness import REMAINDER, SPREAD, Kind, Variant, alike, factor
from trackside.damper.sheet_fit import DirectionFit
from trackside.errors import NoEstimate

ENOUGH = 3
"""So many positions of its own tell a damper's click law without sisters."""
OWN_SCATTER = 0.007
"""Standard deviation of ln force of a fitted curve where it was measured."""
RUN_GAIN = 0.006
"""The same of a bench run as a whole."""
STRANGER = 2.2
"""A sister that misses by more of its own standard deviations is none."""
STRANGER_SHARE = 0.08
"""Nor is one refused that misses by less (rms of ln force)."""
_REACH = 1.96
_STEPS = 3  # of Gauss and Newton
_CURVE = 8  # speeds at which a measured curve is held
_SPEEDS = (0.013, 0.5)  # m/s


@dataclass(frozen=True)
class Sister:
    """A damper of the same model and needle, or the needle alone; `name` as a crew calls it."""

    name: str
    fit: DirectionFit
    kind: Kind = Kind.MODEL


@dataclass(frozen=True)
class Stranger:
    """What a damper that is called a sister missed by when it was foretold (rms of ln force), and
    the standard deviation that it might have missed by."""

    name: str
    miss: float
    expected: float

    @property
    def times(self) -> float:
        """How many of the standard deviations it missed by."""
        return self.miss / self.expected

    @property
    def strange(self) -> bool:
        """Whether it missed by too much for a sister."""
        return self.times > STRANGER and self.miss > STRANGER_SHARE


@dataclass(frozen=True)
class NextRun:
    """One bench run at a position (clicks from full hard): the mean half band of the force, as a
    share of it, before and after."""

    position: float
    before: float
    after: float

    @property
    def is_worth(self) -> bool:
        """Whether the bands would narrow by enough to fire up the bench for it."""
        return self.after <= (1.0 - advice.WORTH) * self.before


@dataclass(frozen=True)
class _Joint:
    """ln force on positions × speeds, (m·n,), and its covariance without bench scatter."""

    mean: Floats
    covariance: Floats


@dataclass(frozen=True)
class _Bent:
    """A sister's curve with its parts off by `delta` (8,), spread as given; the damper's own points
    (m, 2), the slopes there, the inverse of their covariance, and that times what is left."""

    variant: Variant
    spread: Floats
    range: float
    share: float
    delta: Floats
    points: Floats
    slopes: Floats
    inverse: Floats
    left: Floats
    stretch: float = 1.0
    """What the variance grows by where the bending leaves more than it should."""


@dataclass(frozen=True)
class Family:
    """A damper known through its sisters; answers like a fitted one, basis "from sisters" where
    it was not measured itself. own: its own fit, or None; at: its own positions that count
    (default: all). NoEstimate without a sister that was measured at two positions or more."""

    direction: str
    own: DirectionFit | None
    sisters: tuple[Sister, ...]
    at: tuple[float, ...] | None = None
    strict: bool = False
    """Take usual differences for granted, whatever these sisters show: for proving them."""
    _known: dict[tuple[str, float | None], _Bent] = field(
        default_factory=dict, repr=False, compare=False
    )
    _trusted: dict[str, float] = field(default_factory=dict, repr=False, compare=False)

    def __post_init__(self) -> None:
        if not any(len(sister.fit.positions) > 1 for sister in self.sisters):
            raise NoEstimate(
                f"no sister was measured at two {self.direction} positions or more",
                "run one of them at three positions or more",
            )

    @property
    def positions(self) -> tuple[float, ...]:
        """The damper's own measured positions, clicks from full hard."""
        if self.own is None:
            return ()
        return self.own.positions if self.at is None else self.at

    @property
    def preloads(self) -> tuple[float, ...]:
        """The preload positions of its own sheet, else of the first sister's."""
        return (self.own or self.sisters[0].fit).preloads

    @property
    def takes_preload(self) -> bool:
        """Whether that bench varied the preload adjuster."""
        return len(self.preloads) > 1

    @property
    def limits(self) -> None:
        """None: sisters were on a bench."""

    def basis(self, position_from_hard: float, preload_from_hard: float | None = None) -> Basis:
        """How a force at this position is known."""
        if self._by_itself(position_from_hard):
            assert self.own is not None
            return self.own.basis(position_from_hard, preload_from_hard)
        return Basis.FROM_SISTERS

    def predict(
        self,
        position_from_hard: float,
        speeds: ArrayLike,
        preload_from_hard: float | None = None,
        viscosity_ratio: float = 1.0,
        density_ratio: float = 1.0,
    ) -> Prediction:
        """Force at speeds (m/s); [low, high] holds 95 % of new bench points.

        At its own measured positions the damper answers for itself. NoEstimate where no sister
        reaches."""
        speed = np.atleast_1d(np.asarray(speeds, float))
        oil = viscosity_ratio, density_ratio
        if self._by_itself(position_from_hard):
            assert self.own is not None
            return self.own.predict(position_from_hard, speed, preload_from_hard, *oil)
        moving = speed > 0.0
        found = self._joint((position_from_hard,), speed[moving], preload_from_hard)
        force = np.exp(found.mean) * self._by_oil(position_from_hard, speed[moving], oil)
        bench = self._scatter * np.hypot(RELATIVE, ABSOLUTE / force)
        reach = _REACH * np.sqrt(np.diag(found.covariance) + bench**2)
        low, middle, high = (np.zeros_like(speed) for _ in range(3))
        middle[moving] = force
        low[moving], high[moving] = bands.around(force, reach * force)
        return Prediction(speed, middle, low, high, Basis.FROM_SISTERS)

    def force(
        self,
        position_from_hard: float,
        speeds: ArrayLike,
        preload_from_hard: float | None = None,
    ) -> Floats:
        """Force (n,) of `predict`, without its band."""
        return self.predict(position_from_hard, speeds, preload_from_hard).force

    def difference(
        self,
        position_a: float,
        position_b: float,
        speeds: ArrayLike,
        preload_a: float | None = None,
        preload_b: float | None = None,
        viscosity_ratio: float = 1.0,
        density_ratio: float = 1.0,
    ) -> Difference:
        """Force at position b less force at position a; what both share cancels."""
        speed = np.atleast_1d(np.asarray(speeds, float))
        oil = viscosity_ratio, density_ratio
        if self._by_itself(position_a) and self._by_itself(position_b):
            assert self.own is not None
            return self.own.difference(position_a, position_b, speed, preload_a, preload_b, *oil)
        if preload_a != preload_b:
            raise NoEstimate(
                "sisters tell of the bleed adjuster, and the preload differs",
                "compare at one position of the preload adjuster",
            )
        moving = speed > 0.0
        places = (position_a, position_b)
        found = self._joint(places, speed[moving], preload_a)
        n = int(moving.sum())
        by_oil = np.concatenate([self._by_oil(p, speed[moving], oil) for p in places])
        force = np.exp(found.mean) * by_oil
        every = np.diag(found.covariance)
        shared = np.diag(found.covariance[:n, n:])
        first, last = force[:n], force[n:]
        variance = first**2 * every[:n] + last**2 * every[n:] - 2.0 * first * last * shared
        half = _REACH * np.sqrt(np.maximum(variance, 0.0))
        change, band, percent = np.zeros_like(speed), np.zeros_like(speed), np.zeros_like(speed)
        change[moving], band[moving] = last - first, half
        percent[moving] = 100.0 * (last - first) / first
        basis = weakest(self.basis(position_a), self.basis(position_b))
        return Difference(speed, change, percent, change - band, change + band, basis)

    def path(self, position_from_hard: float, preload_from_hard: float | None = None) -> FlowPath:
        """The flow path at a position: its own, or that of the most trusted sister, bent."""
        if self._by_itself(position_from_hard):
            assert self.own is not None
            return self.own.path(position_from_hard, preload_from_hard)
        best = max(self._told, key=lambda sister: self._trust(sister, preload_from_hard))
        bent = self._bend(best, preload_from_hard)
        return bent.variant.path(position_from_hard, bent.delta)

    @cached_property
    def factor(self) -> float:
        """How far these sisters differ, over how far dampers of one model usually do."""
        same = [s for s in self._told if s.kind is Kind.MODEL]
        if len(same) < 2 or self.strict:
            return 1.0
        first = max(min(s.fit.positions) for s in same)
        last = min(max(s.fit.positions) for s in same)
        if first >= last:
            return 1.0
        places, speed = np.linspace(first, last, 4), self._curve_speeds(same[0].fit)
        variant = Variant(same[0].fit, None)
        curves = np.array([Variant(s.fit, None).log_force(places, speed) for s in same])
        spread = SPREAD[Kind.MODEL]
        slopes = variant.slopes(places, speed, np.zeros(8), spread) * spread
        points = _points(places, speed)
        shape = slopes @ slopes.T + REMAINDER**2 * alike(points, points, last - first)
        noise = _noise(curves[0], points)
        noise += max(_poor(s.fit) for s in same) ** 2 * alike(points, points, last - first)
        return factor(curves, shape, noise)

    def strangers(self) -> tuple[tuple[Sister, ...], tuple[Stranger, ...]]:
        """The sisters that are ones, and those that are none: each is foretold from every other
        and one position of its own, and goes if half of them or more fail; the worst goes first.
        Two that contradict each other both go, unless the damper's own positions side with one."""
        left = list(self._told)
        out: list[Stranger] = []
        seen = {(a.name, b.name): _foretold(a, b) for a in left for b in left if a is not b}
        while len(left) > 1:
            found = [
                _lower_median([seen[one.name, o.name] for o in left if o is not one])
                for one in left
            ]
            worst = max(found, key=lambda stranger: stranger.times)
            if not worst.strange:
                break
            if len(left) == 2 and not self.positions:
                return (), (*out, *found)
            if len(left) == 2:
                worst = max(map(self._against, left), key=lambda stranger: stranger.times)
            out.append(worst)
            left = [one for one in left if one.name != worst.name]
        by_own = {one.name: self._against(one) for one in left} if self.positions else {}
        out += [stranger for stranger in by_own.values() if stranger.strange]
        gone = {stranger.name for stranger in out}
        return tuple(one for one in left if one.name not in gone), tuple(out)

    def next_run(
        self, positions: Sequence[float], speeds: ArrayLike, clicks: float | None = None
    ) -> NextRun | None:
        """The one position whose run would narrow the mean band at `positions` and `speeds` most;
        None where the damper is known by itself there."""
        asked = tuple(p for p in positions if not self._by_itself(p))
        speed = np.atleast_1d(np.asarray(speeds, float))
        if not asked:
            return None
        nodes = [p for s in self._told for p in s.fit.positions]
        last = max(nodes) if clicks is None else float(clicks)
        tried = sorted({*asked, *(round(float(p)) for p in np.linspace(min(nodes), last, 5))})
        tried = [p for p in tried if p not in self.positions]
        every = (*asked, *tried)
        found = self._joint(every, speed, None)
        size, asked_size = speed.size, len(asked) * speed.size
        force = np.exp(found.mean)
        bench = (RELATIVE**2 + (ABSOLUTE / force) ** 2)[:asked_size]
        before = np.sqrt(np.diag(found.covariance)[:asked_size] + bench)
        best = None
        points = _points(np.array(every), speed)
        noise = _noise(found.mean, points)
        for k, place in enumerate(tried, start=len(asked)):
            run = slice(k * size, (k + 1) * size)
            to = found.covariance[:asked_size, run]
            seen = found.covariance[run, run] + noise[run, run]
            left = np.diag(found.covariance)[:asked_size] - np.sum(
                to * np.linalg.solve(seen, to.T).T, axis=1
            )
            after = np.sqrt(np.maximum(left, 0.0) + bench)
            if best is None or after.mean() < best[1].mean():
                best = place, after
        if best is None:
            return None
        return NextRun(
            float(best[0]), float(_REACH * before.mean()), float(_REACH * best[1].mean())
        )

    def _by_itself(self, position: float) -> bool:
        if self.own is None:
            return False
        if position in self.positions:
            return True
        inside = self.positions[0] <= position <= self.positions[-1]
        return len(self.positions) >= ENOUGH and inside

    @property
    def _told(self) -> tuple[Sister, ...]:
        return tuple(s for s in self.sisters if len(s.fit.positions) > 1)

    @property
    def _scatter(self) -> float:
        return (self.own or self.sisters[0].fit).found.scatter

    def _by_oil(self, position: float, speed: Floats, oil: tuple[float, float]) -> Floats:
        """Force with the oil as it is over force with the sheet's, by a sister's path."""
        if oil == (1.0, 1.0):
            return np.ones_like(speed)
        fit = self._told[0].fit
        ring = fit.preloads[0] if len(fit.preloads) > 1 else None
        here, there = (fit.predict(position, speed, ring, *o).force for o in (oil, (1.0, 1.0)))
        return here / there

    def _curve_speeds(self, fit: DirectionFit) -> Floats:
        return np.geomspace(max(fit.slowest, _SPEEDS[0]), min(fit.fastest, _SPEEDS[1]), _CURVE)

    def _joint(self, positions: Sequence[float], speed: Floats, preload: float | None) -> _Joint:
        """ln force at positions × speeds from all sisters that reach them."""
        found, reached = [], []
        reasons: list[NoEstimate] = []
        for sister in self._told:
            try:
                bent = self._bend(sister, preload)
                found.append(_from_one(bent, np.array(positions, float), speed))
                reached.append(sister)
            except NoEstimate as reason:
                reasons.append(reason)
        if not found:
            raise reasons[0]
        shares = np.array([self._trust(sister, preload) for sister in reached])
        shares /= shares.sum()
        mean = np.sum([w * one.mean for w, (one, _) in zip(shares, found, strict=True)], axis=0)
        total = np.zeros((mean.size, mean.size))
        places = np.repeat(np.array(positions, float), speed.size)
        same = np.exp(-0.5 * ((places[:, None] - places[None, :]) / 2.0) ** 2)
        for share, (one, doubt) in zip(shares, found, strict=True):
            # half of the difference is the damper's own, half the sister's, which many average out
            total += 0.5 * (share + share**2) * one.covariance
            total += share * np.outer(doubt, doubt) * same
        return _Joint(mean, total)

    def _trust(self, sister: Sister, preload: float | None) -> float:
        """How far a sister is believed: one over her mean variance across her own positions."""
        if sister.name not in self._trusted:
            nodes = np.array(sister.fit.positions)
            speed = self._curve_speeds(sister.fit)[::3]
            one, doubt = _from_one(self._bend(sister, preload), nodes, speed)
            self._trusted[sister.name] = float(1.0 / np.mean(np.diag(one.covariance) + doubt**2))
        return self._trusted[sister.name]

    def _bend(self, sister: Sister, preload: float | None) -> _Bent:
        """The sister's parts turned until her curve runs through the damper's own positions."""
        key = sister.name, preload
        if key in self._known:
            return self._known[key]
        variant = Variant(sister.fit, preload)
        spread = np.hypot(SPREAD[Kind.MODEL], SPREAD[sister.kind]) * self.factor
        range_ = sister.fit.positions[-1] - sister.fit.positions[0]
        delta, at = np.zeros(8), np.array(self.positions)
        share = 2.0 * (self.factor * REMAINDER) ** 2 + _poor(sister.fit) ** 2
        if self.own is not None:
            share += _poor(self.own) ** 2
        nothing = np.empty((0, 0))
        bent = _Bent(variant, spread, range_, share, delta, nothing, nothing, nothing, nothing)
        if at.size:
            assert self.own is not None
            speed = self._curve_speeds(self.own)
            ring = preload if len(self.own.preloads) > 1 else None
            seen = np.log(np.concatenate([self.own.predict(p, speed, ring).force for p in at]))
            points = _points(at, speed)
            base, doubt = variant.log_force(at, speed), variant.doubt(at, speed)
            noise = _noise(seen, points) + share * alike(points, points, range_)
            noise += np.outer(doubt, doubt) * (points[:, None, 0] == points[None, :, 0])
            for _ in range(_STEPS + 1):
                slopes = variant.slopes(at, speed, delta, spread) * spread
                off = seen - base - variant.moved(at, speed, delta[None, :])[0]
                inverse = np.linalg.inv(slopes @ slopes.T + noise)
                left = inverse @ (off + slopes @ (delta / spread))
                bent = replace(
                    bent, delta=delta, points=points, slopes=slopes, inverse=inverse, left=left
                )
                delta = np.clip(slopes.T @ left, -4.0, 4.0) * spread
            misses = float(off @ inverse @ off) / off.size
            bent = replace(bent, stretch=1.0 if self.strict else max(misses, 1.0))
        self._known[key] = bent
        return bent

    def _against(self, sister: Sister) -> Stranger:
        """The damper's own positions from that sister: all but one, or its one position."""
        assert self.own is not None
        rest = self.positions[:-1]
        held = Family(self.direction, self.own if rest else None, (sister,), rest, strict=True)
        speed = self._curve_speeds(self.own)
        last = self.positions[-1:]
        found = held._joint(last, speed, None)
        seen = np.log(self.own.predict(last[0], speed, None).force)
        return _stranger(sister.name, seen - found.mean, found.covariance)


def _from_one(bent: _Bent, positions: Floats, speed: Floats) -> tuple[_Joint, Floats]:
    variant, spread = bent.variant, bent.spread
    asked = _points(positions, speed)
    level = variant.log_force(positions, speed)
    there = variant.slopes(positions, speed, bent.delta, spread) * spread
    own = bent.share * alike(asked, asked, bent.range)
    cover = there @ there.T + own
    if bent.points.size:
        across = bent.share * alike(asked, bent.points, bent.range)
        to = there @ bent.slopes.T + across
        level = level + variant.moved(positions, speed, bent.delta[None, :])[0]
        level = level + across @ bent.left
        cover = bent.stretch * (cover - to @ bent.inverse @ to.T)
    return _Joint(level, cover), variant.doubt(positions, speed)


def _foretold(one: Sister, other: Sister) -> Stranger:
    """A sister from another and the middle one of its own positions."""
    nodes = one.fit.positions
    middle = nodes[len(nodes) // 2]
    family = Family(one.fit.direction, one.fit, (other,), (middle,), strict=True)
    speed = family._curve_speeds(one.fit)
    rest = [p for p in nodes if p != middle]
    found = family._joint(rest, speed, None)
    seen = Variant(one.fit, None).log_force(np.array(rest), speed)
    return _stranger(one.name, seen - found.mean, found.covariance)


def _lower_median(found: list[Stranger]) -> Stranger:
    return sorted(found, key=lambda stranger: stranger.times)[(len(found) - 1) // 2]


def _stranger(name: str, off: Floats, covariance: Floats) -> Stranger:
    expected = np.sqrt(np.mean(np.diag(covariance)) + OWN_SCATTER**2)
    return Stranger(name, float(np.sqrt(np.mean(off**2))), float(expected))


def _poor(fit: DirectionFit) -> float:
    """What a fit misses of its own rows beyond the bench's scatter, as a share of force."""
    return float(np.sqrt(max((0.01 * fit.rms_percent) ** 2 - RELATIVE**2, 0.0)))


def _points(positions: Floats, speed: Floats) -> Floats:
    """Positions and ln speeds (m·n, 2) of every pair."""
    return np.column_stack([
        np.repeat(positions, speed.size),
        np.tile(np.log(speed), positions.size),
    ])  # fmt: skip


def _noise(logs: Floats, points: Floats) -> Floats:
    """Covariance of a measured curve's error in ln force: each speed, and each run as a whole."""
    each = OWN_SCATTER**2 + (0.5 * ABSOLUTE * np.exp(-logs)) ** 2
    run = points[:, None, 0] == points[None, :, 0]
    return np.asarray(np.diag(each) + RUN_GAIN**2 * run)


def mean_half_band(curve: Curve, positions: Sequence[float], speeds: ArrayLike) -> float:
    """The mean half band of the force, as a share of it, at positions (clicks from full hard) and
    speeds (m/s) above zero."""
    found = [curve.predict(position, speeds) for position in positions]
    return float(np.mean([(f.high - f.low) / (2.0 * f.force) for f in found]))
