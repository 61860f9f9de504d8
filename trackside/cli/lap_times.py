"""Lap times from the file of a timing system."""

from __future__ import annotations

from pathlib import Path

import click

from trackside.cli.command_context import CommandContext, scripted
from trackside.cli.output import emit, say


@click.command(short_help="Put the lap times of a timing sheet into a session.")
@click.argument("sheet", metavar="SHEET.csv")
@click.argument("session", default="last")
@click.option(
    "--columns",
    multiple=True,
    metavar="NAME=OURS",
    help="What a column is, as in “Zeit=lap_time”; remembered. May be repeated.",
)
@click.option("--only", metavar="NAME=VALUE", help="Only rows like this, as in “No=27”.")
@click.option("--reason", "why", default="", metavar="TEXT", help="Of a correction.")
@click.option("--instead", is_flag=True, help="In place of the lap times that stand there.")
@scripted
@click.pass_obj
def laps(
    context: CommandContext,
    sheet: str,
    session: str,
    columns: tuple[str, ...],
    only: str | None,
    why: str,
    instead: bool,
    as_json: bool,
) -> None:
    """Put the lap times of a timing sheet into a session; without one, the newest.

    The columns go by their headings: lap time, or time; lap; in/out; driver. --columns says what
    others are: lap_time, lap, mark, driver or ignore. A lap that cannot be read stays as it is.
    """
    from trackside.cli.output import heading
    from trackside.cli.sessions import from_laps
    from trackside.crew.lap_adding import laps_in_file, put_laps
    from trackside.records.lap_columns import named_columns, only_rows
    from trackside.records.laps import lap_of
    from trackside.reports.lap_words import from_laps_words

    context.must_exist()
    rows = only_rows(only) if only else ("", "")
    table = laps_in_file(sheet, named_columns(columns), rows)
    with context.writer() as logbook:
        entity = logbook.session(session)
        name = Path(sheet).name
        written = put_laps(logbook, entity, table.laps, name, instead=instead, why=why)
        line, record = logbook.session_line(entity), logbook.session_record(entity)
    unread = [number for number, lap in enumerate(table.laps, 1) if not lap_of(lap).is_read]
    if as_json:
        emit({
            "session": line.entity, "written": written, "column": table.column,
            "lap_times_s": list(table.laps), "from_lap_times": from_laps(record),
            "unread": unread, "left_out": table.left_out,
        })  # fmt: skip
        return
    say(heading(line))
    count = f"{len(table.laps)} lap{'' if len(table.laps) == 1 else 's'}"
    say(f"{count} written" if written else f"the same {count} are there already: nothing written")
    if worked_out := from_laps_words(record):
        say(f"lap times: {worked_out}")
    for number in unread:
        say(f"! lap {number}, “{table.laps[number - 1]}”, is no lap time: saved as it is")
    if table.left_out:
        say(f"{table.left_out} row{'' if table.left_out == 1 else 's'} without a lap left out")
