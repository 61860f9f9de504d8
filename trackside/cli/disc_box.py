"""The disc box of the shop: listed, put in, taken out, counted from a spreadsheet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from trackside.cli.command_context import CommandContext, scripted
from trackside.cli.output import emit, say, table
from trackside.errors import BadInput

if TYPE_CHECKING:
    from trackside.crew.disc_box import PartInBox


@click.command(short_help="The shop's disc box: list, put in, take out, count.")
@click.option("--put", multiple=True, metavar="PARTS", help="Put in: 27×0.15 ×6, spacer 0.30 ×4")
@click.option("--take", multiple=True, metavar="PARTS", help="Take out, written the same way.")
@click.option("--read", metavar="FILE", help="A count of the box, as CSV: what, diameter, …")
@scripted
@click.pass_obj
def box(
    context: CommandContext,
    put: tuple[str, ...],
    take: tuple[str, ...],
    read: str | None,
    as_json: bool,
) -> None:
    """The discs, clamp discs, spacers and bleed discs of the shop, with how many there are.

    PARTS are written as on the bench, in mm: 27×0.15 ×6 is six discs, clamp 14 ×2, spacer 0.30 ×4,
    bleed 4×2.0×0.15 a bleed disc with four slots 2.0 wide and 0.15 deep. A spreadsheet is read by
    its headings (what, diameter, thickness, slots, slot width, hole, count, place); each row says
    how many there are now.
    """
    from trackside.crew.disc_box import DiscBox, read_parts
    from trackside.reports.box_words import (
        EMPTY,
        HEADS,
        counted_words,
        moved_words,
        part_doubts,
        part_row,
        part_words,
    )

    if read is not None and (put or take):
        raise BadInput(
            "a spreadsheet is read and parts are moved at once", "do one, then the other"
        )
    told = []
    if put or take or read is not None:
        context.must_exist()
        with context.writer() as logbook:
            parts = DiscBox(logbook)
            goes_in = read_parts(", ".join(put)) if put else []
            comes_out = read_parts(", ".join(take)) if take else []
            if read is not None:
                from trackside.crew.record_table import table_in_file

                counted = parts.counted(*table_in_file(read), context.preferences)
                told.append(counted_words(counted))
                logbook.write(*counted.writes)
            logbook.write(*parts.moved(goes_in, comes_out))
            told += [moved_words(goes_in, "put in")] if goes_in else []
            told += [moved_words(comes_out, "taken out")] if comes_out else []
    with context.reader() as logbook:
        found = DiscBox(logbook).all()
    if as_json:
        emit({"parts": [part_body(part) for part in found], "changes": told})
        return
    say(*told)
    if not found:
        say(EMPTY)
        return
    table([HEADS, *(part_row(part) for part in found)], right=[1])
    for part in found:
        for doubt in part_doubts(part.stored, context.preferences):
            say(f"! {part_words(part.record)}: {doubt}")


def part_body(part: PartInBox) -> dict[str, Any]:
    """A part as JSON speaks of it: lengths in m; unknown is null."""
    record = part.record
    return {
        "id": part.entity[-6:],
        "entity": part.entity,
        "sort": record.sort,
        "name": record.name,
        "diameter_m": record.diameter,
        "thickness_m": record.thickness,
        "hole_m": record.hole,
        "slots": record.slot_count,
        "slot_width_m": record.slot_width,
        "count": record.count,
        "place": record.place,
        "words": record.words or None,
    }
