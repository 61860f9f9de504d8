"""The screens, opened from the command line; on a terminal that only prints, the list of runs."""

from __future__ import annotations

import gc
import os
import sys
from pathlib import Path

import click

from trackside.cli.command_context import CommandContext
from trackside.errors import BadInput


def open_screens(context: CommandContext, log: Path) -> None:
    """Open that logbook on screen. BadInput when there is no terminal to draw on, UnknownRecord
    when it is only to be read and not there. On a terminal that only prints, list it."""
    from trackside.preferences import only_prints

    served = "TEXTUAL_DRIVER" in os.environ
    if not served and not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise BadInput("the screens need a terminal", "see trackside --help for commands")
    if served:
        from trackside.serve.child import end_with_server

        end_with_server()
    elif only_prints():
        _list_instead(log)
        return
    if context.read_only:
        context.must_exist()
    gc.disable()  # it would look through every import; the app turns it on again
    try:
        from trackside.tui.app import run

        run(log, context.preferences, backups=log == context.log, read_only=context.read_only)
    finally:
        gc.enable()


def _list_instead(log: Path) -> None:
    from trackside.cli.sessions import list_

    listing = click.Context(list_, obj=CommandContext(log))
    listing.invoke(list_, limit=None, driver=None, as_json=False)
    click.echo(
        "trackside: this terminal only prints (TERM=dumb), so the screens cannot be drawn: "
        "see trackside --help for commands, or open another terminal.",
        err=True,
    )
