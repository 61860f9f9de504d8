"""What a corner brings to a road: masses, rates, stop, and the damper's curve at the wheel, as it
was set. What is not on record is named; nothing is guessed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trackside.analysis.estimate import DIRECTIONS, Setting, ground, setting
from trackside.analysis.estimate_cache import MOST, EstimateCache
from trackside.analysis.shed import Shed
from trackside.analysis.stops import at_stop
from trackside.analysis.wheel import spring_at, spring_at_wheel
from trackside.corner.quarter_car import QuarterCar
from trackside.corner.road_run import StopAtWheel
from trackside.damper.basis import Basis, weakest
from trackside.damper.curve import Difference
from trackside.damper.flow import Floats
from trackside.errors import NoEstimate, TracksideError
from trackside.records import Session

ROD_SPEEDS = np.geomspace(0.001, 2.0, 40)
"""m/s, in each direction."""
COMBINATIONS = ((0, 0), (-1, -1), (1, 1), (-1, 1), (1, -1))
"""Bump and rebound as told (0), at the low (−1) or the high end (1) of their bands."""


@dataclass(frozen=True)
class CornerInputs:
    """A corner as it was set: `forces` (5, n) at `speeds` (n,), rebound positive, both at the
    wheel, a row for each of COMBINATIONS; the settings, bump first. `stop` None where none is
    fitted; `stop_unread` says why nothing is known of one that is."""

    corner: str
    car: QuarterCar
    motion_ratio: float
    speeds: Floats
    forces: Floats
    settings: tuple[Setting, Setting]
    basis: Basis
    stop: StopAtWheel | None = None
    stop_unread: str = ""


class RoadTables:
    """Curves calculated once, in one shed."""

    def __init__(self, shed: Shed) -> None:
        self.shed = shed
        self.estimates = EstimateCache(shed, ROD_SPEEDS)
        self._differences: dict[tuple[object, ...], Difference] = {}

    def difference(self, before: Setting, after: Setting) -> Difference:
        """From one setting to another of the same build."""
        key = (
            *(before.damper, before.build.version, before.direction),
            *(before.from_hard, before.preload_from_hard),
            *(after.from_hard, after.preload_from_hard),
        )
        if key not in self._differences:
            if len(self._differences) >= MOST:
                self._differences.clear()
            stands_on = ground(before.build, before.direction, self.shed)
            self._differences[key] = stands_on.difference(before, after, ROD_SPEEDS)
        return self._differences[key]


def at_wheel_both(bump: Floats, rebound: Floats, ratio: float) -> Floats:
    """Forces at the wheel over both directions (..., 2n + 1), none at rest; each direction's never
    below zero nor falling."""
    down, up = (np.maximum.accumulate(np.maximum(f, 0.0), axis=-1) for f in (bump, rebound))
    rest = np.zeros((*up.shape[:-1], 1))
    return ratio * np.concatenate((-down[..., ::-1], rest, up), axis=-1)


def wheel_speeds(ratio: float) -> Floats:
    """The wheel speeds (2n + 1,) of `at_wheel_both`."""
    return np.concatenate((-ROD_SPEEDS[::-1], [0.0], ROD_SPEEDS)) / ratio


def corner_inputs(session: Session, corner: str, tables: RoadTables) -> CornerInputs:
    """The corner of a session. NoEstimate names every figure that is missing, and where it goes."""
    shed = tables.shed
    figures = shed.car_corner(session, corner)
    spring = spring_at(session, corner, figures)
    wanted = {
        "mass": figures.mass,
        "unsprung mass": figures.unsprung_mass,
        "motion ratio": figures.motion_ratio,
        "spring rate": spring,
        "tyre rate": figures.tyre_rate,
    }
    missing = [name for name, known in wanted.items() if known is None]
    if missing:
        raise NoEstimate(
            f"no {', no '.join(missing)} on record at {corner}",
            "enter it with the car, as measured or as the maker gives it",
        )
    mass, unsprung, ratio = figures.mass, figures.unsprung_mass, figures.motion_ratio
    assert mass  # nothing is missing
    assert unsprung
    assert ratio
    assert spring
    assert figures.tyre_rate
    if mass <= unsprung:
        raise NoEstimate(
            f"the unsprung mass at {corner} is not below the mass on the scales", "correct one"
        )
    sprung = mass - unsprung
    rate = spring_at_wheel(spring, sprung, figures)
    bump, rebound = (setting(session, corner, d, shed) for d in DIRECTIONS)
    told = [tables.estimates.at(at) for at in (bump, rebound)]
    ends = [{0: one.force, -1: one.low, 1: one.high} for one in told]
    rows = [(ends[0][down], ends[1][up]) for down, up in COMBINATIONS]
    down, up = (np.array(side) for side in zip(*rows, strict=True))
    forces = at_wheel_both(down, up, ratio)
    stop, unread = _stop(session, corner, shed)
    return CornerInputs(
        corner,
        QuarterCar(sprung, unsprung, rate, figures.tyre_rate),
        ratio,
        wheel_speeds(ratio),
        forces,
        (bump, rebound),
        weakest(*(one.basis for one in told)),
        stop,
        unread,
    )


def _stop(session: Session, corner: str, shed: Shed) -> tuple[StopAtWheel | None, str]:
    """The stop as a table at the wheel, as far as its curve is known."""
    try:
        first = at_stop(session, corner, shed)
        if first is None:
            return None, ""
        start = max(first.wheel, 0.0)
        travel = start + np.linspace(0.0, 0.08, 161)
        known = at_stop(session, corner, shed, _reachable(travel, session, corner, shed))
        assert known is not None
        good = np.isfinite(known.force)
        if first.wheel < 0.0:
            raise NoEstimate(f"{first.stop} at {corner} works at static already")
        if np.count_nonzero(good) < 2:
            raise NoEstimate(f"the curve of {first.stop} at {corner} is too short")
    except TracksideError as error:
        return None, error.cause
    return StopAtWheel(known.travel[good], known.force[good]), ""


def _reachable(travel: Floats, session: Session, corner: str, shed: Shed) -> Floats:
    """Those of the travels (m) at which the motion ratio is known."""
    table = shed.car_corner(session, corner).motion_table
    return travel[travel <= table[-1][0]] if table else travel
