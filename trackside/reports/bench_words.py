"""A damper told in words: its builds, its dyno sheet, and what the fit found."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from trackside.analysis.sheet_change import ALIKE_C, LOSS, Changes, SheetChange
from trackside.damper.advice import best_run, untold
from trackside.damper.clicks import as_counted
from trackside.damper.flow import FlowPath, force_at
from trackside.damper.gas import pressure_at_20, rod_force
from trackside.damper.sheet_fit import DirectionFit, Parameter, SheetFit
from trackside.errors import BadNumber, NoEstimate
from trackside.preferences import Preferences
from trackside.records import Adjuster, Build, Damper, DynoSheet, Session
from trackside.reports.mark_words import build_problems
from trackside.reports.sheet_warning_words import waiting_words, warning_words
from trackside.reports.when_words import made_words
from trackside.units import from_si, one_line, show

if TYPE_CHECKING:
    from trackside.analysis.shed import Shed

_INSIDE = (
    ("piston", "piston"),
    ("bump_stack", "bump stack"),
    ("rebound_stack", "rebound stack"),
    ("preload", "preload"),
    ("bleed", "bleed"),
    ("needle", "needle"),
)
_SIZES = (("piston_diameter", "piston ⌀"), ("rod_diameter", "rod ⌀"), ("stroke", "stroke"))


def build_lines(
    damper: Damper,
    shed: Shed,
    ran: tuple[Session, str, str] | None,
    preferences: Preferences,
    present: Iterable[tuple[str, str]] = (),
) -> Iterator[tuple[str, str]]:
    """(style, line) of a damper and its builds, newest first. `ran` is the session it last ran
    in, the corner, and that session in words; `present` goes under the present build."""
    if damper.words:
        yield "", one_line(damper.words)
    if ran:
        yield "", f"last ran {ran[2]}, {ran[1]}"
        yield "", _charge(ran[0], ran[1], shed.build_at(ran[0], ran[1]), preferences)
    builds = shed.builds_of(damper.serial)
    if not builds:
        yield "", "no build on record: a strip-down enters what is inside"
    length = preferences.unit("length")
    for number, build in enumerate(reversed(builds)):
        yield (
            "bold",
            f"Build {build.version}  {made_words(build)}  {'present' if not number else ''}",
        )
        if build.work:
            yield "", f"  work: {one_line(build.work)}"
        yield (
            "",
            f"  adjusters: {'; '.join(map(adjuster_words, build.in_order())) or 'none entered'}",
        )
        sizes = [f"{w} {from_si(v, 'length', length):.6g} {length}"
                 for name, w in _SIZES if (v := getattr(build, name)) is not None]  # fmt: skip
        inside = [f"{w} {v}" for name, w in _INSIDE if (v := getattr(build, name))]
        for words in (sizes, inside):
            if words:
                yield "", f"  {', '.join(words)}"
        if oil := _oil(build):
            yield "", f"  {oil}"
        if build.gas_pressure:
            gas = show(build.gas_pressure, "pressure", preferences.unit("pressure"), with_unit=True)
            yield "", f"  charged to {gas} gauge; the maker's figure comes first"
        for problem in build_problems(build, preferences):
            yield "bold", f"  ! {problem}"
        for rule in build.shop_rules:
            force = show(rule.full_hard_force, "force", preferences.unit("force"), with_unit=True)
            speed = show(rule.reference_speed, "speed", preferences.unit("speed"), with_unit=True)
            share = rule.share_per_click
            less = "" if share is None else f", {100 * share:.3g} % of it a click"
            yield "", f"  shop rule, {rule.direction}: {force} full hard at {speed}{less}"
        sheets = shed.sheets_of(build)
        for sheet in sheets:
            counts = ", counts" if len(sheets) > 1 and sheet is shed.sheet(build) else ""
            yield "", f"  dyno sheet {sheet.date} {sheet.source}".rstrip() + counts
            if sheet.waits:
                yield "bold", f"  ! {waiting_words(sheet)}"
        if not sheets:
            yield "dim", "  no dyno sheet of this build"
        if not number:
            yield from present


def adjuster_words(adjuster: Adjuster) -> str:
    """`rebound 20 clicks from full hard`."""
    words = f"{adjuster.words} {adjuster.clicks} clicks from full {adjuster.counted_from}"
    if adjuster.step != 1:
        words += f", steps of {adjuster.step:g}"
    if adjuster.share_per_click:
        words += f", {adjuster.share_per_click:.0%} a click (shop's figure)"
    return words


def _oil(build: Build) -> str:
    """The oil and what is known of it; empty where nothing is."""
    cold, hot, grade = (
        show(viscosity, "viscosity", "cSt", with_unit=True)
        for viscosity in (build.oil_viscosity_40, build.oil_viscosity_100, build.oil_grade)
    )
    if build.oil_viscosity_40 and build.oil_viscosity_100:
        known = f"{cold} at 40 °C, {hot} at 100 °C"
    elif build.oil_grade and build.oil_index:
        known = f"grade {grade}, viscosity index {build.oil_index:g}"
    elif build.oil:
        known = "no viscosities on record, so the warm curve uses density only"
    else:
        return ""
    return f"oil {build.oil}: {known}" if build.oil else f"oil: {known}"


def _charge(session: Session, corner: str, build: Build | None, preferences: Preferences) -> str:
    """The charge as last read, at 20 °C, and the force with which it pushes the rod."""
    gauge = session.corner(corner).si("gas_pressure")
    read_at = session.corner(corner).si("gas_temperature")
    if gauge is None:
        return "gas not read in that session"
    unit, celsius = preferences.unit("pressure"), preferences.unit("temperature")
    text = f"charge {show(gauge, 'pressure', unit, with_unit=True)} gauge"
    if read_at is None:
        return f"{text}, temperature not read: cannot be compared with other readings"
    text += f" at {show(read_at, 'temperature', celsius, with_unit=True)}"
    try:
        at_20 = float(pressure_at_20(gauge, read_at))
    except BadNumber as error:
        return f"{text}: {error}"
    reference = show(20.0, "temperature", celsius, with_unit=True)
    text += f" = {show(at_20, 'pressure', unit, with_unit=True)} at {reference}"
    if build and build.rod_diameter:
        push = float(rod_force(at_20, build.rod_diameter))
        text += f"; at {reference} it pushes the rod out with {_force(push, preferences)}"
    return text


COMPARED = f"oil temperatures allowed for where known; limit {100 * LOSS:g} %: our own, no source"


def change_lines(first: DynoSheet, changes: Changes) -> Iterator[tuple[str, str]]:
    """(style, line) of a build's newest sheet against its first, a sentence a direction."""
    yield "bold", f"newest dyno sheet against that of {first.date}"
    for found in changes.values():
        if isinstance(found, NoEstimate):
            yield "", str(found)
        else:
            told = sheet_change_words(found)
            yield ("bold", f"! {told}") if found.lost else ("", told)


def sheet_lines(
    sheet: DynoSheet, build: Build, fit: SheetFit, preferences: Preferences
) -> Iterator[tuple[str, str]]:
    """(style, line) of a sheet's facts and what the fit found, with 95 % bands."""
    yield "bold", f"Sheet of build {build.version}  {sheet.date}"
    yield "", sheet.source
    oil = "oil temperature not given"
    if fit.oil_C is not None:
        unit = preferences.unit("temperature")
        oil = f"oil {show(fit.oil_C, 'temperature', unit, with_unit=True)}"
    gas = "gas force taken out again" if sheet.gas_in else "no gas force in it"
    yield "", f"{len(sheet.rows)} rows, {oil}, {gas}"
    for warning in sheet.warnings:
        yield "bold" if warning.serious else "", f"! {warning_words(warning, preferences)}"
    if sheet.seen_by:
        yield "", f"its warnings were seen by {one_line(sheet.seen_by)}"
    for direction in ("bump", "rebound"):
        found: DirectionFit | None = getattr(fit, direction)
        if found is None:
            yield "bold", f"{direction.capitalize()}: no rows"
            continue
        adjuster = build.bleed_adjuster(direction)
        counted = counting(adjuster)
        at = ", ".join(counted(p) for p in found.positions)
        yield f"bold {direction}", f"{direction.capitalize()}: misses {found.rms_percent:.1f} % rms"
        end = f" from full {adjuster.counted_from}" if adjuster else ""
        yield "", f" measured at {at}{end}"
        for parameter in found.parameters:
            yield "", f" {_told(parameter, found, counted, preferences)}"
        if missing := untold(found):
            yield "dim", f" this sheet barely pins down: {', '.join(missing)}"
        run = best_run(found, adjuster.clicks if adjuster else None)
        if run.is_worth:
            told = f"one run at {counted(run.position)}, {speeds_words(run.speeds, preferences)},"
            yield "dim", f" {told} would narrow the bands by about {run.gain:.0%}"
    yield "dim", "“alone”: force if all oil took that way. In brackets the 95 % band."


def speeds_words(speeds: Sequence[float], preferences: Preferences) -> str:
    """`13, 50, 100 mm/s`: rod speeds (m/s) in rising order."""
    unit = preferences.unit("speed")
    return f"{', '.join(show(rod, 'speed', unit) for rod in sorted(speeds))} {unit}"


def counting(adjuster: Adjuster | None) -> Callable[[float], str]:
    """From clicks off full hard to the count as the crew reads it."""
    if adjuster is None:
        return lambda hard: f"{hard:g}"
    return lambda hard: f"{float(as_counted(hard, adjuster.clicks, adjuster.counted_from)):g}"


def _told(
    parameter: Parameter,
    fit: DirectionFit,
    counted: Callable[[float], str],
    preferences: Preferences,
) -> str:
    """A coefficient in the trade's words: as a force at a rod speed, or a speed at a force."""
    name, _, place = parameter.name.partition(" at ")
    bounds = (parameter.value, parameter.low, parameter.high)
    slow = preferences.reference_speeds[min(1, len(preferences.reference_speeds) - 1)]

    def alone(speed: float, force: Callable[[float], float]) -> str:
        least, value, most = (force(max(b, 1e-12)) for b in (bounds[2], bounds[0], bounds[1]))
        at = show(speed, "speed", preferences.unit("speed"), with_unit=True)
        return f"{_band(value, least, most, preferences)} alone at {at}"

    if name == "bleed":
        where = f" at {counted(float(place))}" if place else ""
        return f"bleed{where}: {alone(slow, lambda b: (slow / b) ** 2)}"
    if name == "port":
        fast = preferences.peak_speed
        return f"port: {alone(fast, lambda b: (fast / b) ** 2)}"
    if name == "opening":
        crack = next(p.value for p in fit.parameters if p.name.startswith("crack"))
        split = preferences.speed_split
        return "stack: " + alone(
            split, lambda b: float(force_at(split, FlowPath(0.0, 0.0, crack, b)))
        )
    if name == "leak":
        unit = preferences.unit("speed")
        told = [show(b * 1000.0, "speed", unit) for b in (parameter.low, parameter.high)]
        speed = show(parameter.value * 1000.0, "speed", unit, with_unit=True)
        return f"leak: {speed} at {_force(1000.0, preferences)} ({told[0]} to {told[1]})"
    spoken = {"crack": "stack leaves its seat at", "friction": "seal friction"}
    band = _band(*bounds, preferences)
    return f"{spoken.get(name, name)} {band}" + (f" (ring at {place})" if place else "")


def _force(newton: float, preferences: Preferences) -> str:
    return show(newton, "force", preferences.unit("force"), with_unit=True)


def _band(value: float, low: float, high: float, preferences: Preferences) -> str:
    unit = preferences.unit("force")
    ends = [show(end, "force", unit) if end < 1e6 else "?" for end in (low, high)]
    return f"{_force(value, preferences)} ({ends[0]} to {ends[1]})"


def sheet_change_words(found: SheetChange) -> str:
    """`bump −4.2 % ±1.5, over 5 positions`, and whether that is a loss to act on."""
    told = f"{found.direction} {100 * found.mean:+.1f} % ±{100 * found.band:.1f}".replace("-", "−")
    runs = len(found.positions)
    told += f" over {runs} position{'s' if runs > 1 else ''}"
    if found.lost:
        told += f": more than {100 * LOSS:g} % of the force is lost, gas, oil, seals or wear?"
    elif found.open:
        told += f": a loss of {100 * LOSS:g} % is not ruled out"
        if found.oil_C is None:
            told += "; give both sheets their oil temperature"
        elif abs(found.oil_C[1] - found.oil_C[0]) > ALIKE_C:
            told += "; run both with the oil alike warm"
    return told
