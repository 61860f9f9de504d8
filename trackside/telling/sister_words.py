"""Sisters in words: who is refused, by how much, and the run that is worth most."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from trackside.damper.advice import best_run
from trackside.damper.clicks import as_counted, from_full_hard
from trackside.damper.fit import DirectionFit
from trackside.damper.sisters import Family, NextRun, Stranger
from trackside.errors import TracksideError
from trackside.preferences import Preferences
from trackside.records import Build, CornerSheet
from trackside.review.estimate import DIRECTIONS, ground
from trackside.review.sisters import sisters_of
from trackside.telling import figures

if TYPE_CHECKING:
    from trackside.review.shed import Shed

AROUND = 2
"""Clicks to either side of a used position that a crew may turn to next: our own, no source."""


def stranger_words(one: Stranger) -> str:
    """`FP-2 A is no sister: foretold from the others it misses by 31 %, where 9 % is usual`."""
    return (
        f"{one.name} is no sister: foretold from the others it misses by {100 * one.miss:.0f} %, "
        f"where {100 * one.expected:.0f} % is usual"
    )


def run_words(run: NextRun, counted: Callable[[float], str] = "{:g}".format) -> str:
    """`one run at 8 would take the band from ±30 to ±7 %`."""
    before, after = 100 * run.before, 100 * run.after
    place = counted(run.position)
    return f"one run at {place} would take the band from ±{before:.0f} to ±{after:.0f} %"


def next_run_lines(
    build: Build, shed: Shed, ran: CornerSheet | None, preferences: Preferences
) -> Iterator[tuple[str, str]]:
    """(style, line) for each direction: who its sisters are and who is refused, and the one bench
    run that would narrow the bands most that the crew uses: about the positions of its last session
    (`ran`), at the reference speeds. Fits sheets: not for the thread that draws."""
    for direction in DIRECTIONS:
        try:
            source = ground(build, direction, shed).source
            sisters = sisters_of(build, direction, shed)
        except TracksideError:
            continue
        knob = build.bleed_adjuster(direction)
        if knob is None or not isinstance(source, DirectionFit | Family):
            continue
        count = ran.si(knob.acts_on) if ran else None
        now = knob.clicks / 2 if count is None else count
        at = from_full_hard(round(now), knob.clicks, knob.counted_from)
        places = [p for p in (at - AROUND, at, at + AROUND) if 0 <= p <= knob.clicks]

        def counted(hard: float, clicks: int = knob.clicks, end: str = knob.counted_from) -> str:
            return f"{as_counted(hard, clicks, end):g}"

        speeds = preferences.reference_speeds
        if isinstance(source, Family):
            yield f"bold {direction}", f"  {direction}: {sisters.words if sisters else 'sisters'}"
            yield "", f"  {_known_to(source, places, speeds)} about {counted(at)}"
            if run := source.next_run(places, speeds, knob.clicks):
                yield "", f"  {run_words(run, counted)}"
        else:
            found = best_run(source, knob.clicks, (tuple(places), tuple(speeds)))
            speed = figures.speed(found.speed, preferences, True)
            told = f"one run at {counted(found.position)}, {speed}, would take the band about"
            bands = f"±{100 * found.before:.1f} to ±{100 * found.after:.1f} %"
            yield "dim", f"  {direction}: {told} {counted(at)} from {bands}"
        for stranger in sisters.strangers if sisters else ():
            yield "bold", f"  ! {direction}: {stranger_words(stranger)}"
        for reason in sisters.passed_over if sisters else ():
            yield "dim", f"  {direction}: {reason}"


def _known_to(family: Family, places: list[float], speeds: tuple[float, ...]) -> str:
    """`with 1 position of its own ±7 %`: the mean half band of the force at places and speeds."""
    runs = len(family.positions)
    own = f"{runs} position{'s' if runs > 1 else ''} of its own" if runs else "no run of its own"
    return f"with {own} ±{100 * family.half_band(places, speeds):.0f} %"
