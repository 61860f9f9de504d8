"""A revalve: one damper before and after a strip-down, at the same position of the knob."""

from __future__ import annotations

from dataclasses import dataclass

from trackside.analysis.estimate import Estimate, Setting, Speeds, estimate_at
from trackside.analysis.shed import Shed
from trackside.analysis.worth import ForceStep, step_from
from trackside.damper.clicks import from_full_hard
from trackside.errors import NoEstimate
from trackside.records import Adjuster, Build


@dataclass(frozen=True)
class Revalve:
    """Both curves at the same rod speeds, and what the strip-down did to the force."""

    before: Estimate
    after: Estimate
    step: ForceStep


def revalve(
    before: Build,
    after: Build,
    direction: str,
    position: float | None,
    shed: Shed,
    speeds: Speeds,
    preload: float | None = None,
) -> Revalve:
    """Two builds of a damper at one position of each knob, as the crew counts; speeds m/s, (n,).

    Both forces are those of every other page (`estimate.ground`), and so is their difference
    (`worth.step_from`). NoEstimate says what is missing.
    """
    at, then = (set_at(build, direction, position, preload) for build in (before, after))
    first, last = (estimate_at(one, shed, speeds) for one in (at, then))
    return Revalve(first, last, step_from(first, then, shed))


def set_at(build: Build, direction: str, position: float | None, preload: float | None) -> Setting:
    """A build with its knobs at positions as the crew counts; NoEstimate for one it lacks."""
    knob, ring = build.bleed_adjuster(direction), build.adjuster(f"{direction}_preload")
    stand = [
        (None, None) if adjuster is None else (count, _from_hard(count, adjuster))
        for adjuster, count in ((knob, position), (ring, preload))
    ]
    if knob and position is None:
        raise NoEstimate(f"no {knob.words} position to compare at", "give one")
    return Setting("", direction, build, knob, stand[0][0], stand[0][1] or 0.0, ring, *stand[1])


def half_open(build: Build, direction: str) -> float | None:
    """The count of the middle of the knob's travel, on a step; None without a knob."""
    knob = build.bleed_adjuster(direction)
    return float(round(knob.clicks / 2 / knob.step) * knob.step) if knob else None


def _from_hard(count: float | None, adjuster: Adjuster) -> float | None:
    if count is None:
        return None
    if adjuster.problem(count):
        raise NoEstimate(adjuster.problem(count), "compare at a position that both builds have")
    return float(from_full_hard(count, adjuster.clicks, adjuster.counted_from))
