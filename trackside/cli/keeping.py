"""Keeping the logbook: copies of it, going back to one, and checking what is there."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from trackside.cli.command_context import CommandContext, scripted
from trackside.cli.output import emit, must_be_free, say
from trackside.errors import LogbookDamaged, UnknownRecord

if TYPE_CHECKING:
    from trackside.logbook import Check
    from trackside.logbook.projections import Progress

T = TypeVar("T")


@click.command(short_help="Make a checked backup.")
@click.option("--to", metavar="FOLDER", help="Another folder: a stick, another disk.")
@scripted
@click.pass_obj
def backup(context: CommandContext, to: str | None, as_json: bool) -> None:
    """Make a checked backup and thin out the older ones.

    Kept are the last 10, the last of each of 14 days, and the last of each event, as long as all of
    them take no more than a quarter of the free disk; else the oldest go, but for 3. A backup that
    would leave too little room for saves is not made, and says so. The screens make
    one by themselves at each start and after each event, in a folder beside the logbook named after
    it; a copy on another disk is yours to make: --to names a folder there, which gets a folder of
    that name too.
    """
    from trackside.logbook.backups_beside import backups, backups_of
    from trackside.logbook.rotation import keep_backups

    folder = backups_of(Path(to) / context.log.name if to else context.log)
    with context.reader() as logbook:
        made = keep_backups(logbook, folder)
    there = backups(folder)
    if as_json:
        emit({"made": made, "newest": there[0].path, "backups": len(there), "folder": folder})
        return
    say(
        f"backup written and checked: {made}"
        if made
        else f"nothing has changed since {there[0].path}"
    )
    say(f"{len(there)} backup{'' if len(there) == 1 else 's'} in {folder}")


@click.command(short_help="Go back to a backup.")
@click.argument("file")
@scripted
@click.pass_obj
def restore(context: CommandContext, file: str, as_json: bool) -> None:
    """Put the backup FILE in the place of the logbook; the present file is kept beside it.

    A window that is open meanwhile says so, reads on in the file as it was, and writes nothing more
    until it is opened again. What is half typed is taken along; undo goes on from what the backup
    holds.
    """
    from trackside.logbook.restore import restore as put_back
    from trackside.logbook.store import device_in
    from trackside.preferences import device_file

    kept = put_back(_existing(file), context.log, device=device_in(device_file()))
    if as_json:
        emit({"logbook": context.log, "from": file, "kept": kept})
        return
    say(f"{context.log} is what {file} holds")
    if kept:
        say(f"the logbook as it was until now is saved: {kept}")


@click.command(short_help="Check the logbook; repair or salvage it.")
@click.option("--rebuild", is_flag=True, help="Make every table again from the revisions.")
@click.option("--salvage", metavar="NEWFILE", help="Take what is intact into a new logbook.")
@scripted
@click.pass_context
def verify(click_context: click.Context, rebuild: bool, salvage: str | None, as_json: bool) -> None:
    """Check that every revision is as it was written, and every table what the revisions say.

    What came in under a computer's name and cannot be its is held back and listed: it is no damage.
    Exit status 1 when something is damaged. No revision is ever changed; a file of an older version
    is brought to this one. --salvage reads a damaged file page by page and leaves it as it is.
    """
    from trackside.logbook.attached import folder_of, not_there
    from trackside.reports.file_words import file_words

    context: CommandContext = click_context.obj
    if rebuild and salvage:
        raise click.UsageError("--rebuild repairs this file, --salvage makes another: choose one")
    if salvage:
        _salvage(_existing(context.log), Path(salvage), as_json)
        return
    _existing(context.log)
    try:
        with context.writer() as logbook:
            if rebuild:
                _with_bar("rebuilding", logbook.rebuild, as_json)
            found = _with_bar("checking", logbook.verify, as_json)
            files = [file_words(file, state) for file, state in not_there(logbook)]
            folder = folder_of(logbook.path)
    except LogbookDamaged as error:
        raise LogbookDamaged(error.cause, _way_out(context.log)) from error
    if as_json:
        emit({"logbook": context.log, **found._asdict(), "sound": not found.problems,
              "files_not_there": files})  # fmt: skip
    else:
        _say_found(context.log, found)
        if files:
            say(f"Files that notes name and {folder} lacks:", *(f"  {told}" for told in files))
    if found.problems:
        click_context.exit(1)


def _existing(file: str | Path) -> Path:
    if not Path(file).is_file():
        raise UnknownRecord(f"there is no file {file}", "check its name and folder")
    return Path(file)


def _with_bar(label: str, work: Callable[[Progress | None], T], as_json: bool) -> T:
    """Do the work and show on stderr how far it is: ten seasons take ten seconds and more."""
    from trackside.preferences import only_prints

    if as_json or not sys.stderr.isatty() or only_prints():
        return work(None)
    with click.progressbar(length=1, label=label, file=sys.stderr) as bar:

        def progress(done: int, total: int) -> None:
            bar.length = total
            bar.update(done - bar.pos)

        return work(progress)


def _say_found(log: Path, found: Check) -> None:
    if not found.problems:
        say(f"{log} is intact: {found.revisions} revisions, each as it was written down,")
        say("and every table is what they say")
        say(*found.held)
        return
    say(f"{log} is damaged, or lacks something:", *(f"  {line}" for line in found.problems))
    say(*found.held)
    say(f"What to do: {_way_out(log)}.")


def _way_out(log: Path) -> str:
    """What a person can do about a damaged logbook."""
    from trackside.logbook.backups_beside import backups, backups_of

    there = backups(backups_of(log))
    ways = ["copy the file away first", "trackside verify --rebuild repairs tables, not revisions"]
    ways.append("trackside verify --salvage NEWFILE takes every intact revision into a new logbook")
    if there:
        ways.append(f"trackside restore {there[0].path} goes back to the newest backup")
    return "; ".join(ways)


def _salvage(damaged: Path, target: Path, as_json: bool) -> None:
    from trackside.logbook.salvage import salvage

    must_be_free(target, remedy="name a new file")
    found = salvage(damaged, target)
    if as_json:
        emit({"damaged": damaged, "logbook": target, **found._asdict()})
        return
    say(f"{found.added} intact revisions are in {target}; {damaged} was left as it is")
    say(*(f"  {line}" for line in found.problems))


@click.command("new-name", short_help="Write under a new name here.")
@scripted
@click.pass_obj
def new_name(context: CommandContext, as_json: bool) -> None:
    """Have this computer write under a new name in the logbook from now on.

    For one of two computers that write under one name, because a home was copied: `verify` and
    whatever takes work in says so. Undo and what is half typed stay.
    """
    _existing(context.log)
    with context.writer() as logbook:
        name = logbook.move_on()
    if as_json:
        emit({"logbook": context.log, "name": name})
    else:
        say(f"this computer writes as laptop …{name[-6:]} in {context.log} from now on")
