"""The serious warnings of a damper's dyno sheets: seen by a person, so that the sheets count."""

from __future__ import annotations

import click

from trackside.cli.command_context import CommandContext, scripted
from trackside.cli.dyno_add import shed_and_build
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
    from trackside.crew.sheet_adding import SEEN, sign_for, waiting
    from trackside.reports.sheet_warning_words import OTHER_COUNTS, warning_words

    preferences = context.tell_in(as_json)
    with context.writer() as logbook:
        shed, build = shed_and_build(logbook, serial, version)
        unseen = waiting(shed, build)
        if not unseen:
            raise BadInput(
                f"no dyno sheet of {build.damper} build {build.version} waits to be seen",
                "dyno compare lists its sheets",
            )
        who = {"seen_by": context.preferences.signed_by}
        names = [name for name, _ in unseen]
        logbook.write(*sign_for(names, who["seen_by"]), reason=SEEN)
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
                for _, sheet in unseen
            ],
        })  # fmt: skip
        return
    for _, sheet in unseen:
        say(f"{build.damper} build {build.version}: {sheet.date} {sheet.source}")
        say(*(f"! {warning_words(warning, preferences)}" for warning in sheet.warnings))
    say(f"seen by {who['seen_by']}")
    if build.sheet and build.sheet not in names:
        say(f"{OTHER_COUNTS}: the damper shed changes it")
