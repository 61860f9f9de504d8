"""Adjusters that live at an end of their travel, and the forces that would put them mid-range."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import takewhile
from typing import TYPE_CHECKING, Final, Literal

from trackside.analysis.estimate import DIRECTIONS, Setting, Speeds, estimate_at
from trackside.analysis.revalve import set_at
from trackside.analysis.shed import Shed
from trackside.analysis.used import last_corners
from trackside.analysis.valve_target import Wish
from trackside.damper.clicks import acts_on, from_full_hard
from trackside.errors import TracksideError
from trackside.records import Adjuster, Build, CornerSheet
from trackside.records.fields import CORNERS

if TYPE_CHECKING:
    from trackside.logbook import Logbook

RUNS: Final = 5
"""So many of the last runs are looked at: our own, no source."""
OFTEN: Final = 3
"""In so many of them the adjuster is near one end: our own, no source."""
NEAR: Final = 2.0
"""Clicks from an end that are near it: our own, no source."""
_LEAST: Final = 3 * NEAR
"""An adjuster of no more clicks is near an end wherever it is: nothing is said of it."""

_NEWEST: Final = 60
"""So many of the newest sessions are looked through for the cars that run."""
End = Literal["hard", "soft"]


@dataclass(frozen=True)
class AtItsEnd:
    """One adjuster of a build: near which end it was, in how many of the runs that were looked at;
    `position` is the middle one of those near it, `middle` that of its travel, as counted."""

    build: Build
    adjuster: Adjuster
    end: End
    near: int
    runs: int
    position: float
    middle: float

    @property
    def directions(self) -> tuple[str, ...]:
        """What it acts on: a shared knob on both."""
        return tuple(d for d in DIRECTIONS if acts_on(self.adjuster.acts_on, d) is not None)


def range_watch(build: Build, ran: Sequence[CornerSheet]) -> tuple[AtItsEnd, ...]:
    """Of a damper's present build and its last runs, the newest first: every adjuster that was near
    one end in `OFTEN` of `RUNS`. A run before the last strip-down says nothing of this build."""
    mine = list(takewhile(lambda sheet: _is_of(sheet, build), ran))[:RUNS]
    return tuple(one for knob in build.in_order() if (one := _watched(build, knob, mine)))


def fitted_watch(logbook: Logbook, shed: Shed) -> dict[str, tuple[AtItsEnd, ...]]:
    """Serial → the adjusters that live at an end, of the dampers that each car has in its newest
    run; the car that ran last comes first."""
    newest: dict[str, str] = {}
    for line in logbook.session_lines(limit=_NEWEST):
        if line.ran:
            newest.setdefault(line.car, line.entity)
    found = {}
    for entity in newest.values():
        session = logbook.session_record(entity)
        for serial in (session.corner(corner).damper for corner in CORNERS):
            build = shed.build(serial) if serial else None
            if build and (ends := range_watch(build, last_corners(logbook, build.damper))):
                found[build.damper] = ends
    return found


def _is_of(sheet: CornerSheet, build: Build) -> bool:
    return sheet.build is None or sheet.build.casefold() == build.version.casefold()


def _watched(build: Build, knob: Adjuster, ran: Sequence[CornerSheet]) -> AtItsEnd | None:
    counts = [count for sheet in ran if (count := sheet.si(knob.acts_on)) is not None]
    known = [count for count in counts if not knob.problem(count)]
    if knob.clicks <= _LEAST:
        return None
    near: dict[End, list[float]] = {"hard": [], "soft": []}
    for count in known:
        hard = from_full_hard(count, knob.clicks, knob.counted_from)
        if hard <= NEAR:
            near["hard"].append(count)
        elif knob.clicks - hard <= NEAR:
            near["soft"].append(count)
    for end, there in near.items():
        if len(there) >= OFTEN:
            at = sorted(there)[len(there) // 2]
            return AtItsEnd(build, knob, end, len(there), len(known), at, _half(knob))
    return None


def wanted_mid_range(
    found: AtItsEnd, ran: CornerSheet | None, shed: Shed, speeds: Speeds
) -> dict[str, list[Wish]]:
    """Direction → the forces of today's curve at the position where the adjuster lives: what a
    build makes there at the middle of its travel, so that there are clicks to both sides. The other
    adjusters are as in the run `ran`, half open where that is not known. A direction whose curve
    nobody knows is left out."""
    table: dict[str, list[Wish]] = {}
    for direction in found.directions:
        try:
            estimate = estimate_at(_living(found, direction, ran), shed, speeds)
        except TracksideError:
            continue
        table[direction] = [
            Wish(direction, float(v), float(f))
            for v, f in zip(estimate.speed, estimate.force, strict=True)
        ]
    return table


def _living(found: AtItsEnd, direction: str, ran: CornerSheet | None) -> Setting:
    """The build with that adjuster where it lives."""
    build, knob = found.build, found.adjuster
    counts: list[float | None] = []
    for one in (build.bleed_adjuster(direction), build.adjuster(f"{direction}_preload")):
        if one is None:
            counts.append(None)
        elif one == knob:
            counts.append(found.position)
        else:
            set_to = ran.si(one.acts_on) if ran else None
            known = set_to is not None and not one.problem(set_to)
            counts.append(set_to if known else _half(one))
    return set_at(build, direction, *counts)


def _half(knob: Adjuster) -> float:
    return float(round(knob.clicks / 2 / knob.step) * knob.step)
