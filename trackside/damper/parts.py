"""No sheet and no shop figure: a curve calculated from what is inside the damper.

Disc stack by plate theory (`stack`), preload from seat step less spacer, ports, bleed
and needle as orifices. Left out: leakage, friction, what the jet does to the discs, the stretching
of far-bent discs; most of that makes the true force higher, so the band reaches further up than
down. Its widths were chosen on dampers of our own invention, made from parts, and hold on others
of them (`tests/benchmarks/test_parts_bands.py`); no source outside.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from trackside.damper.basis import Basis
from trackside.damper.curve import Difference, DiscLimits, DiscRemark, Prediction
from trackside.damper.flow import Floats, FlowPath, flow_coefficient, force_at
from trackside.damper.stack import Give, Stack, give
from trackside.errors import BadNumber

OIL_DENSITY = 850.0  # kg/m³ where the oil's own is unknown: a light damper oil, from memory
DISCHARGE = 0.7  # of short passages and disc edges; our own, no source

# Standard deviations: of ln of each coefficient, and of what the theory leaves out.
_COEFFICIENT_DOUBT = {"bleed": 0.12, "crack": 0.12, "opening": 0.15, "port": 0.1}
_HEIGHT_DOUBT = 0.015e-3  # m of seat step less spacer: a careful hand with a depth gauge
_LESS, _MORE = 0.09, 0.12  # of ln force
_STRETCH_DOUBT = 0.05  # of ln force, upwards, for each `linear_to` that the force is beyond one,
_STRETCH_MOST = 0.75  # and no more than this
_FRICTION_DOUBT = 9.0  # N, upwards: seals and bushes, and small holes at a creep
_STEP_LESS, _STEP_MORE = 0.22, 0.42  # of the change that clicks make
_OWN_DOUBT = 0.1  # of each force when two builds are compared: thickness and height as measured
_REACH = 1.96
_HEIGHTS = (_HEIGHT_DOUBT, -_HEIGHT_DOUBT)


@dataclass(frozen=True)
class Needle:
    """A cone in a round seat: seat diameter m, half angle rad, lift per click m."""

    seat: float
    half_angle: float
    lift: float

    def __post_init__(self) -> None:
        if not (self.seat > 0.0 and 0.0 < self.half_angle < np.pi / 2.0 and self.lift > 0.0):
            raise BadNumber(
                "a needle needs a seat, a half angle between 0° and 90° and a lift per click",
                "check the needle's figures",
            )

    def area(self, position_from_hard: ArrayLike) -> Floats:
        """Open area (m²) so many clicks from shut: πx·sin a·(D − x·sin a·cos a), at most the bore.

        The frustum square to the cone: form A = π(a + r)s read in a poppet text; the true least
        area is up to 0.1 % smaller. Worked example: 3 mm, 15°, 0.5 mm: 1.16884 mm².
        """
        x = np.asarray(position_from_hard, float) * self.lift
        sine, cosine = np.sin(self.half_angle), np.cos(self.half_angle)
        bore = np.pi / 4.0 * self.seat**2
        full = self.seat / (2.0 * sine * cosine)  # beyond it the cone is clear of the bore
        x = np.clip(x, 0.0, full)
        return np.minimum(np.pi * x * sine * (self.seat - x * sine * cosine), bore)


@dataclass(frozen=True)
class ValveParts:
    """One direction of a piston; lengths m, areas m². What is None is not fitted.

    piston_area: piston less rod; stack and seat: discs and the diameter of the edge they lift
    from; preload: seat step less spacer, negative when the discs stand off the seat;
    port_area: all ports of the direction; pressed_area: face of the discs that the oil presses on
    while they are shut (None: the ports' own); load: diameter of the ring where it does (None:
    the seat); bleed_area: slots and holes that are always open; ring_lift: preload that a click of
    the preload ring takes off, the sizes being those with the ring full hard (None: no ring, or
    its lift is unknown).
    """

    piston_area: float
    stack: Stack | None
    seat: float
    preload: float
    port_area: float
    pressed_area: float | None = None
    load: float | None = None
    bleed_area: float = 0.0
    needle: Needle | None = None
    ring_lift: float | None = None
    discharge: float = DISCHARGE
    density: float = OIL_DENSITY

    def __post_init__(self) -> None:
        sizes = (self.piston_area, self.seat, self.port_area, self.pressed, self.discharge)
        if not all(0.0 < size < np.inf for size in (*sizes, self.density)):
            raise BadNumber("a size of the piston is zero or less", "check piston, seat and ports")
        if self.bleed_area < 0.0:
            raise BadNumber("the bleed area is below zero", "check the slots and holes")
        if self.stack is None and not (self.bleed_area or self.needle):
            raise BadNumber("no oil passes: no discs, no bleed", "enter the stack or the bleed")

    @property
    def pressed(self) -> float:
        """The face (m²) that the oil presses on."""
        return self.pressed_area or self.port_area

    @property
    def give(self) -> Give | None:
        """How the stack gives to one newton of oil on it."""
        return give(self.stack, self.load or self.seat, self.seat) if self.stack else None


def path_from_parts(parts: ValveParts, position_from_hard: float = 0.0) -> FlowPath:
    """The flow path so many clicks from full hard, where the needle is shut.

    crack = preload / lift per newton, seen at the piston; opening: π·seat·lift per newton as an
    orifice; port and bleed by `flow_coefficient`. Derived. Discs that stand off the seat have no
    crack force, and their gap is bleed.
    """

    def coefficient(area: float) -> float:
        return float(flow_coefficient(area, parts.piston_area, parts.density, parts.discharge))

    edge = np.pi * parts.seat
    standing_off = edge * max(-parts.preload, 0.0) if parts.stack else 0.0
    area = parts.bleed_area + standing_off
    if parts.needle:
        area += float(parts.needle.area(position_from_hard))
    found, share = parts.give, parts.pressed / parts.piston_area
    lift = found.seat * share if found else 0.0  # m per newton of damping force
    crack = max(parts.preload, 0.0) / lift if found else 0.0
    port = coefficient(parts.port_area)
    return FlowPath(0.0, coefficient(area), crack, coefficient(edge * lift), port)


@dataclass(frozen=True)
class PartsCurve:
    """A direction known from its parts; answers like a fitted one, basis "from parts"."""

    parts: ValveParts

    @property
    def positions(self) -> tuple[float, ...]:
        """None: no bench is behind the parts."""
        return ()

    preloads = positions

    @property
    def takes_preload(self) -> bool:
        """Whether a click of the preload ring is known."""
        return self.parts.ring_lift is not None

    def basis(self, position_from_hard: float, preload_from_hard: float | None = None) -> Basis:
        """From the parts, wherever the adjusters stand."""
        return Basis.FROM_PARTS

    def path(self, position_from_hard: float, preload_from_hard: float | None = None) -> FlowPath:
        """The flow path at a position."""
        return path_from_parts(self.at_ring(preload_from_hard).parts, position_from_hard)

    def at_ring(self, preload_from_hard: float | None) -> PartsCurve:
        """The curve with the preload ring so many clicks from full hard; None is full hard. A ring
        lets the stack go and never lifts it off its seat: preload ends at nothing (a judgement)."""
        lift, preload = self.parts.ring_lift, self.parts.preload
        if not lift or not preload_from_hard or preload <= 0.0:
            return self
        left = max(preload - lift * preload_from_hard, 0.0)
        return PartsCurve(replace(self.parts, preload=left))

    def predict(
        self,
        position_from_hard: float,
        speeds: ArrayLike,
        preload_from_hard: float | None = None,
        viscosity_ratio: float = 1.0,
        density_ratio: float = 1.0,
    ) -> Prediction:
        """Force at speeds (m/s); the band reaches further up than down."""
        speed = np.atleast_1d(np.asarray(speeds, float))
        oil = viscosity_ratio, density_ratio
        curve = self.at_ring(preload_from_hard)
        force, other = curve._doubted(position_from_hard, speed, *oil)
        shift = np.log(np.divide(other, force, out=np.ones_like(other), where=force > 0.0))
        less, more = _sides(shift)
        low = force * np.exp(-_REACH * np.sqrt(less + _LESS**2))
        up = force * np.expm1(_REACH * np.sqrt(more + _MORE**2 + curve._stretch(force) ** 2))
        high = force + np.hypot(up, _REACH * _FRICTION_DOUBT)
        return Prediction(speed, force, low, high, Basis.FROM_PARTS)

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
        """Force at b less force at a: a wrong coefficient is wrong in both."""
        a, b = self.at_ring(preload_a), self.at_ring(preload_b)
        oil = viscosity_ratio, density_ratio
        return revalved(a, position_a, b, position_b, speeds, *oil, one_damper=True)

    @property
    def limits(self) -> DiscLimits:
        """Up to which damping forces the theory of the discs holds: see `stack.SAFE_STRESS`."""
        stack, found = self.parts.stack, self.parts.give
        remarks = (
            (DiscRemark.SECOND_STAGE, bool(stack and stack.crossover)),
            (DiscRemark.STANDING_OFF, bool(stack) and self.parts.preload < 0.0),
        )
        told = tuple(remark for remark, holds in remarks if holds)
        if found is None:
            return DiscLimits(np.inf, np.inf, told)
        return DiscLimits(found.linear_to * self._seen, found.safe_to * self._seen, told)

    @property
    def _seen(self) -> float:
        return self.parts.piston_area / self.parts.pressed

    def _stretch(self, force: Floats) -> Floats:
        """How much, of ln force, the discs may be stiffer for stretching."""
        beyond = np.maximum(force / self.limits.linear_to - 1.0, 0.0)
        return np.minimum(_STRETCH_DOUBT * beyond, _STRETCH_MOST)

    def _doubted(self, position: float, speed: Floats, *oil: float) -> tuple[Floats, Floats]:
        """Force (n,), and (6, n) with each coefficient in turn, then the height, a standard
        deviation larger, and the height smaller."""
        path = self.path(position)
        heights = [replace(self.parts, preload=self.parts.preload + h) for h in _HEIGHTS]
        paths = [path_from_parts(parts, position) for parts in heights]
        larger = np.exp(np.diag(list(_COEFFICIENT_DOUBT.values())))
        rows = {
            name: [value, *(value * larger[:, n]), *(float(getattr(p, name)) for p in paths)]
            for n, name in enumerate(_COEFFICIENT_DOUBT)
            for value in [float(getattr(path, name))]
        }
        wrong = {name: np.array(row)[:, None] for name, row in rows.items()}
        every = force_at(speed[None, :], FlowPath(path.leak, **wrong), *oil)
        return every[0], every[1:]


def _sides(off: Floats) -> tuple[Floats, Floats]:
    """Variances (n,) below and above from deviations (6, n): a coefficient's is as likely either
    way, the two heights stand for their own side."""
    both, heights = np.sum(off[:-2] ** 2, axis=0), off[-2:]
    down, up = np.minimum(heights, 0.0), np.maximum(heights, 0.0)
    return both + np.sum(down**2, axis=0), both + np.sum(up**2, axis=0)


def revalved(
    before: PartsCurve,
    position_before: float,
    after: PartsCurve,
    position_after: float,
    speeds: ArrayLike,
    viscosity_ratio: float = 1.0,
    density_ratio: float = 1.0,
    one_damper: bool = False,
) -> Difference:
    """Force of one build less that of another (N): what is wrong in both alike cancels; more of it
    does where both are `one_damper`, measured once. The band reaches further towards the larger
    change."""
    speed, oil = np.atleast_1d(np.asarray(speeds, float)), (viscosity_ratio, density_ratio)
    a, wrong_a = before._doubted(position_before, speed, *oil)
    b, wrong_b = after._doubted(position_after, speed, *oil)
    change, way = b - a, np.sign(b - a)
    less, more = _sides((wrong_b - wrong_a - change) * np.where(way == 0.0, 1.0, way))
    own = 0.0 if one_damper or before.parts == after.parts else _OWN_DOUBT
    stretch = np.maximum(before._stretch(a), after._stretch(b))
    less = less + _STEP_LESS**2 * change**2 + own**2 * (a**2 + b**2)
    more = more + (_STEP_MORE + 2.0 * stretch) ** 2 * change**2 + own**2 * (a**2 + b**2)
    less, more = -_REACH * np.sqrt(less), _REACH * np.sqrt(more)
    low, high = np.where(way < 0.0, -more, less), np.where(way < 0.0, -less, more)
    percent = 100.0 * np.divide(change, a, out=np.zeros_like(a), where=a > 0.0)
    return Difference(speed, change, percent, change + low, change + high, Basis.FROM_PARTS)
