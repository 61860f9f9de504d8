"""The same curve on other hardware: positions of today's damper that come closest to a kept one.

All positions of the bleed are tried with all of the preload ring, in both directions; a bleed that
both directions share is set for both at once. What is left over, and which positions nobody can
tell apart, goes with the answer. `reports.bring_words` puts it in words.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from trackside.analysis.estimate import (
    DIRECTIONS,
    Estimate,
    Ground,
    Setting,
    estimate_at,
    ground,
    setting,
)
from trackside.analysis.shed import Shed
from trackside.damper import matching
from trackside.damper.basis import Basis, weakest
from trackside.damper.clicks import as_counted, from_full_hard
from trackside.damper.flow import Floats
from trackside.damper.matching import SPEEDS, Side
from trackside.errors import NoEstimate
from trackside.records import Adjuster, Build, Session

FAR = 10.0
"""A translation that misses by more % is not the same curve (our own, no source)."""

_UNSURE = (Basis.SHOP_RULE, Basis.FROM_PARTS)
"""A curve known so is too rough to set a knob by: the nearest position is only named."""

MOST_BEYOND = 5.0
"""More clicks than these past the end are not counted: the slope there does not reach so far."""


@dataclass(frozen=True)
class Rest:
    """What stays different at one reference speed (m/s): today's force less the kept one, in N and
    in % of the kept one, and half the width of both bands together (N)."""

    direction: str
    speed: float
    newtons: float
    percent: float
    half: float


@dataclass(frozen=True)
class Translation:
    """A position on today's damper that comes closest to the kept curve; `then` was the kept
    damper's, of its adjuster `of`, None where it had none. `miss` is the largest
    force difference that remains at the reference speeds, in %; `basis` the weaker of both
    curves'."""

    corner: str
    adjuster: str
    then: float | None
    of: Adjuster | None
    now: float
    miss: float
    basis: str
    rest: Rest | None = None
    """Where the largest of those differences is."""
    equals: tuple[float, ...] = ()
    """All positions, as counted today, that lie within both curves' bands; none where not even the
    nearest does."""
    beyond: float = 0.0
    """Clicks past the end of the travel at which the curve would be as wanted; 0 where the
    position is not at an end, or the next click in would be nearer."""
    end: str = ""
    """That end, "hard" or "soft"."""

    @property
    def is_set(self) -> bool:
        """Whether both curves are known well enough to set the knob by."""
        return self.basis not in _UNSURE


@dataclass(frozen=True)
class NotTranslated:
    """A knob of today's damper for which no position was found; no reason: nothing was tried, for
    want of a curve that knows what the knob does. `then_known`: the kept curve is known, today's
    is not."""

    corner: str
    adjuster: str
    reason: NoEstimate | None = None
    then_known: bool = False


@dataclass(frozen=True)
class _Wanted:
    """A direction's kept setting with its curve at `SPEEDS` and at the reference speeds."""

    then: Setting
    force: Floats
    at: Estimate


@dataclass(frozen=True)
class _Today:
    """A direction of today's damper: where the knobs stand, its ground, and what can be set."""

    held: Setting
    ground: Ground
    side: Side


def translate(
    kept: Session, today: Session, corner: str, now: Build, shed: Shed, speeds: Sequence[float]
) -> Iterator[Translation | NotTranslated]:
    """Positions of the knobs of build `now` closest to the kept curve of that corner, and the knobs
    that have none; what remains different is said at these speeds (m/s)."""
    by_knob: dict[str, dict[str, _Wanted]] = {}
    for direction in DIRECTIONS:
        adjuster = now.bleed_adjuster(direction)
        if adjuster is None:
            continue
        try:
            wanted = _wanted(setting(kept, corner, direction, shed), shed, speeds)
        except NoEstimate as reason:
            yield NotTranslated(corner, adjuster.acts_on, reason)
            continue
        by_knob.setdefault(adjuster.acts_on, {})[direction] = wanted
    turned: set[str] = set()
    for acts, wants in by_knob.items():
        try:
            for step in _closest(today, corner, acts, wants, now, shed, speeds):
                turned.add(step.adjuster)
                yield step
        except NoEstimate as reason:
            yield NotTranslated(corner, acts, reason, then_known=True)
    for knob in now.in_order():
        if knob.acts_on.endswith("preload") and knob.acts_on not in turned:
            yield NotTranslated(corner, knob.acts_on)


def _wanted(then: Setting, shed: Shed, speeds: Sequence[float]) -> _Wanted:
    here = ground(then.build, then.direction, shed)
    force = here.curve.force(then.from_hard, SPEEDS, here.ring(then))
    return _Wanted(then, force, estimate_at(then, shed, speeds))


def _closest(
    today: Session,
    corner: str,
    acts: str,
    wants: Mapping[str, _Wanted],
    now: Build,
    shed: Shed,
    speeds: Sequence[float],
) -> Iterator[Translation]:
    bleed = now.adjuster(acts)
    assert bleed is not None
    sides = {d: _today(today, corner, d, now, bleed, shed) for d in wants}
    tables = {d: matching.table(one.side, wants[d].force) for d, one in sides.items()}
    # the best ring of each position by itself: the rings of two directions do not meet
    place = int(np.argmin(sum(table.min(axis=1) for table in tables.values())))
    turns = {d: int(np.argmin(table[place])) for d, table in tables.items()}
    rings = {d: sides[d].side.rings[turn] for d, turn in turns.items()}
    positions = next(iter(sides.values())).side.positions
    settled = {
        d: replace(one.held, from_hard=float(positions[place]), preload_from_hard=rings[d])
        for d, one in sides.items()
    }
    answers = {d: estimate_at(at, shed, speeds) for d, at in settled.items()}
    rests = [rest for d in wants for rest in _rests(d, answers[d], wants[d].at)]
    worst = max(rests, key=lambda rest: abs(rest.percent))
    basis = str(weakest(*(e.basis for d in wants for e in (answers[d], wants[d].at))))
    at_ring = {d: matching.forces(one.side, rings[d]) for d, one in sides.items()}
    equal = np.all([_within(d, at_ring, answers, wants, speeds) for d in wants], axis=0)
    beyond, end = _beyond(place, positions, at_ring, wants)
    then = next(iter(wants.values())).then
    yield Translation(
        corner,
        acts,
        then.position,
        then.adjuster,
        _counted(positions[place], bleed),
        abs(worst.percent),
        basis,
        worst,
        tuple(sorted(_counted(p, bleed) for p in positions[equal])) if equal[place] else (),
        beyond,
        end,
    )
    for direction, one in sides.items():
        ring, knob = rings[direction], one.held.preload_adjuster
        if ring is None or knob is None:
            continue
        was = wants[direction].then
        here = [rest for rest in rests if rest.direction == direction]
        worst = max(here, key=lambda rest: abs(rest.percent))
        known = str(weakest(answers[direction].basis, wants[direction].at.basis))
        yield Translation(
            corner,
            knob.acts_on,
            was.preload,
            was.preload_adjuster,
            _counted(ring, knob),
            abs(worst.percent),
            known,
            worst,
        )


def _today(
    today: Session, corner: str, direction: str, now: Build, bleed: Adjuster, shed: Shed
) -> _Today:
    """What can be set in a direction; the ring where the curve knows what it does."""
    knob = now.adjuster(f"{direction}_preload")
    stands = today.corner(corner).si(knob.acts_on) if knob else None
    hard = None
    if knob is not None and stands is not None and not knob.problem(stands):
        hard = float(from_full_hard(stands, knob.clicks, knob.counted_from))
    held = Setting(corner, direction, now, bleed, None, 0.0, knob, stands, hard)
    here = ground(now, direction, shed)
    rings: tuple[float | None, ...] = (here.ring(held),)
    if knob is not None and here.curve.takes_preload:
        rings = tuple(_choices(knob).tolist())
    return _Today(held, here, Side(here.curve, _choices(bleed), rings))


def _choices(knob: Adjuster) -> Floats:
    """All positions of a knob, clicks from full hard."""
    return np.arange(0.0, knob.clicks + knob.step / 2, knob.step)


def _counted(from_hard: float, knob: Adjuster) -> float:
    return float(as_counted(float(from_hard), knob.clicks, knob.counted_from))


def _rests(direction: str, now: Estimate, then: Estimate) -> Iterator[Rest]:
    for speed, here, there, half in zip(
        now.speed, now.force, then.force, _half(now, then), strict=True
    ):
        newtons = float(here - there)
        percent = 100.0 * newtons / max(float(there), 1e-9)
        yield Rest(direction, float(speed), newtons, percent, float(half))


def _half(now: Estimate, then: Estimate) -> Floats:
    """Half the width (n,) of both bands together, N: they err apart, so their squares add up."""
    return np.asarray(np.hypot(now.high - now.low, then.high - then.low) / 2.0)


def _within(
    direction: str,
    at_ring: Mapping[str, Floats],
    answers: Mapping[str, Estimate],
    wants: Mapping[str, _Wanted],
    speeds: Sequence[float],
) -> np.ndarray:
    """Whether each position (p,) lies within both curves' bands of the kept force at all speeds."""
    now, then = answers[direction], wants[direction].at
    asked = np.log(np.asarray(speeds, float))
    half = _half(now, then)
    return np.array(
        [
            bool(np.all(np.abs(np.interp(asked, np.log(SPEEDS), row) - then.force) <= half))
            for row in at_ring[direction]
        ]
    )


def _beyond(
    place: int, positions: Floats, at_ring: Mapping[str, Floats], wants: Mapping[str, _Wanted]
) -> tuple[float, str]:
    """How many clicks past an end the wanted curve lies, by the slope there, and which end."""
    last = positions.size - 1
    if last < 1 or place not in (0, last):
        return 0.0, ""
    inner = 1 if place == 0 else last - 1
    leans = {
        at: sum(matching.lean(at_ring[d][at], wants[d].force) for d in wants)
        for at in (place, inner)
    }
    slope = leans[inner] - leans[place]
    if not np.isfinite(slope) or slope == 0.0:
        return 0.0, ""
    step = abs(float(positions[inner] - positions[place]))
    past = step * leans[place] / slope
    end = "hard" if place == 0 else "soft"
    return (min(past, MOST_BEYOND), end) if past > 0.0 else (0.0, "")
