"""Files that notes name: photos of a set-up sheet or a tyre, kept beside the logbook."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from trackside.cli.command_context import CommandContext, scripted
from trackside.cli.output import emit, say, table

if TYPE_CHECKING:
    from trackside.logbook import Logbook, SessionLine

TAKEN_OFF = "a run that was taken off"


@click.group(short_help="Photos and files that notes name.")
def file() -> None:
    """Photos and files that notes name: of a set-up sheet, a tyre.

    They are in a folder beside the logbook, each under the SHA-256 of what it holds, at most 20 MB
    each. The logbook has their names. Bundle, shared folder and hub take them along with --files.
    """


@file.command("add", short_help="Name a file in a new note.")
@click.argument("path", metavar="FILE")
@click.argument("session", default="last")
@click.option("--words", default="", metavar="TEXT", help="What it shows.")
@scripted
@click.pass_obj
def add(context: CommandContext, path: str, session: str, words: str, as_json: bool) -> None:
    """Keep a copy of FILE beside the logbook and name it in a note of SESSION; without one, of the
    newest."""
    from trackside.cli.sessions import heading
    from trackside.logbook import put
    from trackside.logbook.attached import folder_of, keep
    from trackside.records import Note
    from trackside.reports.file_words import file_words

    context.must_exist()
    with context.writer() as logbook:
        entity = logbook.session(session)
        kept = keep(folder_of(logbook.path), path)
        note = Note(session=entity, words=words, files=(kept,))
        written = logbook.write(put("note", note.body()))
        line = logbook.session_line(entity)
    if as_json:
        emit({"session": entity, "note": written[0].entity, **kept.body()})
        return
    say(heading(line), f"note with {file_words(kept)}")


@file.command("list", short_help="Which files notes name, and whether they are there.")
@click.argument("session", default="")
@scripted
@click.pass_obj
def list_(context: CommandContext, session: str, as_json: bool) -> None:
    """Every file that a note names, or those of SESSION, and whether each is there as it was."""
    from trackside.logbook.attached import folder_of, named_in, state
    from trackside.reports.file_words import file_words

    with context.reader() as logbook:
        folder = folder_of(logbook.path)
        found = [
            (one, state(folder, one.file), _line(logbook, one.session))
            for one in named_in(logbook, logbook.session(session) if session else "")
        ]
    if as_json:
        emit({
            "folder": folder,
            "files": [
                {
                    "id": line.short if line else None,
                    "note": one.note,
                    **one.file.body(),
                    "state": state,
                }
                for one, state, line in found
            ],
        })  # fmt: skip
        return
    if not found:
        say("No note names a file.")
    table(
        (
            *((line.short, line.start, line.title) if line else ("–", "", TAKEN_OFF)),
            file_words(one.file, state),
            one.file.sha256[:12],
        )
        for one, state, line in found
    )


def _line(logbook: Logbook, session: str) -> SessionLine | None:
    """None for a run that was taken off: its notes and their files stay on record."""
    from trackside.errors import UnknownRecord

    try:
        return logbook.session_line(session)
    except UnknownRecord:
        return None


@file.command("save", short_help="Copy a file out, under its own name.")
@click.argument("name", metavar="NAME")
@click.option("--to", "folder", default=".", metavar="FOLDER", help="Where; default: here.")
@scripted
@click.pass_obj
def save(context: CommandContext, name: str, folder: str, as_json: bool) -> None:
    """Copy the file called NAME, or whose hash begins so, into FOLDER. Nothing is replaced."""
    from trackside.errors import UnknownRecord
    from trackside.logbook.attached import each_once, named_in, save_as

    with context.reader() as logbook:
        wanted = name.casefold()
        found = each_once(
            one
            for one in named_in(logbook)
            if one.file.name.casefold() == wanted
            or (len(name) >= 6 and one.file.sha256.startswith(wanted))
        )
        if len(found) != 1:
            raise UnknownRecord(
                f"{len(found) or 'no'} files are called {name}", "name it by the start of its hash"
            )
        target = save_as(logbook, found[0], Path(folder))
    if as_json:
        emit({"file": target, **found[0].body()})
    else:
        say(f"{target} written")
