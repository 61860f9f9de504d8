"""What a driver is to know before getting in: what changed, which way, and whether to take care.

Facts only; `reports.debriefing` puts them in words.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trackside.analysis.changes import Changes, changes
from trackside.analysis.estimate import Speeds
from trackside.analysis.estimate_cache import EstimateCache
from trackside.analysis.felt import Moved, moved
from trackside.analysis.gas_loss import LostCharge, lost_charges
from trackside.analysis.shed import Shed
from trackside.analysis.sides import Uneven, uneven
from trackside.analysis.worth import ForceStep
from trackside.records import Session
from trackside.records.fields import CORNERS

LARGE_STEP = 25.0
"""A change of the force, or of a spring's rate, by more % asks for care: our own choice."""


def is_large(step: ForceStep) -> bool:
    """Whether a change takes a cautious out-lap: a large share of the force, out of the noise."""
    return bool(np.any((np.abs(step.percent) > LARGE_STEP) & ~step.in_noise))


@dataclass(frozen=True)
class OutLap:
    """Why the first lap is to be a cautious one: the corners of each kind, FL, FR, RL, RR. False
    when there is no reason."""

    large: tuple[str, ...] = ()
    """The force, or the spring, went by a large step."""
    swapped: tuple[str, ...] = ()
    """Another damper, or another build of it."""
    unknown: tuple[str, ...] = ()
    """Something that moves the force was changed, and its force is not known."""

    def __bool__(self) -> bool:
        return bool(self.large or self.swapped or self.unknown)


@dataclass(frozen=True)
class Debrief:
    """What differs from the outing before; `uneven` is the car as it stands now, `was_uneven` the
    axle and direction of those that were so before."""

    changes: Changes
    moved: tuple[Moved, ...]
    out_lap: OutLap
    uneven: tuple[Uneven, ...]
    was_uneven: frozenset[tuple[str, str]]
    lost_gas: tuple[LostCharge, ...]
    """Where a charge is lower than temperature explains."""


def debrief(before: Session, after: Session, shed: Shed, speeds: Speeds) -> Debrief:
    """The debrief of `after` against the outing `before`, at these rod speeds (m/s)."""
    known = EstimateCache(shed, speeds)
    found = changes(before, after, shed, speeds, known)
    return Debrief(
        found,
        moved(found),
        out_lap(found, before, after),
        uneven(after, shed, speeds, known),
        frozenset((one.axle, one.direction) for one in uneven(before, shed, speeds, known)),
        tuple(lost_charges(before, after)),
    )


def out_lap(found: Changes, before: Session, after: Session) -> OutLap:
    """Which corners ask for a cautious out-lap after that change."""
    large = {force.corner for force in found.forces if is_large(force.step)}
    large |= {corner for corner in CORNERS if _is_large_spring(before, after, corner)}
    unknown = {one.corner for one in found.unknown}
    unknown |= {value.corner for value in found.values if value.name == "damper"}

    def in_order(corners: set[str]) -> tuple[str, ...]:
        return tuple(corner for corner in CORNERS if corner in corners)

    swapped = set(found.swapped)
    return OutLap(in_order(large), in_order(swapped), in_order(unknown - swapped))


def _is_large_spring(before: Session, after: Session, corner: str) -> bool:
    was, now = (session.corner(corner).si("spring_rate") for session in (before, after))
    return bool(was and now and abs(now / was - 1) * 100 > LARGE_STEP)
