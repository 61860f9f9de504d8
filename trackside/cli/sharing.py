"""Between laptops: bundles and a shared folder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from trackside.cli.command_context import CommandContext, replacing, scripted
from trackside.cli.output import emit, must_be_free, say

if TYPE_CHECKING:
    from trackside.logbook.attached import Carried

SAID: Final = 20
"""How many sentences are said of files that could not be carried."""


@click.group(short_help="Carry the logbook to another laptop.")
def bundle() -> None:
    """Carry the whole logbook, with its history, to another laptop and merge it there."""


@bundle.command("write", short_help="Write everything into one file.")
@click.argument("file")
@click.option("--files", is_flag=True, help="Put what notes name into FILE-files, too.")
@replacing
@scripted
@click.pass_obj
def bundle_write(
    context: CommandContext, file: str, files: bool, replace: bool, as_json: bool
) -> None:
    """Write every revision into FILE, whole or not at all: with --replace, a stick that is pulled
    out holds the old bundle or the new one. Photos and files go along only with --files."""
    from trackside.logbook.attached import carry, folder_of
    from trackside.logbook.sharing import give

    target = Path(file)
    must_be_free(target, replace)
    with context.reader() as logbook:
        count = give(logbook, target)
        here, there = folder_of(logbook.path), folder_of(target)
        carried = carry(logbook, here, there) if files else None
    if as_json:
        emit({"file": target, "revisions": count, **carried_body(carried)})
        return
    say(f"{count} revisions written to {file}")
    say_carried(carried, there)


@bundle.command("read", short_help="Take a bundle in.")
@click.argument("file")
@click.option("--files", is_flag=True, help="Take what notes name from FILE-files, too.")
@scripted
@click.pass_obj
def bundle_read(context: CommandContext, file: str, files: bool, as_json: bool) -> None:
    """Add what is new in FILE: every intact line, also of a damaged file. Nothing here is lost or
    overwritten; where two laptops differ, both versions are kept."""
    from trackside.logbook.attached import carry, folder_of
    from trackside.logbook.sharing import receive

    with context.writer() as logbook:
        taken = receive(logbook, Path(file))
        open_ = len(logbook.open_conflicts())
        there, here = folder_of(Path(file)), folder_of(logbook.path)
        carried = carry(logbook, there, here) if files else None
    if as_json:
        emit({"logbook": context.log, **taken._asdict(), "conflicts": open_,
              **carried_body(carried)})  # fmt: skip
        return
    say(f"{taken.added} revisions taken in, {taken.same} were here already")
    say_carried(carried, here)
    say_problems(taken.problems)
    say_open(open_)


@click.command(short_help="Share through a folder.")
@click.argument("folder")
@click.option("--files", is_flag=True, help="Take and put in what notes name, too.")
@scripted
@click.pass_obj
def share(context: CommandContext, folder: str, files: bool, as_json: bool) -> None:
    """Take what others put into FOLDER, then put in what is new here.

    Each laptop only adds files of its own, so whatever copies the folder about has nothing to
    overwrite. Run it whenever you like. Photos and files of notes go along only with --files.
    """
    from trackside.logbook.attached import carry, folder_of
    from trackside.logbook.sharing import share as share_through

    with context.writer() as logbook:
        found = share_through(logbook, Path(folder))
        open_ = len(logbook.open_conflicts())
        here, there = folder_of(logbook.path), Path(folder) / "files"
        taken = carry(logbook, there, here) if files else None
        given = carry(logbook, here, there) if files else None
    if as_json:
        carried = carried_body(taken, "files_taken") | carried_body(given, "files_given")
        emit({"logbook": context.log, "folder": folder, **found._asdict(), "conflicts": open_,
              **carried})  # fmt: skip
        return
    say(f"{found.taken} revisions taken from {found.files} files, {found.given} put in")
    say_carried(taken, here)
    say_carried(given and given._replace(problems=()), there)
    say_problems(found.problems)
    say_open(open_)


def carried_body(carried: Carried | None, name: str = "files") -> dict[str, Any]:
    """What JSON says of files, where they were asked for."""
    if carried is None:
        return {}
    return {name: carried._asdict()}


def say_carried(carried: Carried | None, place: Path | str) -> None:
    """Say what became of the files that notes name, where they were asked for."""
    if carried is not None:
        many = "1 file" if carried.copied == 1 else f"{carried.copied} files"
        say(f"{many} copied to {place}, {carried.same} there already")
        refused = (carried.refused,) if carried.refused else ()
        said = list(carried.problems[:SAID])
        if more := len(carried.problems) - len(said):
            said.append(f"And {more} more like these.")
        say(*(f"  ! {problem}" for problem in (*said, *refused)))


def say_problems(problems: tuple[str, ...]) -> None:
    """Say what of another laptop's could not be taken."""
    if problems:
        say("What could not be taken:", *(f"  {problem}" for problem in problems))


def say_open(count: int) -> None:
    """Say that values differ, if any do."""
    if count:
        values = "1 value differs" if count == 1 else f"{count} values differ"
        say(f"{values} between laptops: see trackside conflicts")
