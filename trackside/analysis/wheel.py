"""What a damper's force is at the wheel: through the motion ratio, and as a damping ratio."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from trackside.analysis.estimate import Estimate
from trackside.analysis.shed import Shed
from trackside.corner.motion_ratio import MotionTable
from trackside.corner.wheel import (
    damping_ratio,
    secant_damping,
    wheel_damping,
    wheel_force,
    wheel_rate,
)
from trackside.records import CarCorner, Session
from trackside.units import GRAVITY

LackKind = Literal["motion ratio", "spring rate", "mass"]


@dataclass(frozen=True)
class Lack:
    """A figure of the corner that is not on record; `typed` is what stands there instead and
    cannot be used. The mass is that of the corner, or of what of it is unsprung."""

    kind: LackKind
    corner: str
    typed: str = ""


@dataclass(frozen=True)
class AtWheel:
    """One direction of a corner, seen from the wheel, at the estimate's rod speeds (m/s), (n,).

    `force` in N; `ratio` the damping ratio there (secant, 1 = critical). What is None cannot be
    told, and `missing` names what it lacks. `spring` is the spring rate in N/m that the
    ratio was told with, `sprung` the mass in kg.
    """

    motion_ratio: float | None
    spring: float | None
    sprung: float | None
    force: NDArray[np.float64] | None
    ratio: NDArray[np.float64] | None
    missing: tuple[Lack, ...]
    by_table: bool = False
    """Whether the motion ratio is known over travel, and the wheel rate with how it rises."""


def at_wheel(estimate: Estimate, session: Session, shed: Shed) -> AtWheel:
    """The estimate's force and damping at the wheel, from the car's figures and the run sheet.

    F·MR, and ζ = (F/v)·MR² / (2·√(k_wheel·m_sprung)): corner/wheel.py has the laws. Sprung mass is
    the corner's mass less its unsprung mass; the spring rate the run sheet's, else the car's.
    """
    corner = estimate.setting.corner
    car = shed.car_corner(session, corner)
    spring = spring_at(session, corner, car)
    sprung = _sprung(car)
    ratio = car.motion_ratio
    entered = session.corner(corner).spring_rate
    figures: tuple[tuple[LackKind, float | None, str], ...] = (
        ("motion ratio", ratio, ""),
        ("spring rate", spring, entered.typed if entered else ""),
        ("mass", sprung, ""),
    )
    missing = tuple(Lack(kind, corner, typed) for kind, known, typed in figures if known is None)
    if ratio is None:
        return AtWheel(None, spring, sprung, None, None, missing)
    force = wheel_force(estimate.force, ratio)
    damping = None
    if spring and sprung and bool(np.all(estimate.speed > 0)):
        rate = spring_at_wheel(spring, sprung, car)
        at_the_wheel = wheel_damping(secant_damping(estimate.force, estimate.speed), ratio)
        damping = damping_ratio(at_the_wheel, rate, sprung)
    by_table = bool(car.motion_table) and car.spring_ratio is None
    return AtWheel(ratio, spring, sprung, force, damping, missing, by_table)


def spring_at(session: Session, corner: str, car: CarCorner) -> float | None:
    """The spring rate (N/m), the run sheet's before the car's; None where there is none, and where
    what stands on the run sheet cannot be used: the car's may be another spring."""
    entered, si = session.corner(corner).spring_rate, session.si(f"{corner}.spring_rate")
    return car.spring_rate if entered is None else si or None


def spring_at_wheel(spring: float, sprung: float, car: CarCorner) -> float:
    """Wheel rate (N/m) of the spring (N/m) at the ride position, `sprung` kg on it.

    k·MR²; a motion ratio that is known as a table, for a spring on the damper, adds F·dMR/dz with
    the static force F = m·g/MR (corner/motion_ratio.py; derived). What the corner carries is taken
    to hang on its spring alone.
    """
    ratio = car.spring_ratio or car.motion_ratio
    assert ratio is not None
    if not car.motion_table or car.spring_ratio is not None:
        return float(wheel_rate(spring, ratio))
    return float(MotionTable(car.motion_table).wheel_rate(0.0, spring, sprung * GRAVITY / ratio))


def _sprung(car: CarCorner) -> float | None:
    if car.mass is None or car.unsprung_mass is None or car.mass <= car.unsprung_mass:
        return None
    return car.mass - car.unsprung_mass
