"""A revalve: one damper before and after a strip-down, at the same position of the knob."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trackside.damper.clicks import from_full_hard
from trackside.damper.parts import PartsCurve, revalved
from trackside.damper.standing import Standing, weakest
from trackside.errors import NoEstimate
from trackside.records import Adjuster, Build
from trackside.review.estimate import Estimate, Setting, Speeds, estimate_at, ground
from trackside.review.parts import GROUND, parts_curve
from trackside.review.shed import Shed
from trackside.review.worth import ForceStep, step_from


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

    Where only the first was on the bench, and the parts of both are known, the bench's curve is
    carried over by the ratio that the parts make (derived), standing "from parts". NoEstimate says
    what is missing.
    """
    at, then = (set_at(build, direction, position, preload) for build in (before, after))
    first = estimate_at(at, shed, speeds)
    if after.parts(direction) and before.parts(direction):
        reckoned = _reckoned(before, after, direction)
        if reckoned and isinstance(ground(after, direction, shed).source, PartsCurve):
            was, now = reckoned
            rings = at.preload_from_hard, then.preload_from_hard
            return _by_parts(first, then, was.at_ring(rings[0]), now.at_ring(rings[1]))
    last = estimate_at(then, shed, speeds)
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


def _reckoned(before: Build, after: Build, direction: str) -> tuple[PartsCurve, PartsCurve] | None:
    try:
        return parts_curve(before, direction), parts_curve(after, direction)
    except NoEstimate:
        return None


def _by_parts(first: Estimate, then: Setting, was: PartsCurve, now: PartsCurve) -> Revalve:
    """The first curve times the ratio of what the parts make of both."""
    v, here = first.speed, first.setting.from_hard
    found = revalved(was, here, now, then.from_hard, v)
    share = found.percent / 100.0
    doubt = np.divide(
        (found.high - found.low) / 2.0,
        np.abs(was.predict(here, v).force),
        out=np.zeros_like(v),
        where=v > 0.0,
    )
    change, half = first.force * share, first.force * doubt
    standing = weakest(first.standing, Standing.FROM_PARTS)
    step = ForceStep(v, first.force, change, change - half, change + half, standing)
    below = np.hypot((first.force - first.low) * (1.0 + share), half)
    above = np.hypot((first.high - first.force) * (1.0 + share), half)
    force = first.force + change
    measured = first.standing is not Standing.FROM_PARTS
    words = f"{first.ground}, carried over by the parts of both builds" if measured else GROUND
    low = np.maximum(force - below, 0.0)
    after = Estimate(then, v, force, low, force + above, standing, words)
    return Revalve(first, after, step)
