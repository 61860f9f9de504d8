"""On paper: a run sheet, or a driver's debrief, as text or as one HTML file to be printed."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from trackside.cli.command_context import CommandContext, replacing, scripted
from trackside.cli.output import emit, must_be_free, say, write_whole
from trackside.errors import UnknownRecord
from trackside.preferences import PAPERS

if TYPE_CHECKING:
    from trackside.logbook import Logbook
    from trackside.preferences import Preferences
    from trackside.reports.document import Document

F = TypeVar("F", bound=Callable[..., Any])


def printed(command: F) -> F:
    """Give a command what says where and on what it is printed."""
    for option in (
        replacing,
        click.option("--paper", type=click.Choice(PAPERS),
                     help="What the HTML file prints on; default: the preferences', else a4."),
        click.option("--html", "target", metavar="FILE", help="Write HTML to be printed."),
        scripted,
    ):  # fmt: skip
        command = option(command)
    return command


@click.command(short_help="A session's run sheet, to read or to print.")
@click.argument("session", default="last")
@click.option("--to-do", is_flag=True, help="What changes since the car's last run, to tick.")
@printed
@click.pass_obj
def sheet(
    context: CommandContext,
    session: str,
    to_do: bool,
    target: str | None,
    paper: str | None,
    replace: bool,
    as_json: bool,
) -> None:
    """What the four corners ran, conditions, force and curves; boxes for what is not entered.

    As text, or with --html as one file that a browser prints. With --to-do it is the mechanic's
    sheet: from and to of what changes, boxes to tick, a word to read back.
    """
    from trackside.analysis.shed import Shed

    if to_do:
        from trackside.reports.to_do import to_do_sheet as document_of
    else:
        from trackside.reports.run_sheet import run_sheet as document_of

    with context.reader() as logbook:
        entity, shed = logbook.session(session), Shed.of(logbook)
        page = partial(document_of, logbook, entity, shed)
        give(page, context, target, paper, replace, as_json)


@click.command(short_help="A driver's debrief, to read or to print.")
@click.argument("session", default="last", metavar="[SESSION|DRIVER]")
@printed
@click.pass_obj
def debrief(
    context: CommandContext,
    session: str,
    target: str | None,
    paper: str | None,
    replace: bool,
    as_json: bool,
) -> None:
    """What changed since the driver's last outing, what it is worth, and what was said.

    By session, or by a driver's name: that driver's newest session.
    """
    from trackside.analysis.shed import Shed
    from trackside.reports.debriefing import debrief_page

    with context.reader() as logbook:
        entity, shed = _session_or_driver(logbook, session), Shed.of(logbook)
        page = partial(debrief_page, logbook, entity, shed)
        give(page, context, target, paper, replace, as_json)


def _session_or_driver(logbook: Logbook, name: str) -> str:
    try:
        return logbook.session(name)
    except UnknownRecord:
        wanted = name.casefold()
        for line in logbook.each_session():
            if wanted and wanted in line.driver.casefold():
                return line.entity
        raise


def give(
    page: Callable[[Preferences], Document],
    context: CommandContext,
    target: str | None,
    paper: str | None,
    replace: bool,
    as_json: bool,
) -> None:
    """That page in words, as JSON, or in a file to be printed."""
    if target is not None:
        from trackside.reports.html import html

        place = Path(target)
        must_be_free(place, replace)
        size = paper or context.preferences.paper
        footer = f"{context.log.name} · printed {datetime.now():%Y-%m-%d %H:%M}"
        write_whole(place, lambda file: file.write(html(page(context.preferences), size, footer)))
    if as_json:
        from dataclasses import asdict

        emit({**asdict(page(context.tell_in(as_json))), "file": target})
    elif target is not None:
        say(f"Written to {place}. Open it in a browser and print.")
    else:
        from trackside.reports.text import text

        columns, _ = shutil.get_terminal_size((80, 24))
        say(*text(page(context.preferences), min(max(columns, 60), 100), context.ink()))
