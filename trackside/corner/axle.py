"""Four corners together: heave, pitch and roll, and one axle against the other.

One rigid body on four wheel rates; tyres count only where they were taken in series beforehand.
Every mode is the same sum with another lever: K = Σk·l², C = Σc·l², with l = 1 in heave, the
distance before the centre of gravity in pitch, the distance beside it in roll; f = √(K/M)/2π and
ζ = C/(2√(K·M)) with M the mass or the moment of inertia (derived). Roll turns about the ground
line's centre: roll-centre heights are left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trackside.corner.wheel import Floats, damping_ratio, frequency
from trackside.errors import BadNumber


@dataclass(frozen=True)
class Wheel:
    """A wheel seen from the centre of gravity: x m ahead, y m to the left; wheel rate N/m; wheel
    damping N·s/m, a number or (n,) over wheel speeds."""

    x: float
    y: float
    rate: float
    damping: ArrayLike = 0.0


@dataclass(frozen=True)
class Mode:
    """Rate (N/m, or N·m/rad) and damping (N·s/m, or N·m·s/rad) of a mode; frequency (Hz) and
    damping ratio, None where mass or inertia is unknown. Damping and ratio as the wheels' (n,)."""

    rate: float
    damping: Floats
    frequency: float | None
    ratio: Floats | None


def both_ways(bump: ArrayLike, rebound: ArrayLike) -> Floats:
    """Damping of a wheel over whole swings: the mean of bump and rebound at one speed (derived:
    as much time is spent going up as down; in roll one side does each)."""
    return (np.asarray(bump, float) + np.asarray(rebound, float)) / 2.0


def wheels_of(
    masses: Sequence[float],
    wheelbase: float,
    tracks: tuple[float, float],
    rates: Sequence[float],
    dampings: Sequence[ArrayLike],
) -> tuple[Wheel, ...]:
    """FL, FR, RL, RR placed about the centre of gravity that the four masses (kg) put there.

    Lengths m, tracks front and rear; rates N/m. Raises BadNumber for a size not above zero.
    """
    sizes = (*masses, wheelbase, *tracks)
    if len(masses) != 4 or not all(0.0 < size < np.inf for size in sizes):
        raise BadNumber("masses, wheelbase and tracks must be above zero", "enter all of them")
    front_left, front_right, rear_left, rear_right = masses
    whole, (front, rear) = sum(masses), tracks
    ahead = wheelbase * (rear_left + rear_right) / whole
    left = (front * (front_left - front_right) + rear * (rear_left - rear_right)) / (2.0 * whole)
    places = (
        (ahead, front / 2.0 - left),
        (ahead, -front / 2.0 - left),
        (ahead - wheelbase, rear / 2.0 - left),
        (ahead - wheelbase, -rear / 2.0 - left),
    )
    return tuple(
        Wheel(x, y, rate, damping)
        for (x, y), rate, damping in zip(places, rates, dampings, strict=True)
    )


def heave(wheels: Sequence[Wheel], mass: float | None) -> Mode:
    """Straight up and down: mass is the sprung one (kg). For two wheels it is their axle's."""
    return _mode(wheels, [1.0] * len(wheels), mass)


def pitch(wheels: Sequence[Wheel], inertia: float | None) -> Mode:
    """Nose up and down about the centre of gravity; inertia kg·m²."""
    return _mode(wheels, [wheel.x for wheel in wheels], inertia)


def roll(wheels: Sequence[Wheel], inertia: float | None, bars: float = 0.0) -> Mode:
    """Side to side; inertia kg·m², `bars` what the anti-roll bars add (N·m/rad)."""
    return _mode(wheels, [wheel.y for wheel in wheels], inertia, bars)


def roll_share(wheels: Sequence[Wheel], front_bar: float = 0.0, rear_bar: float = 0.0) -> float:
    """Share of the roll rate that the front (wheels ahead of the centre of gravity) takes."""
    front = roll([w for w in wheels if w.x > 0.0], None, front_bar).rate
    return front / (front + roll([w for w in wheels if w.x <= 0.0], None, rear_bar).rate)


def coupling(wheels: Sequence[Wheel]) -> float:
    """How far heave and pitch disturb each other: Σk·x/√(Σk·Σk·x²), −1 to 1, 0 uncoupled
    (derived). Below zero the rear is the stiffer end about the centre of gravity."""
    cross = sum(wheel.rate * wheel.x for wheel in wheels)
    return cross / float(np.sqrt(heave(wheels, None).rate * pitch(wheels, None).rate))


def _mode(
    wheels: Sequence[Wheel], levers: Sequence[float], inertia: float | None, more: float = 0.0
) -> Mode:
    pairs = list(zip(wheels, levers, strict=True))
    rate = float(sum(wheel.rate * lever**2 for wheel, lever in pairs)) + more
    damping = np.asarray(
        sum(np.asarray(wheel.damping, float) * lever**2 for wheel, lever in pairs), float
    )
    if inertia is None:
        return Mode(rate, damping, None, None)
    return Mode(
        rate, damping, float(frequency(rate, inertia)), damping_ratio(damping, rate, inertia)
    )
