"""A damper's present build told by its forces: against the build before, and from its parts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from trackside.analysis.estimate import DIRECTIONS, ground
from trackside.analysis.response import AIR, SHARE, SPEED, response
from trackside.analysis.revalve import Revalve, half_open, revalve, set_at
from trackside.analysis.shed import Shed
from trackside.analysis.sheet_change import against_first
from trackside.damper.basis import Basis
from trackside.errors import TracksideError
from trackside.preferences import Preferences
from trackside.records import Build, CornerSheet
from trackside.reports import formatting
from trackside.reports.bench_words import COMPARED, change_lines
from trackside.reports.limits import disc_lines
from trackside.reports.origin_words import origin_words
from trackside.reports.range_words import range_lines
from trackside.reports.response_words import ASSUMED, gas_words, travel_words
from trackside.reports.sister_words import next_run_lines

Line = tuple[str, str]


def present_lines(
    serial: str,
    shed: Shed,
    used: Sequence[CornerSheet],
    preferences: Preferences,
    how: str = "",
) -> list[Line]:
    """(style, line) under the present build; `used` is how it was set in its last sessions, the
    newest first, the knobs half open where that is unknown; `how` says what takes the forces that
    would put an adjuster mid-range as a target. Fits sheets: not for the thread that draws."""
    builds = shed.builds_of(serial)
    if not builds:
        return []
    ran = used[0] if used else None
    return [
        *(_against(builds[-2], builds[-1], shed, ran, preferences) if len(builds) > 1 else ()),
        *_from_parts(builds[-1], shed, preferences),
        *_newest_sheet(builds[-1], shed),
        *range_lines(builds[-1], used, shed, preferences, how),
        *next_run_lines(builds[-1], shed, used, preferences),
        *_answers(builds[-1], shed, ran, preferences),
    ]


def _against(
    before: Build, after: Build, shed: Shed, ran: CornerSheet | None, preferences: Preferences
) -> Iterator[Line]:
    for direction in DIRECTIONS:
        try:
            position = _position(after, direction, ran)
            preload = _preload(after, direction, ran)
            found = revalve(
                before, after, direction, position, shed, preferences.reference_speeds, preload
            )
        except TracksideError:
            continue
        at = "" if position is None else f" at {position:g}"
        yield f"bold {direction}", f"  {direction} after build {before.version}{at}:"
        yield from _table(found, preferences)


def revalve_rows(found: Revalve, preferences: Preferences) -> Iterator[tuple[str, ...]]:
    """Heads, then a row for each rod speed: force before and after, the change (`≈` within the
    noise), the `±` of its band, and %."""
    yield preferences.unit("speed"), "before", "after", preferences.unit("force"), "±", "%"
    for i, rod in enumerate(found.step.speed):
        forces = (float(curve.force[i]) for curve in (found.before, found.after))
        yield (
            formatting.speed(rod, preferences),
            *(formatting.force(force, preferences) for force in forces),
            *formatting.step_cells(found.step, i, preferences),
        )


def _table(found: Revalve, preferences: Preferences) -> Iterator[Line]:
    for n, row in enumerate(revalve_rows(found, preferences)):
        cells = (cell.rjust(width) for cell, width in zip(row, (6, 8, 8, 8, 6, 6), strict=True))
        yield "" if n else "underline", f"  {''.join(cells)}"
    basis = formatting.BASIS_WORDS[found.after.basis]
    yield "dim", f"  {basis}: {origin_words(found.after.origin)}"


def _newest_sheet(build: Build, shed: Shed) -> Iterator[Line]:
    changed = against_first(build, shed)
    if changed is not None:
        for style, line in change_lines(*changed):
            yield style, f"  {line}"
        yield "dim", f"  {COMPARED}"


def _from_parts(build: Build, shed: Shed, preferences: Preferences) -> Iterator[Line]:
    for direction in DIRECTIONS:
        if build.parts(direction) is None:
            continue
        try:
            stands_on = ground(build, direction, shed)
        except TracksideError as reason:
            yield "", f"  {reason}"
            continue
        curve, limits = stands_on.curve, stands_on.curve.limits
        if limits is None:
            continue
        speeds = preferences.reference_speeds
        knob = build.bleed_adjuster(direction)
        half = knob.clicks / 2 if knob else 0.0
        found = curve.predict(half, speeds)
        assert found.basis is Basis.FROM_PARTS
        told = ", ".join(
            f"{formatting.force(float(found.force[i]), preferences)} "
            f"({formatting.force(float(found.low[i]), preferences)} to "
            f"{formatting.force(float(found.high[i]), preferences)}) at "
            f"{formatting.speed(v, preferences)}"
            for i, v in enumerate(speeds)
        )
        where = ", knob half open" if knob else ""
        where += ", ring full hard" if curve.takes_preload else ""
        yield f"bold {direction}", f"  {direction} {origin_words(stands_on.origin)}{where}"
        yield "", f"  {preferences.unit('force')} at {preferences.unit('speed')}: {told}"
        for line in disc_lines(limits, preferences):
            yield "dim", f"  {line}"


def _answers(
    build: Build, shed: Shed, ran: CornerSheet | None, preferences: Preferences
) -> Iterator[Line]:
    if build.piston_diameter is None and build.stroke is None:
        return
    told, reasons, rests_on = [], [], ""
    for direction in DIRECTIONS:
        try:
            position, preload = _position(build, direction, ran), _preload(build, direction, ran)
            at = set_at(build, direction, position, preload)
            found = response(at, shed, ran.si("gas_pressure") if ran else None)
        except TracksideError as reason:
            reasons.append(str(reason))
            continue
        rests_on = gas_words(found, preferences)
        oil, airy = (travel_words(travel, preferences) for travel in (found.oil, found.airy))
        where = "" if position is None else f" at {position:g}"
        told.append(f"{direction}{where}: {oil}, {airy} with {100 * AIR:g} % air")
    if told:
        speed = formatting.speed(SPEED, preferences, True)
        yield "bold", f"  Rod travel to {100 * SHARE:g} % of the force, {speed}"
        yield "", f"  {'; '.join(told)}"
        yield "dim", f"  {rests_on}"
        yield "dim", f"  {ASSUMED}"
    for why in dict.fromkeys(reasons):
        yield "dim", f"  no rod travel to the force: {why}"


def _position(build: Build, direction: str, ran: CornerSheet | None) -> float | None:
    knob = build.bleed_adjuster(direction)
    if knob is None:
        return None
    set_at = ran.si(knob.acts_on) if ran else None
    if set_at is not None and not knob.problem(set_at):
        return set_at
    return half_open(build, direction)


def _preload(build: Build, direction: str, ran: CornerSheet | None) -> float | None:
    ring = build.adjuster(f"{direction}_preload")
    set_at = ran.si(ring.acts_on) if ring and ran else None
    return set_at if ring and set_at is not None and not ring.problem(set_at) else None
