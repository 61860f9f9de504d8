"""A backup back in the place of the logbook, and the present file kept beside it."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import datetime
from pathlib import Path

from trackside.errors import LogbookDamaged, LogbookError
from trackside.logbook.atomic_file import to_disk
from trackside.logbook.backup import back_up
from trackside.logbook.clock import now
from trackside.logbook.connection import JOURNAL, WAIT_MS, Connection
from trackside.logbook.identity import computers, move_on
from trackside.logbook.refusals import in_words


def restore(
    file: Path, live: Path, *, device: str = "", moment: datetime | None = None
) -> Path | None:
    """Put a proved copy of `file` in the place of `live`; where the present file is kept now.

    None when there was no file yet. A window that still has the old file open can read on, and
    writes nothing more. What is half typed in the present file is taken along, and `device` (this
    computer) goes on under a new name. A link is followed: its target is replaced.
    LogbookDamaged, when `file` is not sound, leaves everything as it was.
    """
    live = Path(os.path.realpath(live))
    if live.exists() and file.exists() and file.samefile(live):
        raise LogbookError(f"{file} is the logbook itself", "name a backup")
    fresh = live.with_name(f".{live.name}.restored")
    source = Connection(file, read_only=True)
    try:
        source.beside(lambda sql: back_up(sql, fresh))
    finally:
        source.close()
    try:
        with _held(live):
            _take_along(live, fresh, device)
            kept = _set_aside(live, moment or now())
            to_disk(live.parent)
            _put_in_place(fresh, live, kept)
            to_disk(live.parent)
    except (sqlite3.Error, MemoryError) as error:
        raise in_words(error) from error
    except OSError as error:
        raise LogbookError(
            f"{live} cannot be replaced ({error.strerror})", "check who owns its folder"
        ) from error
    finally:
        with suppress(OSError):
            fresh.unlink(missing_ok=True)
    return kept


def _take_along(live: Path, fresh: Path, device: str) -> None:
    """Bring into the restored file what is half typed in the present one; whoever wrote more than
    the backup holds goes on under a new name, so that no number is given out twice."""
    drafts, written = [], {}
    with suppress(sqlite3.Error), closing(_opened(live, "ro")) as sql:
        written = computers(sql)
        drafts = sql.execute("SELECT device, entity, path, text, at FROM draft").fetchall()
    with closing(_opened(fresh, "rw")) as sql:
        sql.execute("PRAGMA synchronous = EXTRA")
        sql.execute("BEGIN IMMEDIATE")
        there = computers(sql)
        more = {name for name, count in written.items() if count > there.get(name, 0)}
        for name in sorted(more | ({device} if device else set())):
            move_on(sql, name)
        if sql.execute("SELECT 1 FROM sqlite_schema WHERE name = 'draft'").fetchone():
            sql.executemany("REPLACE INTO draft VALUES (?, ?, ?, ?, ?)", drafts)
        sql.execute("COMMIT")
    to_disk(fresh)


def _put_in_place(fresh: Path, live: Path, kept: Path | None) -> None:
    """Give `fresh` the name of `live`; when that fails, the present file has it as before."""
    try:
        fresh.replace(live)
    except OSError:
        if kept and not live.exists():
            kept.replace(live)
        raise


@contextmanager
def _held(live: Path) -> Iterator[None]:
    """Hold off every other window's saves. A file too damaged for that has none."""
    if not live.exists():
        yield
        return
    with closing(_opened(live, "rw")) as sql:
        try:
            sql.execute("BEGIN IMMEDIATE")
        except sqlite3.Error as error:
            if not isinstance(in_words(error), LogbookDamaged):
                raise
        yield


def _opened(path: Path, mode: str) -> sqlite3.Connection:
    name = f"{path.absolute().as_uri()}?mode={mode}"
    return sqlite3.connect(name, timeout=WAIT_MS / 1000, isolation_level=None, uri=True)


def _set_aside(live: Path, moment: datetime) -> Path | None:
    """Give the present file a dated name. A journal goes with it: SQLite would play one that is
    left behind into the restored file."""
    dated = f"{live.name}.{moment.strftime('%Y-%m-%d-%H%M%S')}"
    kept = live.with_name(dated)
    count = 1
    while kept.exists():
        count += 1
        kept = live.with_name(f"{dated}-{count}")
    was_there = live.exists()
    if was_there:
        try:
            os.link(live, kept)
        except OSError:
            live.replace(kept)
    journal = live.with_name(live.name + JOURNAL)
    if journal.exists():
        journal.replace(kept.with_name(kept.name + JOURNAL))
    return kept if was_there else None
