"""A dyno sheet on its way to a damper: fitted, judged, compared, and only then written down."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass

from trackside.analysis.bench_fit import DIRECTIONS, Counting, bench_fit
from trackside.analysis.fit_checks import sheet_warnings
from trackside.analysis.shed import Shed, fit_of
from trackside.analysis.sheet_change import Changes, sheet_changes
from trackside.analysis.sheet_gas import GasSaid, with_gas
from trackside.damper.sheet_fit import DirectionFit, SheetFit
from trackside.errors import BadInput, BadSheet
from trackside.records import Build, DynoSheet, SheetWarning


@dataclass(frozen=True)
class Intake:
    """A sheet that may be written down, with its warnings in it; `first` is the build's first
    sheet that may count, None where there is none yet, and `changes` are those against it."""

    sheet: DynoSheet
    fits: dict[str, DirectionFit]
    first: DynoSheet | None
    changes: Changes


def judged(sheet: DynoSheet, build: Build, shed: Shed, said: GasSaid | None = None) -> Intake:
    """Judge a sheet of that build. BadSheet names the file and says what cannot be fitted, or that
    it is another damper's; BadInput that the build has it already; GasUnknown that a person must
    say whether gas force is still in it."""
    shed.refuse_stranger(sheet)
    sheet = with_gas(sheet, said or GasSaid(), build)
    fits = by_direction(_fit(sheet, build))
    earlier = shed.sheets_of(build)
    same = next((one for one in earlier if _reads_as(one, build) == _reads_as(sheet, build)), None)
    if same is not None:
        raise BadInput(
            f"{sheet.source} is the sheet of {same.date} that {build.damper} has already",
            "nothing was added",
        )
    before = shed.sheet(build) or (earlier[-1] if earlier else None)
    against = sheet_changes(before, sheet, build) if before else None
    warnings = sheet_warnings(sheet, fits, _counting(sheet, build), changes=against)
    first = next((one for one in earlier if not one.waits), None)
    return Intake(
        sheet.model_copy(update={"warnings": warnings}),
        fits,
        first,
        sheet_changes(first, sheet, build) if first else {},
    )


def judged_alone(sheet: DynoSheet) -> tuple[SheetWarning, ...]:
    """What is doubtful about a sheet that belongs to no damper yet; of one that cannot be fitted
    yet, because positions or the gas force are still to come, what its rows alone show."""
    fits: dict[str, DirectionFit] = {}
    if not sheet.gas_in:
        with suppress(BadSheet):
            fits = bench_fit(sheet).fits
    return sheet_warnings(sheet, fits)


def by_direction(fit: SheetFit) -> dict[str, DirectionFit]:
    """The fits that a sheet has, by direction."""
    found = {direction: getattr(fit, direction) for direction in DIRECTIONS}
    return {direction: one for direction, one in found.items() if one is not None}


def _reads_as(sheet: DynoSheet, build: Build) -> tuple[object, ...]:
    """Its rows, and what was said of their gas force and their counting: said otherwise, the same
    rows are other forces or other positions."""
    gas = (sheet.gas_in, sheet.gas_pressure, sheet.gas_force) if sheet.gas_in else ()
    return sheet.rows, gas, ends_of(build, sheet.counted_from, None)


def _fit(sheet: DynoSheet, build: Build) -> SheetFit:
    try:
        return fit_of(sheet, build)
    except BadSheet as error:
        named = error.cause.startswith(sheet.source)
        cause = error.cause if named else f"{sheet.source}: {error.cause}"
        raise BadSheet(cause, error.remedy) from error


def _counting(sheet: DynoSheet, build: Build) -> Counting | None:
    """From full hard by assumption where neither the sheet nor an adjuster says it."""
    known = sheet.counted_from or all(
        build.bleed_adjuster(direction) for direction in DIRECTIONS if sheet.of_direction(direction)
    )
    return None if known else Counting("hard", "assumed")


def ends_of(
    build: Build | None, counted_from: str | None, clicks: float | None
) -> dict[str, tuple[str | None, float | None]]:
    """From which end each direction counts and how many clicks it has: as a person says, else as
    the build's adjusters are."""
    found: dict[str, tuple[str | None, float | None]] = {}
    for direction in DIRECTIONS:
        knob = build.bleed_adjuster(direction) if build else None
        found[direction] = (
            counted_from or (knob.counted_from if knob else None),
            clicks if clicks is not None else float(knob.clicks) if knob else None,
        )
    return found
