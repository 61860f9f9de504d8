"""The serious warnings of a damper's dyno sheets: seen by a person, so that the sheets count."""

from __future__ import annotations

import click

from trackside.cli.command_context import CommandContext, scripted
from trackside.cli.dyno_add import CHOSEN, shed_and_build
from trackside.cli.output import emit, say
from trackside.cli.sheet_given import warning_body
from trackside.errors import BadInput


@click.command(short_help="Sign for the warnings of a sheet: then it counts.")
@click.argument("serial", metavar="SERIAL")
@click.option("--build", "version", metavar="VERSION", help="Default: its present build.")
@scripted
@click.pass_obj
def seen(context: CommandContext, serial: str, version: str | None, as_json: bool) -> None:
    """Sign that you have seen the serious warnings of a damper's dyno sheets, which it prints.

    Until then such a sheet does not count. Who signed is kept with it.
    """
    from trackside.logbook import patch
    from trackside.reports.sheet_warning_words import warning_words

    preferences = context.tell_in(as_json)
    with context.writer() as logbook:
        shed, build = shed_and_build(logbook, serial, version)
        waiting = [(name, sheet) for name, sheet in shed.named_sheets(build) if sheet.waits]
        if not waiting:
            raise BadInput(
                f"no dyno sheet of {build.damper} build {build.version} waits to be seen",
                "dyno compare lists its sheets",
            )
        who = {"seen_by": context.preferences.signed_by}
        writes = [patch("sheet", name, who) for name, _ in waiting]
        logbook.write(*writes, reason="warnings of the dyno sheet seen")
    if as_json:
        emit({
            "damper": build.damper,
            "build": build.version,
            **who,
            "sheets": [
                {
                    "date": sheet.date,
                    "source": sheet.source,
                    "warnings": [warning_body(w, preferences) for w in sheet.warnings],
                }
                for _, sheet in waiting
            ],
        })  # fmt: skip
        return
    for _, sheet in waiting:
        say(f"{build.damper} build {build.version}: {sheet.date} {sheet.source}")
        say(*(f"! {warning_words(warning, preferences)}" for warning in sheet.warnings))
    say(f"seen by {who['seen_by']}")
    if build.sheet and build.sheet not in [name for name, _ in waiting]:
        say(CHOSEN)
