"""What a driver reads in three minutes: what changed since the last outing, what to feel for,
and what was said last time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trackside.preferences import Preferences
from trackside.records import Change, Note, Session
from trackside.review.changes import AXLES, Changes, ForceChange, changes
from trackside.review.charge import lost_charges
from trackside.review.shed import Shed
from trackside.review.worth import ForceStep

_FEEL: dict[tuple[str, str, bool], str] = {
    ("front", "bump", True): "nose goes down slower under braking; front talks more over kerbs",
    ("front", "bump", False): "nose goes down sooner under braking; calmer over kerbs",
    ("front", "rebound", True): "nose stays down longer when you open the throttle: less "
    "understeer at first, then it may skip over bumps",
    ("front", "rebound", False): "nose comes up sooner when you open the throttle; the front "
    "follows bumps better",
    ("rear", "bump", True): "tail squats slower on the throttle: quicker to take a set, easier "
    "to spin a wheel",
    ("rear", "bump", False): "tail squats more on the throttle: softer take-up, more drive over "
    "bumps",
    ("rear", "rebound", True): "tail rises slower under braking: calmer on entry until the wheel "
    "skips",
    ("rear", "rebound", False): "tail rises sooner under braking: looser on entry, wheel follows "
    "bumps better",
}
"""Common practice, no source: which way the car tends to go. A hint to listen for, no promise."""

CAUTION = "large step: take a cautious out-lap"
LARGE_STEP = 25.0
"""A force change of more %, at a reference speed, gets the caution (common practice, no source)."""


def is_large(step: ForceStep) -> bool:
    """Whether a change takes a cautious out-lap: a large share of the force, out of the noise."""
    return bool(np.any((np.abs(step.percent) > LARGE_STEP) & ~step.in_noise))


@dataclass(frozen=True)
class Debrief:
    """`lines` are what was set differently, in run-sheet order; `feel` what to listen for, the
    largest force change first; `said` the driver's notes of the outing before."""

    changes: Changes
    lines: tuple[str, ...]
    feel: tuple[str, ...]
    said: tuple[Note, ...]
    reasons: tuple[Change, ...]
    caution: str
    lost_gas: tuple[str, ...]
    """Where a charge is lower than temperature explains."""


def debrief(
    before: Session,
    after: Session,
    said: tuple[Note, ...],
    reasons: tuple[Change, ...],
    shed: Shed,
    preferences: Preferences,
) -> Debrief:
    """The debrief of `after` for the driver whose last outing was `before`."""
    found = changes(before, after, shed, preferences)
    felt = [force for force in found.forces if not force.in_noise]
    feel = dict.fromkeys(text for force in felt if (text := _feel(force)))
    large = any(is_large(force.step) for force in felt)
    return Debrief(
        found,
        tuple(found.sentences()),
        tuple(feel),
        said,
        reasons,
        CAUTION if large else "",
        tuple(lost_charges(before, after, preferences)),
    )


def _feel(force: ForceChange) -> str:
    axle = next(name for name, corners in AXLES.items() if force.corner in corners)
    harder = bool(force.step.change[force.largest] > 0)
    hint = _FEEL[axle, force.direction, harder]
    return f"{axle} {force.direction} {'harder' if harder else 'softer'}: {hint}"
