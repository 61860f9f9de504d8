"""Copies: a damper or a car entered like another one, a corner set like the one beside it."""

from __future__ import annotations

import click

from trackside.cli.command_context import CommandContext, corner_named, scripted
from trackside.cli.output import emit, heading, say


@click.group(short_help="Enter a damper or a car like another; set a corner like its pair.")
def copy() -> None:
    """Enter a damper or a car like one that is on record, or set a corner like its pair.

    What is the same by design, or is set by hand, is copied; what was measured or read is not.
    Undo takes a copy back in one step.
    """


@copy.command("damper", short_help="Enter dampers like another one.")
@click.argument("serial", metavar="SERIAL")
@click.argument("serials", metavar="NEW...", nargs=-1, required=True)
@scripted
@click.pass_obj
def damper(context: CommandContext, serial: str, serials: tuple[str, ...], as_json: bool) -> None:
    """Enter dampers under the serials NEW, each like SERIAL in its present build.

    Copied: model, sizes, adjusters and their counting, shop rule, oil, stacks, parts. Not copied:
    gas charge, dyno sheets, work done, place, notes.
    """
    from trackside.crew.copies import copied_damper
    from trackside.reports.copy_words import OF_ONE_DAMPER, copied_words

    context.must_exist()
    with context.writer() as logbook:
        copies = copied_damper(logbook, serial, serials)
        logbook.write(*copies.writes)
    if as_json:
        emit({"copied_from": copies.of, "dampers": list(copies.names),
              "copied": list(copies.copied), "not_copied": list(copies.left)})  # fmt: skip
        return
    say(copied_words(copies, OF_ONE_DAMPER))


@copy.command("car", short_help="Enter a car like another one.")
@click.argument("car", metavar="CAR")
@click.argument("name", metavar="NAME")
@click.option("--number", default="", metavar="NUMBER", help="Of the new car.")
@scripted
@click.pass_obj
def car(context: CommandContext, car: str, name: str, number: str, as_json: bool) -> None:
    """Enter a car called NAME like CAR, which goes by its name or number.

    Copied: lengths, unsprung masses, motion ratios, springs, tyres, bump stops. Not copied: what
    was read on the scales, notes, sessions.
    """
    from trackside.analysis.recall import car_named
    from trackside.crew.copies import copied_car
    from trackside.reports.copy_words import OF_ONE_CAR, copied_words

    context.must_exist()
    with context.writer() as logbook:
        copies = copied_car(logbook, car_named(logbook, car)[0], name, number)
        logbook.write(*copies.writes)
    if as_json:
        emit({"copied_from": copies.of, "car": copies.names[0], "copied": list(copies.copied),
              "not_copied": list(copies.left)})  # fmt: skip
        return
    say(copied_words(copies, OF_ONE_CAR))


@copy.command("corner", short_help="Set the other side of an axle like this corner.")
@click.argument("corner", metavar="CORNER")
@click.argument("session", default="last")
@click.option("--instead", is_flag=True, help="In place of other values that stand there.")
@click.option("--reason", "why", default="", metavar="TEXT", help="Of a correction.")
@scripted
@click.pass_obj
def corner(
    context: CommandContext, corner: str, session: str, instead: bool, why: str, as_json: bool
) -> None:
    """Set the other side of the axle like CORNER, in SESSION; without one, in the newest.

    Its settings and targets go across, never what was read there, and never damper and build. A
    count goes across from the same end.
    """
    from trackside.analysis.shed import Shed
    from trackside.crew.mirroring import mirrored, put_across
    from trackside.records import value_body
    from trackside.reports.mirror_words import done_words

    of = corner_named(corner)
    context.must_exist()
    with context.writer() as logbook:
        entity = logbook.session(session)
        found = mirrored(logbook.session_record(entity), of, Shed.of(logbook))
        put_across(logbook, entity, found, instead=instead, why=why)
        line = logbook.session_line(entity)
    if as_json:
        values = {path: value_body(value) for path, value in found.by_path.items()}
        emit({"session": entity, "from": of, "to": found.to, "set": values,
              "left": dict(found.left), "built_alike": not found.unlike})  # fmt: skip
        return
    say(heading(line), done_words(found, context.preferences))
