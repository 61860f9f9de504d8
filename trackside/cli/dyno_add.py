"""A dyno sheet added to a damper of the logbook, with what is doubtful about it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from trackside.cli.command_context import CommandContext, scripted
from trackside.cli.dyno_compare import change_body, no_build
from trackside.cli.output import emit, say
from trackside.cli.sheet_given import Given, about_sheet, asked_gas, at_terminal, warning_body
from trackside.errors import BadInput, UnknownRecord

if TYPE_CHECKING:
    from trackside.analysis.shed import Shed
    from trackside.analysis.sheet_intake import Intake
    from trackside.logbook import Logbook
    from trackside.records import Build, DynoSheet

_COUNT, _KEEP, _DROP = "count", "keep", "drop"


@click.command(short_help="Add a sheet to a damper.")
@click.argument("sheets", metavar="SHEET.csv…", nargs=-1, required=True)
@click.option("--damper", "serial", required=True, metavar="SERIAL", help="Whose sheet it is.")
@click.option("--build", "version", metavar="VERSION", help="Default: its present build.")
@click.option("--date", "day", metavar="YYYY-MM-DD", help="When it was run; default: today.")
@about_sheet
@click.option(
    "--yes", "seen", is_flag=True, help="You have seen its serious warnings: let it count."
)
@scripted
@click.pass_obj
def add(
    context: CommandContext,
    sheets: tuple[str, ...],
    serial: str,
    version: str | None,
    day: str | None,
    given: Given,
    seen: bool,
    as_json: bool,
) -> None:
    """Add a sheet to a damper of the logbook, once it is sure that it can be fitted.

    A sheet with serious warnings (a poor fit, a doubtful unit, gas force left in it, a force that
    changed by more than 30 %) does not count until somebody has seen them: --yes, the question
    that is put at a terminal, dyno seen, or the damper shed.
    """
    from trackside.crew.sheet_adding import add_sheet
    from trackside.crew.sheet_file import of_build
    from trackside.crew.strip_downs import StripDowns
    from trackside.reports.sheet_warning_words import OTHER_COUNTS
    from trackside.reports.strip_down_words import BENCH_TICKED

    with context.writer() as logbook:
        shed, build = shed_and_build(logbook, serial, version)
        given_sheet = of_build(given.sheet(sheets, build), build, day or "")
        intake = _judged(given_sheet, build, shed, given, context, as_json)
        sign = _signed_for(intake.sheet, context, seen, as_json)
        taken = add_sheet(intake, build, context.preferences.signed_by if sign else "")
        ticks = StripDowns(logbook).benched(taken.sheet)
        logbook.write(taken.write, *ticks, reason=taken.reason)
    record = taken.sheet
    misses = {name: float(fit.rms_percent) for name, fit in intake.fits.items()}
    if as_json:
        preferences = context.tell_in(as_json)
        emit({
            "sheet": taken.write.entity,
            "damper": record.damper,
            "build": record.build,
            "date": record.date,
            "rows": len(record.rows),
            "rms_percent": misses,
            "warnings": [warning_body(warning, preferences) for warning in record.warnings],
            "waits": record.waits,
            "seen_by": record.seen_by or None,
            "ticked_on_its_strip_down": bool(ticks),
            **(change_body(intake.first, intake.changes) if intake.first else {}),
        })  # fmt: skip
        return
    told = ", ".join(f"{d} misses by {miss:.1f} % rms" for d, miss in misses.items())
    say(f"{len(record.rows)} rows added to {record.damper} build {record.build}: {told}")
    if ticks:
        say(f"{BENCH_TICKED}: trackside job {record.damper}")
    _say_doubts(intake, record, context)
    if taken.other_counts:
        say(f"{OTHER_COUNTS}: the damper shed changes it")


def _judged(
    sheet: DynoSheet, build: Build, shed: Shed, given: Given, context: CommandContext, as_json: bool
) -> Intake:
    """The sheet judged; at a terminal the person is asked what is not known of its gas force."""
    from trackside.analysis.sheet_gas import GasUnknown
    from trackside.analysis.sheet_intake import judged

    said = given.gas(context)
    while True:
        try:
            return judged(sheet, build, shed, said)
        except GasUnknown as reason:
            said = asked_gas(reason, said, context, as_json)


def shed_and_build(logbook: Logbook, serial: str, version: str | None) -> tuple[Shed, Build]:
    """The shed, and that build of the damper or its present one; UnknownRecord without it."""
    from trackside.analysis.shed import Shed

    shed = Shed.of(logbook)
    build = shed.build(serial, version)
    if build is None:
        raise UnknownRecord(*no_build(shed, serial, version))
    return shed, build


def _signed_for(sheet: DynoSheet, context: CommandContext, said: bool, as_json: bool) -> bool:
    """Whether somebody signs for the sheet's serious warnings; at a terminal the question is put.
    BadInput when it is not to be added."""
    if not sheet.waits:
        return False
    if not said and at_terminal(as_json):
        say(*_serious(sheet, context))
        answer = click.prompt(
            "Count it, keep it without letting it count, or drop it?",
            type=click.Choice((_COUNT, _KEEP, _DROP)),
            default=_DROP,
        )
        if answer == _DROP:
            raise BadInput(f"{sheet.source} was not added", "look at it again, and add it then")
        return bool(answer == _COUNT)
    return said


def _serious(sheet: DynoSheet, context: CommandContext) -> Sequence[str]:
    from trackside.reports.sheet_warning_words import warning_words

    serious = (warning for warning in sheet.warnings if warning.serious)
    return [f"! {warning_words(warning, context.preferences)}" for warning in serious]


def _say_doubts(intake: Intake, record: DynoSheet, context: CommandContext) -> None:
    from trackside.reports.bench_words import change_lines
    from trackside.reports.sheet_warning_words import waiting_words, warning_words

    say(*(f"! {warning_words(warning, context.preferences)}" for warning in record.warnings))
    if record.waits:
        say(f"! {waiting_words(record)}: trackside dyno seen {record.damper}, or the damper shed")
    if intake.first:
        say(*(line for _, line in change_lines(intake.first, intake.changes)))
