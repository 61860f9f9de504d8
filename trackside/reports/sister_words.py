"""Sisters in words: who is refused, by how much, and the run that is worth most."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

from trackside.analysis.estimate import DIRECTIONS, ground
from trackside.analysis.sisters import PassedOver, sisters_of
from trackside.damper.advice import best_run
from trackside.damper.clicks import as_counted, from_full_hard
from trackside.damper.sisters import Family, NextRun, Stranger, mean_half_band
from trackside.errors import TracksideError
from trackside.preferences import Preferences
from trackside.records import Adjuster, Build, CornerSheet
from trackside.reports.bench_words import speeds_words
from trackside.reports.origin_words import sisters_words

if TYPE_CHECKING:
    from trackside.analysis.shed import Shed

AROUND = 2
"""Clicks to either side of the newest position that a crew may turn to next: our own, no source."""
ENOUGH = 1.5
"""One run of a new build is enough when its band is at most so many times that of the build before:
our own, no source."""


def stranger_words(one: Stranger) -> str:
    """`FP-2 A is no sister: foretold from the others it misses by 31 %, where 9 % is usual`."""
    return (
        f"{one.name} is no sister: foretold from the others it misses by {100 * one.miss:.0f} %, "
        f"where {100 * one.expected:.0f} % is usual"
    )


def passed_over_words(one: PassedOver) -> str:
    """Why a sister says nothing of a direction."""
    if one.why == "needle alone":
        return f"{one.name} shares the needle alone: run this build at one position"
    if one.why == "few positions":
        return f"{one.name}: fewer than two {one.direction} positions on its sheet"
    adjuster = f"{one.name}: its {one.direction} adjuster"
    if one.why == "no adjuster":
        return f"{adjuster} or this one's is not on record"
    return f"{adjuster} has {one.clicks} clicks, this one {one.own_clicks}"


def run_words(run: NextRun, counted: Callable[[float], str] = "{:g}".format) -> str:
    """`one run at 8 would take the band from ±30 to ±7 %`; one that narrows it by too little is not
    advised."""
    before, after = 100 * run.before, 100 * run.after
    if not run.is_worth:
        return f"the band is ±{before:.0f} %: another run would hardly narrow it"
    place = counted(run.position)
    return f"one run at {place} would take the band from ±{before:.0f} to ±{after:.0f} %"


def next_run_lines(
    build: Build, shed: Shed, ran: Sequence[CornerSheet], preferences: Preferences
) -> Iterator[tuple[str, str]]:
    """(style, line) for each direction: who its sisters are and who is refused, and the one bench
    run that would narrow the bands most that the crew uses: at the positions of its last sessions
    (`ran`, newest first), a turn to either side of the newest, at the reference speeds; after a
    strip-down also whether that one run is enough. Fits sheets: not for the thread that draws."""
    for direction in DIRECTIONS:
        try:
            stands_on = ground(build, direction, shed)
            sisters = sisters_of(build, direction, shed)
        except TracksideError:
            continue
        knob = build.bleed_adjuster(direction)
        fit, family = stands_on.bench, stands_on.family
        if knob is None or stands_on.origin.kind not in ("sheet", "sisters"):
            continue
        used = used_positions(ran, knob)
        at = used[0] if used else float(round(knob.clicks / 2))
        around = (at - AROUND, at, at + AROUND)
        places = sorted({p for p in (*used, *around) if 0 <= p <= knob.clicks})

        def counted(hard: float, clicks: int = knob.clicks, end: str = knob.counted_from) -> str:
            return f"{as_counted(hard, clicks, end):g}"

        speeds = preferences.reference_speeds
        if family is not None:
            yield f"bold {direction}", f"  {direction}: {sisters_words(stands_on.origin.sisters)}"
            yield "", f"  {_known_to(family, places, speeds)} {_where(used, at, counted)}"
            if run := family.next_run(places, speeds, knob.clicks):
                yield "", f"  {run_words(run, counted)}"
                if enough := _enough_words(build, direction, shed, places, speeds, run.after):
                    yield "bold", f"  {enough}"
        elif fit is not None:
            found = best_run(fit, knob.clicks, (tuple(places), tuple(speeds)))
            rods = speeds_words(found.speeds, preferences)
            bands = f"±{100 * found.before:.1f} to ±{100 * found.after:.1f} %"
            where = _where(used, at, counted)
            if found.is_worth:
                told = f"one run at {counted(found.position)}, {rods}, would take the band"
                yield "dim", f"  {direction}: {told} {where} from {bands}"
            else:
                held = f"the band {where} is ±{100 * found.before:.1f} %"
                yield "dim", f"  {direction}: {held}: another run would hardly narrow it"
        for stranger in sisters.strangers if sisters else ():
            yield "bold", f"  ! {direction}: {stranger_words(stranger)}"
        for one in sisters.passed_over if sisters else ():
            yield "dim", f"  {direction}: {passed_over_words(one)}"


def used_positions(ran: Sequence[CornerSheet], knob: Adjuster) -> tuple[float, ...]:
    """The positions (clicks from full hard) that the crew set, the newest first, each once; what
    the knob does not have is left out."""
    counts = (corner.si(knob.acts_on) for corner in ran)
    right = [c for c in counts if c is not None and not knob.problem(c)]
    hard = [float(from_full_hard(c, knob.clicks, knob.counted_from)) for c in right]
    return tuple(dict.fromkeys(hard))


def _where(used: Sequence[float], at: float, counted: Callable[[float], str]) -> str:
    """`where you ran it (8, 6)`, or `about 10` where nobody ran it."""
    if not used:
        return f"about {counted(at)}"
    return f"where you ran it ({', '.join(counted(p) for p in used)})"


def _enough_words(
    build: Build,
    direction: str,
    shed: Shed,
    places: Sequence[float],
    speeds: Sequence[float],
    after: float,
) -> str:
    """Whether one run of a build is enough: held against the band that the build before has at the
    same places; nothing where that was not measured."""
    builds = shed.builds_of(build.damper)
    at = builds.index(build) if build in builds else 0
    if not at:
        return ""
    try:
        earlier = ground(builds[at - 1], direction, shed)
        if earlier.origin.kind not in ("sheet", "sisters"):
            return ""
        before = mean_half_band(earlier.curve, places, speeds)
    except TracksideError:
        return ""
    was = f"build {builds[at - 1].version} has ±{100 * before:.0f} %"
    if after <= ENOUGH * before:
        return f"that one run is enough: {was} there"
    return f"one run is not enough to be as sure as before: {was} there; run a second position"


def _known_to(family: Family, places: list[float], speeds: tuple[float, ...]) -> str:
    """`with 1 position of its own ±7 %`: the mean half band of the force at places and speeds."""
    runs = len(family.positions)
    own = f"{runs} position{'s' if runs > 1 else ''} of its own" if runs else "no run of its own"
    return f"with {own} ±{100 * mean_half_band(family, places, speeds):.0f} %"
