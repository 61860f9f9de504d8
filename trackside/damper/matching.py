"""Which positions of a damper's knobs give a wanted curve: all of them are tried.

How far a position is off is the weighted mean square of ln(force there / wanted force) over rod
speed. Where bleed and ring can both move there are hundreds of pairs. Up to a dozen rings are all
asked. Of more, the flow path says outright at which speed each pair makes the wanted force (no
equation is solved); the rings that come closest, and those beside the best, are then asked in full.
Weights: log-normal about 60 mm/s (our own, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trackside.damper.curve import Curve
from trackside.damper.flow import Floats, FlowPath, force_at, speed_at
from trackside.errors import NoEstimate

SPEEDS = np.geomspace(0.004, 0.5, 60)
"""Rod speeds (m/s) at which curves are compared."""

_MIDDLE, _SPREAD = 0.06, 1.0  # m/s, and e-folds of speed: where a wheel spends its time
_WEIGHTS = np.exp(-0.5 * (np.log(SPEEDS / _MIDDLE) / _SPREAD) ** 2)
_WEIGHTS /= _WEIGHTS.sum()
_ALL = 12  # rings: so many are all asked
_ASKED = 4
"""Of more rings, so many of the closest are asked in full, and from the best of them on those
beside it; brute force over all pairs finds the same best (`tests/damper/test_matching.py`)."""
_BESIDE = (-1, 1)
_NUDGE = 0.01  # of ln force, for the slope of speed by it
_LEAST = 1e-9  # N


@dataclass(frozen=True)
class Side:
    """One direction of today's damper: its curve, the bleed's `positions` (p,) and the preload
    ring's `rings` (r,) that can be set, clicks from full hard; a ring of None is as the sheet ran,
    or there is none."""

    curve: Curve
    positions: Floats
    rings: tuple[float | None, ...] = (None,)


def offness(force: Floats, wanted: Floats) -> Floats:
    """How far forces (..., s) at `SPEEDS` are off the wanted ones (s,): the weighted mean square of
    their ratio's logarithm (...); infinite where a force is not known."""
    ratio = np.log(np.maximum(force, _LEAST) / np.maximum(wanted, _LEAST))
    score = np.asarray(ratio**2 @ _WEIGHTS)
    return np.where(np.isfinite(score), score, np.inf)


def lean(force: Floats, wanted: Floats) -> float:
    """By what part a curve is harder (above zero) or softer than wanted: weighted mean of the
    ratio's logarithm over `SPEEDS`."""
    return float(np.log(np.maximum(force, _LEAST) / np.maximum(wanted, _LEAST)) @ _WEIGHTS)


def forces(side: Side, ring: float | None, speeds: Floats = SPEEDS) -> Floats:
    """Forces (p, s), N, at all positions of a side with its ring there; not a number where the
    curve gives none."""
    every = np.full((side.positions.size, speeds.size), np.nan)
    for row, position in zip(every, side.positions.tolist(), strict=True):
        try:
            row[:] = side.curve.force(position, speeds, ring)
        except NoEstimate:
            continue
    return every


def table(side: Side, wanted: Floats) -> Floats:
    """How far each pair (p, r) of position and ring is `offness` from wanted forces (s,) at
    `SPEEDS`; infinite where there is no estimate, and at rings that were not asked because those
    beside the best are farther off. Raises NoEstimate where no pair has an estimate."""
    scores = np.full((side.positions.size, len(side.rings)), np.inf)
    asked: set[int] = set()

    def ask(turn: int) -> None:
        asked.add(turn)
        scores[:, turn] = offness(forces(side, side.rings[turn]), wanted)

    for turn in _closest_rings(side, wanted):
        ask(turn)
    while True:  # from the best ring on, as long as the next is closer
        best = int(np.argmin(scores.min(axis=0)))
        beside = {best + by for by in _BESIDE} & set(range(len(side.rings))) - asked
        if not beside:
            break
        for turn in beside:
            ask(turn)
    if not np.isfinite(scores).any():
        raise _reason(side)
    return scores


def _reason(side: Side) -> NoEstimate:
    """Why there is no estimate at any pair."""
    if not side.positions.size:
        return NoEstimate("there is no position to set", "enter the adjuster's clicks")
    try:
        side.curve.force(float(side.positions[0]), SPEEDS, side.rings[0])
    except NoEstimate as reason:
        return reason
    return NoEstimate("its force cannot be calculated", "check its sheet")


def _closest_rings(side: Side, wanted: Floats) -> list[int]:
    """Places in the side of the rings that come closest by the flow path, the closest first.

    What the curve has beyond its path (friction, what the sheet's rows said of it) is taken off
    the wanted force, first as at the middle pair, then as at the best.
    """
    count = len(side.rings)
    paths = _all_paths(side) if count > _ALL else None
    if paths is None:
        return list(range(count))
    place, turn = side.positions.size // 2, count // 2
    for _ in range(2):
        through = wanted * _by_path(side, paths, place, turn)
        rod = speed_at(through, paths)
        grown = speed_at(through * np.exp(_NUDGE), paths)
        with np.errstate(divide="ignore", invalid="ignore"):
            miss = (rod - SPEEDS) * _NUDGE / (grown - rod)
        scores = np.nan_to_num(miss**2 @ _WEIGHTS, nan=np.inf)
        place, turn = (int(i) for i in np.unravel_index(np.argmin(scores), scores.shape))
    order = np.argsort(scores.min(axis=0), kind="stable")
    return [int(turn) for turn in order[:_ASKED]]


def _all_paths(side: Side) -> FlowPath | None:
    """The flow paths of all pairs (p, r, 1): a position turns the bleed, a ring all else; None
    where the curve has no path at one of them."""
    try:
        bleeds = [side.curve.path(p, side.rings[0]).bleed for p in side.positions.tolist()]
        rings = [side.curve.path(float(side.positions[0]), ring) for ring in side.rings]
    except NoEstimate:
        return None
    names = ("leak", "crack", "opening", "port", "knee")
    by_ring = {n: np.array([getattr(path, n) for path in rings], float)[:, None] for n in names}
    return FlowPath(bleed=np.array(bleeds, float)[:, None, None], **by_ring)


def _by_path(side: Side, paths: FlowPath, place: int, turn: int) -> Floats:
    """Of the force (s,) at a pair, the part that its flow path says; one where it has none."""
    try:
        whole = side.curve.force(float(side.positions[place]), SPEEDS, side.rings[turn])
    except NoEstimate:
        return np.ones(SPEEDS.size)
    names = ("leak", "crack", "opening", "port", "knee")
    one = {name: np.asarray(getattr(paths, name))[turn, 0] for name in names}
    net = force_at(SPEEDS, FlowPath(bleed=np.asarray(paths.bleed)[place, 0, 0], **one))
    return np.clip(net / np.maximum(whole, _LEAST), 0.1, 10.0)
