"""What the damper and spring are worth at the wheel.

Motion ratio here is always damper travel / wheel travel, mostly below one. Many sheets print
the inverse: `motion_ratio` takes either, and asks which.
Speeds scale with MR, forces with MR, rates and damping with MR² (virtual work, derived).
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trackside.errors import BadNumber

Floats = NDArray[np.float64]
Convention = Literal["damper/wheel", "wheel/damper"]


def motion_ratio(value: float, convention: str = "damper/wheel") -> float:
    """Damper travel over wheel travel, from a ratio given in either convention.

    Raises BadNumber unless it is above zero and the convention is one of the two.
    """
    if not 0.0 < value < np.inf:
        raise BadNumber("a motion ratio must be above zero", "damper travel over wheel travel")
    if convention == "damper/wheel":
        return value
    if convention == "wheel/damper":
        return 1.0 / value
    raise BadNumber(f"“{convention}” is not a motion ratio", "damper/wheel or wheel/damper")


def damper_speed(wheel_speed: ArrayLike, mr: float) -> Floats:
    """Rod speed (m/s) for a vertical wheel speed (m/s).

    >>> float(damper_speed(0.5, 0.8))
    0.4
    """
    return np.asarray(wheel_speed, float) * mr


def wheel_force(damper_force: ArrayLike, mr: float) -> Floats:
    """Force at the wheel (N) for a force at the damper (N)."""
    return np.asarray(damper_force, float) * mr


def wheel_rate(rate: ArrayLike, mr: float, tyre: ArrayLike | None = None) -> Floats:
    """Rate at the wheel k·MR² (N/m); with the tyre's rate given, of both in series.

    >>> float(wheel_rate(100e3, 0.75)), float(wheel_rate(100e3, 1.0, 300e3))
    (56250.0, 75000.0)
    """
    k = np.asarray(rate, float) * mr**2
    if tyre is None:
        return k
    t = np.asarray(tyre, float)
    return k * t / (k + t)


def wheel_damping(damping: ArrayLike, mr: float) -> Floats:
    """Damping at the wheel c·MR² (N·s/m).

    >>> float(wheel_damping(3000.0, 0.75))
    1687.5
    """
    return np.asarray(damping, float) * mr**2


def secant_damping(force: ArrayLike, speed: ArrayLike) -> Floats:
    """Force over speed at each point (N·s/m): what the wheel feels on average up to there."""
    v = np.asarray(speed, float)
    if not np.all(v > 0.0):
        raise BadNumber("damping at standstill has no meaning", "take speeds above zero")
    return np.asarray(force, float) / v


def tangent_damping(force: ArrayLike, speed: ArrayLike) -> Floats:
    """Slope of a curve (N·s/m) at its own points, 1-d, at least three, speeds rising."""
    f, v = np.asarray(force, float), np.asarray(speed, float)
    if f.shape != v.shape or v.ndim != 1 or v.size < 3 or not np.all(np.diff(v) > 0.0):
        raise BadNumber("a slope needs three or more points, speeds rising", "add points")
    return np.gradient(f, v)


def critical_damping(rate: ArrayLike, mass: ArrayLike) -> Floats:
    """Damping (N·s/m) at which a sprung mass (kg) on a rate (N/m) just does not swing: 2√(k·m).

    >>> float(critical_damping(40e3, 100.0))
    4000.0
    """
    return 2.0 * np.sqrt(np.asarray(rate, float) * np.asarray(mass, float))


def damping_ratio(damping: ArrayLike, rate: ArrayLike, mass: ArrayLike) -> Floats:
    """ζ = c/(2√(k·m)), all at the wheel, mass sprung at this corner."""
    return np.asarray(damping, float) / critical_damping(rate, mass)


def frequency(rate: ArrayLike, mass: ArrayLike) -> Floats:
    """Undamped frequency √(k/m)/2π (Hz) of a mass (kg) on a rate (N/m).

    Body: wheel rate and sprung mass. Wheel hop: wheel rate + tyre rate, and unsprung mass.
    """
    return np.sqrt(np.asarray(rate, float) / np.asarray(mass, float)) / (2.0 * np.pi)
