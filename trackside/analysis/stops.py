"""Where a corner meets its bump stop, and what that adds at the wheel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trackside.analysis.shed import Shed
from trackside.corner.bump_stop import BumpStop, CurveStop, TableStop, added_at_wheel, starts_at
from trackside.corner.motion_ratio import MotionTable
from trackside.errors import BadNumber, NoEstimate
from trackside.records import Session

BEYOND = (0.002, 0.005, 0.010)
"""Rod travel (m) beyond the contact at which it is told what the stop adds."""


@dataclass(frozen=True)
class AtStop:
    """A corner's stop: `damper` and `wheel` travel in bump from static (m) at which it starts to
    work, below zero when it does at static; force (N) and rate (N/m) that it adds at the wheel at
    `travel` (m, wheel), nan beyond what is known of the stop."""

    stop: str
    damper: float
    wheel: float
    travel: NDArray[np.float64]
    force: NDArray[np.float64]
    rate: NDArray[np.float64]


def at_stop(
    session: Session, corner: str, shed: Shed, wheel_travel: ArrayLike | None = None
) -> AtStop | None:
    """The corner as it ran; None where no stop is entered. NoEstimate says what is unknown.

    wheel_travel (m, bump) defaults to BEYOND after the contact.
    """
    sheet, car = session.corner(corner), shed.cars.get(session.car)
    name, figures = sheet.bump_stop, shed.car_corner(session, corner)
    if not name:
        return None
    curve = car.stop(name) if car else None
    if curve is None:
        raise NoEstimate(f"no curve on record for the bump stop {name}", "enter it with the car")
    if figures.motion_ratio is None or figures.stop_gap is None:
        lacks = "motion ratio" if figures.motion_ratio is None else "gap to the bump stop"
        raise NoEstimate(f"the {lacks} at {corner} is not recorded", "enter it with the car")
    packers = sheet.si("packers")
    if packers is None:
        lacks = "are not entered" if sheet.packers is None else "cannot be read"
        raise NoEstimate(f"the packers at {corner} {lacks}", "type their height, 0 without any")
    stop: BumpStop = CurveStop(*curve.three) if curve.three else TableStop(curve.points)
    starts = starts_at(figures.stop_gap, packers)
    if figures.motion_table:
        return _by_table(name, stop, starts, MotionTable(figures.motion_table), wheel_travel)
    mr = figures.motion_ratio
    default = (max(starts, 0.0) + np.array(BEYOND)) / mr
    travel = np.atleast_1d(np.asarray(default if wheel_travel is None else wheel_travel, float))
    force, rate = added_at_wheel(stop, travel, figures.stop_gap, packers, mr)
    return AtStop(name, starts, starts / mr, travel, force, rate)


def _by_table(
    name: str, stop: BumpStop, starts: float, table: MotionTable, wheel_travel: ArrayLike | None
) -> AtStop:
    """The same with a motion ratio over travel; NoEstimate beyond what is known of it."""
    try:
        if wheel_travel is None:
            rod = [max(starts, 0.0) + beyond for beyond in BEYOND]
            wheel_travel = [table.wheel_travel(x) for x in rod]
        travel = np.atleast_1d(np.asarray(wheel_travel, float))
        compressed = table.damper_travel(travel) - starts
        first = table.wheel_travel(starts)
        at_rod = stop.force(np.maximum(compressed, 0.0))
        rate = table.wheel_rate(travel, stop.rate(np.maximum(compressed, 0.0)), at_rod)
        force = at_rod * table.at(travel)
    except BadNumber as error:
        raise NoEstimate(error.cause, error.remedy) from error
    touched = compressed > 0.0
    added = (np.where(touched, values, 0.0) for values in (force, rate))
    return AtStop(name, starts, first, travel, *added)
