"""A backup back in the place of the logbook, and the present file kept beside it."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import Final

from trackside.errors import LogbookDamaged, LogbookError
from trackside.logbook.backup import back_up
from trackside.logbook.clock import now
from trackside.logbook.connection import WAIT_MS, Connection
from trackside.logbook.files import to_disk
from trackside.logbook.refusals import in_words

JOURNAL: Final = "-journal"


def restore(file: Path, live: Path, *, moment: datetime | None = None) -> Path | None:
    """Put a proved copy of `file` in the place of `live`; where the present file is kept now.

    None when there was no file yet. A window that still has the old file open can read on, and
    writes nothing more. LogbookDamaged, when `file` is not sound, leaves everything as it was.
    """
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
    with closing(_opened(live)) as sql:
        try:
            sql.execute("BEGIN IMMEDIATE")
        except sqlite3.Error as error:
            if not isinstance(in_words(error), LogbookDamaged):
                raise
        yield


def _opened(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(path, timeout=WAIT_MS / 1000, isolation_level=None)


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
