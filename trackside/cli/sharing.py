"""Between laptops: bundles and a shared folder."""

from __future__ import annotations

from pathlib import Path

import click

from trackside.cli.command_context import CommandContext, replacing, scripted
from trackside.cli.output import emit, must_be_free, say


@click.group(short_help="Carry the logbook to another laptop.")
def bundle() -> None:
    """Carry the whole logbook, with its history, to another laptop and merge it there."""


@bundle.command("write", short_help="Write everything into one file.")
@click.argument("file")
@replacing
@scripted
@click.pass_obj
def bundle_write(context: CommandContext, file: str, replace: bool, as_json: bool) -> None:
    """Write every revision into FILE, whole or not at all: with --replace, a stick that is pulled
    out holds the old bundle or the new one."""
    from trackside.logbook.sharing import give

    target = Path(file)
    must_be_free(target, replace)
    with context.reader() as logbook:
        count = give(logbook, target)
    if as_json:
        emit({"file": target, "revisions": count})
    else:
        say(f"{count} revisions written to {file}")


@bundle.command("read", short_help="Take a bundle in.")
@click.argument("file")
@scripted
@click.pass_obj
def bundle_read(context: CommandContext, file: str, as_json: bool) -> None:
    """Add what is new in FILE: every intact line, also of a damaged file. Nothing here is lost or
    overwritten; where two laptops differ, both versions are kept."""
    from trackside.logbook.sharing import receive

    with context.writer() as logbook:
        taken = receive(logbook, Path(file))
        open_ = len(logbook.open_conflicts())
    if as_json:
        emit({"logbook": context.log, **taken._asdict(), "conflicts": open_})
        return
    say(f"{taken.added} revisions taken in, {taken.same} were here already")
    say_problems(taken.problems)
    say_open(open_)


@click.command(short_help="Share through a folder.")
@click.argument("folder")
@scripted
@click.pass_obj
def share(context: CommandContext, folder: str, as_json: bool) -> None:
    """Take what others put into FOLDER, then put in what is new here.

    Each laptop only adds files of its own, so whatever copies the folder about has nothing to
    overwrite. Run it whenever you like.
    """
    from trackside.logbook.sharing import share as share_through

    with context.writer() as logbook:
        found = share_through(logbook, Path(folder))
        open_ = len(logbook.open_conflicts())
    if as_json:
        emit({"logbook": context.log, "folder": folder, **found._asdict(), "conflicts": open_})
        return
    say(f"{found.taken} revisions taken from {found.files} files, {found.given} put in")
    say_problems(found.problems)
    say_open(open_)


def say_problems(problems: tuple[str, ...]) -> None:
    """Say what of another laptop's could not be taken."""
    if problems:
        say("What could not be taken:", *(f"  {problem}" for problem in problems))


def say_open(count: int) -> None:
    """Say that values differ, if any do."""
    if count:
        values = "1 value differs" if count == 1 else f"{count} values differ"
        say(f"{values} between laptops: see trackside conflicts")
