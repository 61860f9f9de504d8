"""A rebuilt damper: its parts' curve, with what the bench said of the build before put in.

The bench's forces of the old build say how far its bleed, needle, discs, ports and seals are from
what its parts give (least squares with a prior on each). Those of the body, the piston and the oil
hold for the next build; discs and spacer are other ones, so only a share of theirs does. The curve
of the new parts is then calculated with that, and what the flow network missed on the bench is
carried along, as a share of the force, at the same position and rod speed.

The widths were chosen on dampers of our own invention that were taken apart and put together
again (`tests/benchmarks/test_forecast_bands.py`, seeds 200,000 to 200,299), and hold on others of
them; no source outside.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trackside.damper.basis import Basis, weakest
from trackside.damper.curve import Difference, Prediction
from trackside.damper.flow import Floats, FlowPath, flow_coefficient
from trackside.damper.parts import PartsCurve, ValveParts
from trackside.damper.plates import LINEAR
from trackside.damper.sheet_fit import DirectionFit

_NAMES = ("bleed", "needle", "height", "lift", "discs", "port", "friction", "stretch")
"""What may be off: ln of the area of bleed, needle, disc edge and ports; m of seat step less
spacer; ln of the lift per newton; N of the seals; ln of how much stiffer far-bent discs get."""
_FIRST = np.array([0.0, 0.0, 0.0, -0.03, 0.0, 0.0, 10.0, np.log(0.5)])
_DOUBT = np.array([0.09, 0.09, 15e-6, 0.15, 0.08, 0.1, 6.0, 0.7])
_HEIGHT = np.eye(_FIRST.size)[2]
_LEAK = 1e-6  # (m/s)/N past a piston's band, where the parts say nothing of it
_NEW_DISCS, _NEW_HEIGHT, _NEW_BLEED = 0.7, 0.75, 0.95
"""How far what was off in the old build is off again in the new one, where that part is another."""
_FAR_DISCS = 0.88  # the same, of discs that bend far: what stiffens them goes with the stack
_USUAL = 2.0  # of these doubts: what is off by more is as far off again, as with a wrong figure
_SEALS = 0.3  # of the seals' friction: by how much it is another after a strip-down
_BENCH = 0.03  # of the force: what a bench point and a flow network miss of one another
_MISSED = 0.03  # of the force: what is not in any of these
_STEP_MISSED = 0.08  # of the change that clicks make: the same
_REACH = 1.96
_TURNS, _POINTS = 8, 10
_FORCES = np.geomspace(0.1, 3e5, 400)  # N: where the speed is calculated, to be read the other way


@dataclass(frozen=True)
class CalibratedCurve:
    """One direction of a build that was never on the bench, its damper having been there in another
    build with parts on record. `off`: what is off in the new build (8,), with its covariance
    (8, 8); `rest`: ln of bench over network (positions, speeds) of the old one."""

    bench: DirectionFit
    now: PartsCurve
    off: Floats
    covariance: Floats
    speeds: Floats
    rest: Floats

    @property
    def positions(self) -> tuple[float, ...]:
        """The bench's measured positions of the bleed adjuster."""
        return self.bench.positions

    @property
    def preloads(self) -> tuple[float, ...]:
        """The bench's measured positions of the preload adjuster."""
        return self.bench.preloads

    @property
    def takes_preload(self) -> bool:
        """Whether a click of the preload ring is known, from its lift."""
        return self.now.takes_preload

    @property
    def limits(self) -> None:
        """None: the discs of the other build were on a bench."""

    def basis(self, position_from_hard: float, preload_from_hard: float | None = None) -> Basis:
        """The bench's at this position, and no firmer than parts."""
        return weakest(self.bench.basis(position_from_hard), Basis.FROM_PARTS)

    def predict(
        self,
        position_from_hard: float,
        speeds: ArrayLike,
        preload_from_hard: float | None = None,
        viscosity_ratio: float = 1.0,
        density_ratio: float = 1.0,
    ) -> Prediction:
        """Force at speeds (m/s); [low, high] should hold 95 % of new bench points."""
        v = np.atleast_1d(np.asarray(speeds, float))
        oil = viscosity_ratio, density_ratio
        force, lower, higher, rest = self._at(position_from_hard, v, preload_from_hard, *oil)
        less, more = (
            np.sqrt(_square(slope, self.covariance) + _MISSED**2 + 0.3 * rest**2)
            for slope in (lower, higher)
        )
        low, high = force * np.exp(-_REACH * less), force * np.exp(_REACH * more)
        return Prediction(v, force, low, high, self.basis(position_from_hard))

    def force(
        self,
        position_from_hard: float,
        speeds: ArrayLike,
        preload_from_hard: float | None = None,
    ) -> Floats:
        """Force (n,) of `predict`, without its band."""
        v = np.atleast_1d(np.asarray(speeds, float))
        parts = self.now.at_ring(preload_from_hard).parts
        here = _ln_force(parts, self.off, (position_from_hard,), v)[0]
        return np.where(v > 0.0, np.exp(here + self._rest(position_from_hard, v)), 0.0)

    def difference(
        self,
        position_a: float,
        position_b: float,
        speeds: ArrayLike,
        preload_a: float | None = None,
        preload_b: float | None = None,
    ) -> Difference:
        """Force at b less force at a: what is off is off in both."""
        v = np.atleast_1d(np.asarray(speeds, float))
        a, lower_a, higher_a, rest_a = self._at(position_a, v, preload_a)
        b, lower_b, higher_b, rest_b = self._at(position_b, v, preload_b)
        change = b - a
        sides = (b * lower_b - a * lower_a, b * higher_b - a * higher_a)
        spread = np.sqrt(
            np.maximum(*(_square(side, self.covariance) for side in sides))
            + (_STEP_MISSED * change) ** 2
            + 0.3 * (b * rest_b - a * rest_a) ** 2
        )
        percent = 100.0 * np.divide(change, a, out=np.zeros_like(a), where=a > 0.0)
        basis = weakest(self.basis(position_a), self.basis(position_b))
        reach = _REACH * spread
        return Difference(v, change, percent, change - reach, change + reach, basis)

    def path(self, position_from_hard: float, preload_from_hard: float | None = None) -> FlowPath:
        """The flow path with what is off in it; discs that stretch and friction are not."""
        return _path(self.now.at_ring(preload_from_hard).parts, self.off, position_from_hard)

    def _at(
        self,
        position: float,
        v: Floats,
        ring: float | None,
        viscosity_ratio: float = 1.0,
        density_ratio: float = 1.0,
    ) -> tuple[Floats, Floats, Floats, Floats]:
        """Force (n,), slopes of ln force by each thing that is off (8, n), towards less of it and
        towards more, and the rest (n,)."""
        parts = self.now.at_ring(ring).parts
        oil = viscosity_ratio, density_ratio
        here, slope = _slopes(parts, self.off, (position,), v, *oil)
        by = float(np.sqrt(self.covariance[2, 2]))
        lower, higher = slope[:, 0].copy(), slope[:, 0].copy()
        for side, sign in ((lower, -1.0), (higher, 1.0)):
            # discs that stand off their seat bleed at once: the two ways are not alike
            moved = _ln_force(parts, self.off + sign * by * _HEIGHT, (position,), v, *oil) - here
            side[2] = sign * moved[0] / by
        rest = self._rest(position, v)
        # a rod that does not move makes no force, whatever the logarithm says of it
        return np.where(v > 0.0, np.exp(here[0] + rest), 0.0), lower, higher, rest

    def _rest(self, position: float, v: Floats) -> Floats:
        """As on the bench there; at the nearest that it ran, elsewhere."""
        at_speed = np.array([np.interp(v, self.speeds, row) for row in self.rest])
        where = np.asarray(self.positions)
        return np.array([np.interp(position, where, column) for column in at_speed.T])


def calibrated(bench: DirectionFit, was: PartsCurve, now: PartsCurve) -> CalibratedCurve:
    """The curve of the parts `now`, carried by the bench of the build that had the parts `was`."""
    v = np.geomspace(bench.slowest, bench.fastest, _POINTS)
    ring = bench.preloads[0] if bench.takes_preload else None
    parts, where = was.at_ring(ring).parts, bench.positions
    measured = np.log([bench.predict(at, v, ring).force for at in where])
    off, covariance = _what_is_off(parts, where, v, measured)
    rest = measured - _ln_force(parts, off, where, v)
    again = _again(was.parts, now.parts)
    doubt = _DOUBT**2 * (1.0 - again**2)
    doubt[6] = (_SEALS * off[6]) ** 2
    return CalibratedCurve(
        bench,
        now,
        off - (1.0 - again) * np.clip(off - _FIRST, -_USUAL * _DOUBT, _USUAL * _DOUBT),
        again[:, None] * covariance * again + np.diag(doubt),
        v,
        rest,
    )


def _again(was: ValveParts, now: ValveParts) -> Floats:
    """How far each thing that was off is off again."""
    discs, far = (1.0, 1.0) if was.stack == now.stack else (_NEW_DISCS, _FAR_DISCS)
    return np.array([
        1.0 if was.bleed_area == now.bleed_area else _NEW_BLEED,
        1.0 if was.needle == now.needle else _NEW_BLEED,
        1.0 if (was.preload, was.stack) == (now.preload, now.stack) else _NEW_HEIGHT,
        discs,
        1.0,
        1.0 if was.port_area == now.port_area else _NEW_BLEED,
        1.0,
        far,
    ])  # fmt: skip


def _what_is_off(
    parts: ValveParts, where: tuple[float, ...], v: Floats, measured: Floats
) -> tuple[Floats, Floats]:
    """The most likely of what is off, and its covariance: Gauss-Newton with a normal prior."""
    off, one = _FIRST.copy(), np.eye(_FIRST.size)
    for turn in range(_TURNS + 1):
        here, slope = _slopes(parts, off, where, v)
        scaled = (slope * _DOUBT[:, None, None]).reshape(off.size, -1)
        inverse = np.linalg.inv(scaled @ scaled.T / _BENCH**2 + one)
        if turn == _TURNS:
            break
        pull = scaled @ (measured - here).ravel() / _BENCH**2 - (off - _FIRST) / _DOUBT
        off = off + _DOUBT * np.clip(inverse @ pull, -1.0, 1.0)
        off[6] = max(off[6], 0.0)
    return off, _DOUBT[:, None] * inverse * _DOUBT


def _square(slope: Floats, covariance: Floats) -> Floats:
    """Variance (n,) of what has these slopes (8, n)."""
    return np.einsum("kn,kl,ln->n", slope, covariance, slope)


def _slopes(
    parts: ValveParts, off: Floats, where: tuple[float, ...], v: Floats, *oil: float
) -> tuple[Floats, Floats]:
    """ln force (positions, n), and its slopes (8, positions, n)."""
    rows = []
    for step in np.diag(0.3 * _DOUBT):
        more, less = (_ln_force(parts, off + s, where, v, *oil) for s in (step, -step))
        rows.append((more - less) / (2.0 * step.sum()))
    return _ln_force(parts, off, where, v, *oil), np.array(rows)


def _ln_force(
    parts: ValveParts,
    off: Floats,
    where: tuple[float, ...],
    v: Floats,
    viscosity_ratio: float = 1.0,
    density_ratio: float = 1.0,
) -> Floats:
    """ln of the force (positions, n): speed is explicit in force, and is read the other way."""
    _, _, height, lift, discs, port, friction, _ = off
    preload = max(parts.preload + height, 0.0)
    valve = np.zeros_like(_FORCES)
    if parts.stack:
        edge = _coefficient(parts, np.pi * parts.seat) * np.exp(discs)
        open_ = edge * np.maximum(_lifts(parts, lift, off[-1]) - preload, 0.0)
        choke = _coefficient(parts, parts.port_area) * np.exp(port)
        valve = open_ * choke / np.hypot(open_, choke)
    root = np.sqrt(_FORCES * density_ratio)
    known = np.log(_FORCES)
    slow = np.log(np.maximum(v, 1e-9))
    rows = [
        np.interp(slow, np.log((small + valve) * root + _LEAK * viscosity_ratio * _FORCES), known)
        for small in _bleeds(parts, off, where)
    ]
    return np.log(np.exp(rows) + max(friction, 0.0))


def _lifts(parts: ValveParts, lift: float, stretch: float) -> Floats:
    """How far (m) the oil bends the stack at the seat at each of `_FORCES`, from flat. A disc that
    bends by w thicknesses carries 1 + s·w² of what plate theory gives it: the form of the exact
    answers for large deflection (Timoshenko: from memory); s is among what the bench calibrates."""
    found = parts.give
    assert found is not None
    share = parts.pressed / parts.piston_area
    straight = LINEAR * np.exp(lift) * share / found.linear_to * _FORCES  # in thicknesses
    s = float(np.exp(stretch))
    bent = np.minimum(straight, np.cbrt(straight / s))
    for _ in range(10):
        bent = bent - (bent + s * bent**3 - straight) / (1.0 + 3.0 * s * bent**2)
    return np.asarray(bent * found.seat * found.linear_to / LINEAR)


def _bleeds(parts: ValveParts, off: Floats, where: tuple[float, ...]) -> Iterator[float]:
    """The coefficient of all that is always open, at each position."""
    gap = np.pi * parts.seat * max(-parts.preload - off[2], 0.0) if parts.stack else 0.0
    always = _coefficient(parts, parts.bleed_area + gap) * np.exp(off[0])
    for at in where:
        area = float(parts.needle.area(at)) if parts.needle else 0.0
        yield float(always + _coefficient(parts, area) * np.exp(off[1]))


def _path(parts: ValveParts, off: Floats, position: float) -> FlowPath:
    (bleed,) = _bleeds(parts, off, (position,))
    found = parts.give
    if found is None:
        return FlowPath(_LEAK, bleed, 0.0, 0.0)
    each = found.seat * parts.pressed / parts.piston_area * np.exp(off[3])
    return FlowPath(
        _LEAK,
        bleed,
        max(parts.preload + off[2], 0.0) / each,
        _coefficient(parts, np.pi * parts.seat) * np.exp(off[4]) * each,
        _coefficient(parts, parts.port_area) * np.exp(off[5]),
    )


def _coefficient(parts: ValveParts, area: float) -> float:
    return float(flow_coefficient(area, parts.piston_area, parts.density, parts.discharge))
