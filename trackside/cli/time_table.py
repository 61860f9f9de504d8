"""The time-table of a day."""

from __future__ import annotations

from datetime import date
from typing import Any

import click

from trackside.cli.command_context import CommandContext, scripted
from trackside.cli.output import emit, say, table
from trackside.errors import BadInput


@click.command(short_help="The sessions of a day: when, how long, what is open.")
@click.argument("day", required=False, metavar="[DAY]")
@scripted
@click.pass_obj
def timetable(context: CommandContext, day: str | None, as_json: bool) -> None:
    """The sessions that begin on DAY (2026-05-09; today where none is given), in their order."""
    from trackside.analysis.time_table import beside, time_table
    from trackside.reports.run_state import state_words
    from trackside.reports.time_table import beside_words, slot_words

    try:
        wanted = date.fromisoformat(day).isoformat() if day else date.today().isoformat()
    except ValueError:
        raise BadInput(f"“{day}” is no day", "give it as 2026-05-09") from None
    with context.reader() as logbook:
        slots = time_table(logbook, wanted)
    if as_json:
        bodies: list[dict[str, Any]] = [
            {
                "session": slot.name,
                "venue": slot.lines[0].venue,
                "begins": slot.begins.isoformat(timespec="minutes"),
                "ends": slot.ends.isoformat(timespec="minutes") if slot.ends else None,
                "runs": [line.short for line in slot.lines],
                "ran": any(line.ran for line in slot.lines),
                "beside": [other.name for other in beside(slots, slot)],
            }
            for slot in slots
        ]
        emit({"day": wanted, "sessions": bodies})
        return
    if not slots:
        say(f"No session begins on {wanted}.")
    table(
        (
            slot_words(slot),
            slot.name,
            slot.lines[0].venue,
            ", ".join(dict.fromkeys(line.car_name for line in slot.lines if line.car_name)),
            "" if any(line.ran for line in slot.lines) else state_words("", False),
            beside_words(slots, slot),
        )
        for slot in slots
    )
