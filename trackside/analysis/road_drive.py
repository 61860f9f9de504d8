"""Both set-ups driven over one and the same road, and whether that road can tell them apart."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from trackside.analysis.estimate import as_reason
from trackside.analysis.road_inputs import CornerInputs, RoadTables, corner_inputs
from trackside.corner.quarter_car import DamperAtWheel
from trackside.corner.road import Road
from trackside.corner.road_profile import Profile
from trackside.corner.road_run import STEP, Driven, Lane, Step, drive, lead_steps, step_between
from trackside.damper.flow import Floats
from trackside.errors import NoEstimate, TracksideError
from trackside.records import Session
from trackside.records.fields import CORNERS

SECONDS = 60.0
"""s of road that are driven where a class says what it is like."""


@dataclass(frozen=True)
class DrivenCorner:
    """rms of body acceleration (m/s²), of tyre load about static (N) and of wheel travel (m);
    pump-down (m); shares of time that the tyre is off the ground and the stop works; the tyre's
    least load (N)."""

    inputs: CornerInputs
    body: float
    tyre: float
    travel: float
    pump_down: float
    aloft: float
    stopped: float
    least: float


@dataclass(frozen=True)
class DrivenPair:
    """A corner in one set-up and, where there are two, in the other; the steps of body (m/s²) and
    tyre load (N) from one to the other with the spread that the road leaves them."""

    corner: str
    now: DrivenCorner | None = None
    then: DrivenCorner | None = None
    body: Step | None = None
    tyre: Step | None = None
    why: NoEstimate | None = None


@dataclass(frozen=True)
class DriveFacts:
    """FL, FR, RL, RR; `seconds` of road that counted."""

    corners: tuple[DrivenPair, ...]
    seconds: float

    @property
    def cannot_tell(self) -> bool:
        """Whether there are steps, and each is within the spread of this road."""
        steps = [one for pair in self.corners for one in (pair.body, pair.tyre) if one is not None]
        return bool(steps) and not any(one.told for one in steps)


def class_velocity(road: Road, seconds: float = SECONDS, seed: int = 0) -> Floats:
    """Vertical velocity (m/s) for `drive_both`: so many seconds of that road after its lead."""
    return road.velocity(lead_steps() + round(seconds / STEP), STEP, seed)


def profile_velocity(profile: Profile, speed: float) -> Floats:
    """The same of a measured road at a speed (m/s), reached over a flat one."""
    return np.concatenate((np.zeros(lead_steps()), profile.velocity(speed, STEP)))


def drive_both(
    base: Session,
    changed: Session | None,
    velocity: Floats,
    tables: RoadTables,
    going: Callable[[float], bool] | None = None,
) -> DriveFacts | None:
    """The corners that have all they need, over the road. `going` hears the share done and stops
    it with False: None then. NoEstimate where no corner has what it needs."""
    known: dict[str, list[CornerInputs]] = {}
    missing: dict[str, NoEstimate] = {}
    for corner in CORNERS:
        try:
            sessions = [one for one in (base, changed) if one is not None]
            known[corner] = [corner_inputs(one, corner, tables) for one in sessions]
        except TracksideError as error:
            missing[corner] = as_reason(error)
    if not known:
        raise next(iter(missing.values()))
    inputs = [one for both in known.values() for one in both]
    found = drive([_lane(one) for one in inputs], velocity, going=going)
    if found is None:
        return None
    pairs, at = [], 0
    for corner in CORNERS:
        if corner in missing:
            pairs.append(DrivenPair(corner, why=missing[corner]))
            continue
        both = known[corner]
        pairs.append(_pair(corner, both, found, at))
        at += len(both)
    return DriveFacts(tuple(pairs), found.seconds)


def _lane(inputs: CornerInputs) -> Lane:
    return Lane(inputs.car, DamperAtWheel(inputs.speeds, inputs.forces[0]), inputs.stop)


def _pair(corner: str, both: list[CornerInputs], found: Driven, at: int) -> DrivenPair:
    now, *then = (_driven(inputs, found, at + n) for n, inputs in enumerate(both))
    if not then:
        return DrivenPair(corner, now)
    body, tyre = (step_between(each[at], each[at + 1]) for each in (found.body, found.tyre))
    return DrivenPair(corner, now, then[0], body, tyre)


def _driven(inputs: CornerInputs, found: Driven, at: int) -> DrivenCorner:
    return DrivenCorner(
        inputs,
        float(found.body_rms[at]),
        float(found.tyre_rms[at]),
        float(found.travel_rms[at]),
        float(found.pump_down[at]),
        float(found.aloft[at].mean()),
        float(found.stopped[at].mean()),
        float(found.least[at]),
    )
