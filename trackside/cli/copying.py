"""Copies: a damper or a car entered like another one."""

from __future__ import annotations

import click

from trackside.cli.command_context import CommandContext, scripted
from trackside.cli.output import emit, say


@click.group(short_help="Enter a damper or a car like another.")
def copy() -> None:
    """Enter a damper or a car like one that is on record.

    What is the same by design is copied; what was measured on that one is not. Undo takes a copy
    back in one step.
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
