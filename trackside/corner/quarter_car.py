"""A corner on a random road: body, tyre, travel and pump-down, with no simulation.

Two masses, a spring and a tyre spring, linear; the damper's curve may be bent. On a white road
velocity of intensity S the tyre spring takes in kt·S/2 and only the damper gives it off, so for
every curve E[f(v)·v] = kt·S/2 (Itô's formula; derived, and set against simulation in the tests).
With the damper's speed taken as Gaussian (statistical linearisation) that one equation gives its
rms, and the damper that does as much work, c = E[f·v]/E[v²]; the closed forms of a straight damper
give the rest (derived from the Lyapunov equation). All at the wheel: m, N, s, kg. v > 0 and f > 0
in rebound. Tyre damping, friction in the joints and the gas's own rate are left out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trackside.corner.road import Road
from trackside.corner.wheel import Floats
from trackside.errors import BadNumber
from trackside.units import GRAVITY

_SPREADS = np.geomspace(1e-4, 30.0, 64)  # m/s, where the search for the rms speed starts
_ROUNDS = 12


@dataclass(frozen=True)
class QuarterCar:
    """A corner: sprung and unsprung mass (kg), wheel rate and tyre rate (N/m), all above zero."""

    sprung: float
    unsprung: float
    rate: float
    tyre: float

    def __post_init__(self) -> None:
        figures = (self.sprung, self.unsprung, self.rate, self.tyre)
        if not all(0.0 < figure < np.inf for figure in figures):
            raise BadNumber("masses and rates of a corner must be above zero", "enter all four")

    @property
    def static(self) -> float:
        """What the tyre carries at rest (N)."""
        return (self.sprung + self.unsprung) * GRAVITY


@dataclass(frozen=True)
class DamperAtWheel:
    """Straight lines through points, and on past both ends: wheel speed (n,) rising (m/s), force
    (..., n) not falling (N), a curve in each row; rebound is positive. Raises BadNumber else."""

    speed: Floats
    force: Floats

    def __post_init__(self) -> None:
        if self.speed.ndim != 1 or self.speed.size < 2 or not np.all(np.diff(self.speed) > 0.0):
            raise BadNumber("a damper's curve needs two or more speeds, rising", "add speeds")
        falling = np.any(np.diff(self.force, axis=-1) < 0.0)
        if self.force.shape[-1:] != self.speed.shape or not np.all(np.isfinite(self.force)):
            raise BadNumber("a damper's curve needs a force at each speed", "add forces")
        if falling:
            raise BadNumber("the damper's force falls as its speed rises", "look at its curve")

    @property
    def slope(self) -> Floats:
        """N·s/m between the points, (..., n − 1)."""
        return np.diff(self.force, axis=-1) / np.diff(self.speed)


def straight(damping: ArrayLike) -> DamperAtWheel:
    """A damper of one damping (N·s/m) at every speed; (...,) dampings are so many dampers."""
    c = np.asarray(damping, float)
    return DamperAtWheel(np.array([-1.0, 1.0]), c[..., None] * np.array([-1.0, 1.0]))


@dataclass(frozen=True)
class OnRoad:
    """What a road does to a corner, each of the damper's shape (...): rms of the body's
    acceleration (m/s²), of the tyre's load about its mean (N), of the travel at the wheel (m) and
    of its speed (m/s); how far the body is pumped down at the wheel (m, below zero up); the
    damper's mean power (W) and the damping (N·s/m) that does as much work."""

    body: Floats
    tyre: Floats
    travel: Floats
    speed: Floats
    pump_down: Floats
    power: Floats
    damping: Floats


def on_road(corner: QuarterCar, damper: DamperAtWheel, road: Road) -> OnRoad:
    """The corner on the road. BadNumber for a damper without any force.

    >>> from trackside.corner.road import road
    >>> found = on_road(QuarterCar(240.0, 36.0, 16e3, 160e3), straight(980.0), road("C", 20.0))
    >>> f"{found.body:.6f} m/s² {found.tyre:.3f} N {1e3 * found.travel:.4f} mm {found.power:.4f} W"
    '1.417081 m/s² 720.335 N 11.9296 mm 80.8518 W'
    """
    power = corner.tyre * road.intensity / 2.0
    spread = _spread(damper, power)
    c = power / spread**2
    body, tyre, travel = straight_damper(corner, c, road.intensity)
    pump = _mean_force(damper, spread) / corner.rate
    return OnRoad(body, tyre, travel, spread, pump, np.full_like(spread, power), c)


def straight_damper(
    corner: QuarterCar, damping: ArrayLike, intensity: float
) -> tuple[Floats, Floats, Floats]:
    """The rms of body acceleration (m/s²), tyre load (N) and travel (m) of a straight damper
    (N·s/m) on white road velocity of that intensity (m²/s): closed forms."""
    ms, mu, k, kt = corner.sprung, corner.unsprung, corner.rate, corner.tyre
    c, whole, half = np.asarray(damping, float), ms + mu, intensity / 2.0
    body = half * (c * kt / ms**2 + k**2 * whole / (c * ms**2))
    stretch = half * (
        c * whole**2 / (kt * ms**2)
        + k**2 * whole**3 / (c * kt**2 * ms**2)
        - 2.0 * k * mu * whole / (c * kt * ms)
        + mu / c
    )
    travel = intensity * whole / (2.0 * c)
    return np.sqrt(body), kt * np.sqrt(stretch), np.sqrt(travel)


def best_damping(corner: QuarterCar) -> tuple[float, float]:
    """The straight damping (N·s/m) with the least body acceleration, and with the least change of
    tyre load: the closed forms differentiated."""
    ms, mu, k, kt = corner.sprung, corner.unsprung, corner.rate, corner.tyre
    whole = ms + mu
    grip = k**2 * whole**3 - 2.0 * k * kt * ms * mu * whole + kt**2 * ms**2 * mu
    return k * float(np.sqrt(whole / kt)), float(np.sqrt(grip / (kt * whole**2)))


def _within(damper: DamperAtWheel, spread: Floats) -> tuple[Floats, Floats]:
    """For a Gaussian speed of each spread (...,): the share of time in each stretch between the
    points, (..., n − 1), the outermost without end, and the mean speed there times that share."""
    from scipy.special import ndtr

    edge = damper.speed[1:-1] / spread[..., None]
    ends = (*edge.shape[:-1], 1)
    low, high, none = np.zeros(ends), np.ones(ends), np.zeros(ends)
    below = np.concatenate((low, ndtr(edge), high), -1)
    density = np.concatenate((none, np.exp(-(edge**2) / 2.0) / np.sqrt(2.0 * np.pi), none), -1)
    return np.diff(below), -np.diff(density) * spread[..., None]


def _work(damper: DamperAtWheel, spread: Floats) -> Floats:
    """E[f(v)·v] (W): σ²·E[f′(v)] for a Gaussian v (Stein's lemma), exact for straight lines."""
    share, _ = _within(damper, spread)
    return spread**2 * np.sum(share * damper.slope, axis=-1)


def _mean_force(damper: DamperAtWheel, spread: Floats) -> Floats:
    """E[f(v)] (N), exact for straight lines."""
    share, moment = _within(damper, spread)
    at_rest = damper.force[..., :-1] - damper.slope * damper.speed[:-1]
    return np.sum(at_rest * share + damper.slope * moment, axis=-1)


def _spread(damper: DamperAtWheel, power: float) -> Floats:
    """The rms speed (...,) at which the damper gives off that power (W)."""
    share, _ = _within(damper, _SPREADS)
    works = _SPREADS**2 * (damper.slope @ share.T)
    if not np.all(works[..., -1] > 0.0):
        raise BadNumber("a damper without any force holds no wheel", "look at its curve")
    with np.errstate(divide="ignore"):
        logs = np.log(works)
    at = np.clip(np.sum(works < power, axis=-1), 1, _SPREADS.size - 1)[..., None]
    low, high = (np.take_along_axis(logs, i, -1)[..., 0] for i in (at - 1, at))
    known = np.isfinite(low)
    grain = np.log(_SPREADS[1] / _SPREADS[0])
    power_law = np.where(known, (high - np.where(known, low, 0.0)) / grain, 2.0)
    spread = np.exp(np.log(_SPREADS[at[..., 0]]) - (high - np.log(power)) / power_law)
    for _ in range(_ROUNDS):
        step = (power / _work(damper, spread)) ** (1.0 / power_law)
        spread = spread * step
        if np.all(np.abs(step - 1.0) < 1e-12):
            break
    return np.asarray(spread)
