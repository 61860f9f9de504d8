"""Corners driven over a road in time: the true, bent curve, the bump stop, a tyre that lifts.

x′ = A·x + Bf·f(v) + Bw·w, with w the road's vertical velocity. The linear part steps exactly
(matrix exponential); the damper's force in a step is that at the step's mean speed v = a + b·f,
b < 0, which has one root for any rising curve (implicit midpoint). Stop and lift are taken at the
step's middle, foretold from its start. The road is cut in pieces that run side by side, each begun
a while before on the same road. Axes as in `quarter_car`: v > 0 in rebound, travel d > 0 extended.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from trackside.corner.quarter_car import DamperAtWheel, QuarterCar
from trackside.corner.wheel import Floats
from trackside.errors import BadNumber

STEP = 1e-3
"""s."""
LEAD = 2.0
"""s that each piece is begun before it counts."""
PIECE = 2.0
"""s of a piece, about."""
FEWEST = 8
"""Pieces from which a spread can be told."""
_CELLS = 4096
_REPORT = 100  # steps between two reports
_TRAVEL, _BODY, _STRETCH, _WHEEL = range(4)


@dataclass(frozen=True)
class StopAtWheel:
    """A bump stop at the wheel: wheel travel in bump from static (m), the first where it starts to
    work, and its force there (N), (n,) each, 0 at the first; on past the last by its last slope."""

    travel: Floats
    force: Floats

    def at(self, bump: Floats) -> Floats:
        """Force (N) at wheel travels in bump (m)."""
        slope = (self.force[-1] - self.force[-2]) / (self.travel[-1] - self.travel[-2])
        beyond = np.maximum(bump - self.travel[-1], 0.0) * slope
        return np.interp(bump, self.travel, self.force) + beyond


@dataclass(frozen=True)
class Lane:
    """A corner that is driven over the road: its damper has one curve."""

    corner: QuarterCar
    damper: DamperAtWheel
    stop: StopAtWheel | None = None


@dataclass(frozen=True)
class Driven:
    """What the road did, a row a lane and a column a piece of the road: mean squares of the body's
    acceleration (m²/s⁴), of the tyre's load about static (N²) and of the travel (m²); mean travel
    (m, below zero down); the damper's power (W); shares of time off the ground and on the stop.
    `least` is the least load of the tyre (N), a number a lane; `seconds` what counted, `step` the
    step (s)."""

    body: Floats
    tyre: Floats
    square_travel: Floats
    mean_travel: Floats
    power: Floats
    aloft: Floats
    stopped: Floats
    least: Floats
    seconds: float
    step: float

    @property
    def body_rms(self) -> Floats:
        """m/s², (lanes,)."""
        return np.sqrt(self.body.mean(axis=1))

    @property
    def tyre_rms(self) -> Floats:
        """N, (lanes,)."""
        return np.sqrt(self.tyre.mean(axis=1))

    @property
    def travel_rms(self) -> Floats:
        """m about its mean, (lanes,)."""
        mean = self.mean_travel.mean(axis=1)
        return np.sqrt(np.maximum(self.square_travel.mean(axis=1) - mean**2, 0.0))

    @property
    def pump_down(self) -> Floats:
        """m, (lanes,): how far below static the body rides on average."""
        return -self.mean_travel.mean(axis=1)


@dataclass(frozen=True)
class Step:
    """The difference of two rms values, b less a, and the 95 % spread that this road leaves it."""

    change: float
    spread: float

    @property
    def told(self) -> bool:
        """Whether the road can tell the two apart."""
        return abs(self.change) > self.spread


def step_between(a: Floats, b: Floats) -> Step:
    """Mean squares of two lanes on the same pieces of road, (pieces,) each: the step of their rms.
    With fewer pieces than FEWEST the spread is inf."""
    from scipy.stats import t as student

    before, after = np.sqrt(a.mean()), np.sqrt(b.mean())
    change = float(after - before)
    if a.size < FEWEST:
        return Step(change, np.inf)
    each = (b - a) / max(before + after, 1e-300)
    error = float(np.std(each, ddof=1)) / np.sqrt(a.size)
    return Step(change, float(student.ppf(0.975, a.size - 1)) * error)


def lead_steps(step: float = STEP) -> int:
    """So many steps of road stand before the part that counts."""
    return round(LEAD / step)


def drive(
    lanes: Sequence[Lane],
    velocity: Floats,
    step: float = STEP,
    pieces: int | None = None,
    going: Callable[[float], bool] | None = None,
) -> Driven | None:
    """The lanes over one road: its mean vertical velocity (m/s) in each step (s), the first LEAD s
    not counted. `going` hears the share that is done, 0 to 1, and stops it with False: None then.
    BadNumber for a road without anything beyond its lead.
    """
    lead = lead_steps(step)
    counted = velocity.size - lead
    if not lanes or counted < 1:
        raise BadNumber("there is no road to drive on", "give a longer one")
    pieces = pieces or max(1, round(counted * step / PIECE))
    length = counted // pieces
    if length < 1:
        raise BadNumber("the road has fewer steps than pieces", "give a longer one")
    starts = np.arange(pieces) * length
    road = velocity[starts[:, None] + np.arange(lead + length)].T.copy()
    return _Drive(lanes, step, pieces).over(road, lead, going)


class _Drive:
    """The step's matrices and tables of all lanes, (lanes, 4 or 5, …), and the driving itself."""

    def __init__(self, lanes: Sequence[Lane], step: float, pieces: int) -> None:
        made = [_matrices(lane.corner, step) for lane in lanes]
        self.lanes, self.step, self.pieces = lanes, step, pieces
        self.state, self.by_road, self.by_damper, self.by_tyre = (
            np.array([one[n] for one in made]) for n in range(4)
        )
        tables = [
            _table(lane.damper, float(b[4, 0]))
            for lane, b in zip(lanes, self.by_damper, strict=True)
        ]
        self.first = np.array([t[0] for t in tables])[:, None]
        self.per_cell = 1.0 / np.array([t[1] for t in tables])[:, None]
        self.value = np.array([t[2][:-1] for t in tables]).ravel()
        self.rise = np.array([np.diff(t[2]) for t in tables]).ravel()
        self.row = (np.arange(len(lanes)) * _CELLS)[:, None]
        column = [lane.corner for lane in lanes]
        self.mass, self.rate, self.tyre, self.static = (
            np.array([[getattr(c, name)] for c in column])
            for name in ("sprung", "rate", "tyre", "static")
        )
        contacts = [lane.stop.travel[0] if lane.stop else np.inf for lane in lanes]
        self.contact = -np.array(contacts)[:, None]

    def over(self, road: Floats, lead: int, going: Callable[[float], bool] | None) -> Driven | None:
        shape = (len(self.lanes), self.pieces)
        x = np.zeros((shape[0], 4, shape[1]))
        body, tyre, square, mean, power, aloft, stopped = (np.zeros(shape) for _ in range(7))
        least, half = np.full(shape, np.inf), self.step / 2.0
        lift_at, steps = self.static / self.tyre, road.shape[0]
        for n in range(steps):
            if n % _REPORT == 0 and going is not None and not going(n / steps):
                return None
            ahead = self.state @ x + self.by_road * road[n]
            middle = x[:, _TRAVEL] + half * (x[:, _BODY] - x[:, _WHEEL])
            pushed = None
            if (middle < self.contact).any():
                pushed = self._pushed(middle)
                ahead -= self.by_damper * pushed[:, None]
            stretched = x[:, _STRETCH] + half * (x[:, _WHEEL] - road[n])
            if (stretched > lift_at).any():
                lifted = self.tyre * np.maximum(stretched - lift_at, 0.0)
                ahead += self.by_tyre * lifted[:, None]
            force = self._force(ahead[:, 4])
            x_next = ahead[:, :4] + self.by_damper[:, :4] * force[:, None]
            if n >= lead:
                travel = (x[:, _TRAVEL] + x_next[:, _TRAVEL]) / 2.0
                whole = self.rate * travel + force
                if pushed is not None:
                    whole -= pushed
                    stopped += pushed > 0.0
                body += whole * whole
                load = -self.tyre * x_next[:, _STRETCH]
                np.maximum(load, -self.static, out=load)
                tyre += load * load
                np.minimum(least, load, out=least)
                aloft += load <= -self.static
                square += travel * travel
                mean += travel
                power += force * (ahead[:, 4] + self.by_damper[:, 4] * force)
            x = x_next
        count = steps - lead
        if going is not None:
            going(1.0)
        return Driven(
            body / self.mass**2 / count,
            tyre / count,
            square / count,
            mean / count,
            power / count,
            aloft / count,
            stopped / count,
            least.min(axis=1) + self.static[:, 0],
            count * self.pieces * self.step,
            self.step,
        )

    def _force(self, free: Floats) -> Floats:
        """The damper's force for the mean speed that the step would have without it."""
        at = (free - self.first) * self.per_cell
        cell = np.clip(at, 0.0, _CELLS - 1.0).astype(np.intp)
        flat = cell + self.row
        return np.asarray(self.value[flat] + (at - cell) * self.rise[flat])

    def _pushed(self, middle: Floats) -> Floats:
        """What the stops push (N)."""
        pushed = np.zeros_like(middle)
        for n, lane in enumerate(self.lanes):
            if lane.stop is not None:
                pushed[n] = lane.stop.at(-middle[n])
        return pushed


def _matrices(corner: QuarterCar, step: float) -> tuple[Floats, Floats, Floats, Floats]:
    """What the next state, and in a fifth row the mean damper speed, take from the state (5, 4),
    the road's velocity, the damper's force and the tyre's lift (5, 1) each."""
    from scipy.linalg import expm

    ms, mu, k, kt = corner.sprung, corner.unsprung, corner.rate, corner.tyre
    whole = np.zeros((7, 7))
    whole[_TRAVEL, [_BODY, _WHEEL]] = 1.0, -1.0
    whole[_BODY, [_TRAVEL, 5]] = -k / ms, -1.0 / ms
    whole[_STRETCH, [_WHEEL, 4]] = 1.0, -1.0
    whole[_WHEEL, [_TRAVEL, _STRETCH, 5, 6]] = k / mu, -kt / mu, 1.0 / mu, 1.0 / mu
    after = expm(whole * step)[:4]
    mean = (np.eye(4, 7) + after)[[_BODY, _WHEEL]] / 2.0
    both = np.vstack([after, mean[0] - mean[1]])
    return both[:, :4], both[:, 4:5], both[:, 5:6], both[:, 6:7]


def _table(damper: DamperAtWheel, by_force: float) -> tuple[float, float, Floats]:
    """The damper's force over the mean speed that a step would have without it, at _CELLS + 1 even
    speeds: the first (m/s), the cell (m/s) and the forces (N)."""
    free = damper.speed - by_force * damper.force
    even = np.linspace(free[0], free[-1], _CELLS + 1)
    return float(even[0]), float(even[1] - even[0]), np.interp(even, free, damper.force)
