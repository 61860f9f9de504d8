"""A damper's label, to be printed: serial, build, and a code that a hand reader types."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TextIO

import click

from trackside.cli.command_context import CommandContext, replacing, scripted
from trackside.cli.output import emit, must_be_free, say, write_whole
from trackside.errors import BadInput, UnknownRecord
from trackside.preferences import PAPERS


@click.command(short_help="A damper's label with a QR code, to be printed.")
@click.argument("serial")
@click.option("--svg", metavar="FILE", help="Write the label alone, 60 × 28 mm.")
@click.option("--html", metavar="FILE", help="Write a page to be printed.")
@click.option("--paper", type=click.Choice(PAPERS), help="Of that page; default: the preferences'.")
@replacing
@scripted
@click.pass_obj
def label(
    context: CommandContext,
    serial: str,
    svg: str | None,
    html: str | None,
    paper: str | None,
    replace: bool,
    as_json: bool,
) -> None:
    """The label of the damper SERIAL, with its present build. The code holds the serial alone: a
    hand reader that works as a keyboard types it into the damper's cell of the run sheet."""
    from trackside.analysis.shed import Shed
    from trackside.reports.label import label_html, label_svg

    if not (svg or html):
        raise BadInput("no file is named for the label", "give --svg FILE, --html FILE, or both")
    with context.reader() as logbook:
        shed = Shed.of(logbook)
    damper = shed.damper(serial)
    if damper is None:
        raise UnknownRecord(f"“{serial}” is not in the shed", "trackside list names the dampers")
    build = shed.build(damper.serial)
    built = " · ".join(part for part in (build.version, build.date) if part) if build else ""
    lines = [
        line for line in (f"build {built}" if built else "", damper.model, damper.place) if line
    ]
    size = paper or context.preferences.paper
    pages = {svg: label_svg(damper.serial, lines)} if svg else {}
    if html:
        pages[html] = label_html(damper.serial, lines, size)
    for target, text in pages.items():
        must_be_free(Path(target), replace)
        write_whole(Path(target), partial(_fill, text))
    if as_json:
        emit({"damper": damper.serial, "lines": lines, "files": list(pages)})
    else:
        say(*(f"Written to {target}." for target in pages))


def _fill(text: str, file: TextIO) -> None:
    file.write(text)
