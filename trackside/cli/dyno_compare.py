"""The dyno sheets of one build: which one counts, and what force was lost between them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from trackside.cli.command_context import CommandContext, scripted
from trackside.cli.output import emit, millimetres, no_estimate, say
from trackside.errors import NoEstimate, UnknownRecord

if TYPE_CHECKING:
    from trackside.analysis.shed import Shed
    from trackside.analysis.sheet_change import Changes
    from trackside.records import Build, DynoSheet


@click.command(short_help="The sheets of a build: what force was lost.")
@click.argument("serial", metavar="SERIAL")
@click.option("--build", "version", metavar="VERSION", help="Default: its present build.")
@scripted
@click.pass_obj
def compare(context: CommandContext, serial: str, version: str | None, as_json: bool) -> None:
    """The newest dyno sheet of a build against its first: a loss of force is told.

    One with serious warnings that nobody has seen is listed, and not compared.
    """
    from trackside.analysis.shed import Shed
    from trackside.analysis.sheet_change import against_first
    from trackside.reports.bench_words import COMPARED, change_lines

    with context.reader() as logbook:
        shed = Shed.of(logbook)
    build = shed.build(serial, version)
    if build is None:
        raise UnknownRecord(*no_build(shed, serial, version))
    sheets, changed = shed.sheets_of(build), against_first(build, shed)
    if len(sheets) < 2:
        raise NoEstimate(
            f"{build.damper} build {build.version} has {len(sheets) or 'no'} dyno "
            f"sheet{'' if len(sheets) == 1 else 's'}",
            "two are compared: add another with dyno add",
        )
    if as_json:
        emit({
            "damper": build.damper,
            "build": build.version,
            "sheets": [_sheet_body(sheet, build, shed) for sheet in sheets],
            **(change_body(*changed) if changed else {"against": None, "changes": {}}),
        })  # fmt: skip
        return
    for sheet in sheets:
        counts = ", counts" if sheet is shed.sheet(build) else ""
        waits = ", waits for its warnings to be seen" if sheet.waits else ""
        say(f"{build.damper} build {build.version}: {sheet.date} {sheet.source}{counts}{waits}")
    if changed is None:
        say("", f"fewer than two may count: trackside dyno seen {build.damper} shows the warnings")
        return
    say("", *(line for _, line in change_lines(*changed)), COMPARED)


def change_body(first: DynoSheet, changes: Changes) -> dict[str, Any]:
    """The same for scripts; shares are of the first sheet's force."""
    found: dict[str, Any] = {}
    for direction, change in changes.items():
        if isinstance(change, NoEstimate):
            found[direction] = no_estimate(change)
            continue
        found[direction] = {
            "change": change.mean,
            "band": change.band,
            "lost": change.lost,
            "clicks_from_hard": change.positions,
            "speed_mm_s": millimetres(change.speed),
            "change_at_speed": change.share,
            "oil_C": change.oil_C,
        }
    return {"against": first.date, "changes": found}


def _sheet_body(sheet: DynoSheet, build: Build, shed: Shed) -> dict[str, Any]:
    return {
        "date": sheet.date,
        "source": sheet.source,
        "counts": sheet is shed.sheet(build),
        "waits": sheet.waits,
    }


def no_build(shed: Shed, serial: str, version: str | None) -> tuple[str, str]:
    """Why there is no such build, and the remedy."""
    builds = shed.builds_of(serial)
    if builds:
        known = ", ".join(b.version for b in builds)
        return f"{serial} has no build “{version}”", f"it has {known}"
    if shed.damper(serial):
        return f"{serial} has no build yet", "enter what is inside it in the damper shed"
    known = ", ".join(d.serial for d in shed.dampers)
    return (
        f"there is no damper {serial} in the logbook",
        f"there are {known}" if known else "enter it in the damper shed first",
    )
