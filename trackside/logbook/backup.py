"""A copy that can be trusted: page by page, proved, and only then given its name.

A save must not wait for it. So it goes through the connection that saves (SQLite then brings the
pages that a save changes into the copy by itself), a few pages at a time, with a pause after each
step, and the copy goes to the disk as it grows: the disk takes a save's commit only after what it
was given before, and a whole season at once keeps it busy for half a second (measured). Only what
another window saves makes SQLite begin anew.
"""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Final

from trackside.errors import LogbookDamaged, LogbookError
from trackside.logbook.atomic_file import to_disk, whole
from trackside.logbook.verify import damage, differing, let_saves_through

PAGES_A_STEP: Final = 128
"""Pages copied while the connection and the file are held: half a megabyte, under a millisecond."""
PAUSE_S: Final = 0.001
"""After each step, so that whoever waits to save comes first."""
TO_DISK_EVERY: Final = 8
"""Steps after which the disk is to have what was copied so far."""
PAGES_APART: Final = 2048
"""The same of a copy that is only looked at: eight megabytes, about ten milliseconds."""
BEGINNINGS_APART: Final = 5
ALL_AT_ONCE: Final = -1
BEGINNINGS: Final = 30
"""After so many beginnings the copy goes through in one step, and a save waits for that."""


def back_up(
    source: sqlite3.Connection, target: Path, *, given_up: Callable[[], bool] = lambda: False
) -> None:
    """Copy the logbook to `target`. Whatever goes wrong, an older copy there stays as it was.

    LogbookDamaged when the copy, or what was copied, is not sound; LogbookError when `given_up`
    says, between two steps, that nobody waits for it any more.
    """
    with whole(target) as part:
        try:
            _copy(source, part, PAGES_A_STEP, given_up)
        except _TooBusy:
            part.write_bytes(b"")
            _copy(source, part, ALL_AT_ONCE, given_up)
        with closing(sqlite3.connect(part, isolation_level=None)) as copy:
            found = next(unsound(copy, lambda records: _pause(given_up, records)), "")
        if found:
            raise LogbookDamaged(
                f"No copy was made, because it would not be sound. {found}",
                "look at the logbook with trackside verify",
            )


@contextmanager
def apart(source: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    """The logbook as it is at this moment, page by page, in a file of SQLite's own that goes with
    the connection: what takes long is looked for there, and no save waits for it.

    The source itself, where it is too damaged to be copied or there is no room for a copy.
    """
    with closing(sqlite3.connect("", isolation_level=None)) as copy:
        copy.create_function("casefold", 1, str.casefold, deterministic=True)
        try:
            _copy_apart(source, copy)
        except (sqlite3.Error, MemoryError):
            yield source
        else:
            yield copy


def _copy_apart(source: sqlite3.Connection, copy: sqlite3.Connection) -> None:
    left, begun = None, 1

    def step(_: int, remaining: int, __: int) -> None:
        nonlocal left, begun
        begun += left is not None and remaining > left
        left = remaining
        if begun > BEGINNINGS_APART:
            raise _TooBusy

    try:
        source.backup(copy, pages=PAGES_APART, progress=step, sleep=0.002)
    except _TooBusy:
        source.backup(copy, pages=ALL_AT_ONCE, sleep=0.002)


def unsound(copy: sqlite3.Connection, pause: Callable[[int], None]) -> Iterator[str]:
    """What makes a copy no backup, one sentence each: pages, revisions, and what pages show."""
    yield from damage(copy)
    yield from differing(copy, pause=pause)


def _pause(given_up: Callable[[], bool], records: int = 0) -> None:
    if given_up():
        raise _closed()
    let_saves_through(records)


def _closed() -> LogbookError:
    return LogbookError("the copy was given up, because the logbook was closed")


def _copy(source: sqlite3.Connection, part: Path, pages: int, given_up: Callable[[], bool]) -> None:
    left, begun, steps = None, 1, 0

    def step(_: int, remaining: int, __: int) -> None:
        nonlocal left, begun, steps
        begun += left is not None and remaining > left
        left, steps = remaining, steps + 1
        if begun > BEGINNINGS:
            raise _TooBusy
        if given_up():
            raise _closed()
        if steps % TO_DISK_EVERY == 0:
            to_disk(part)
        time.sleep(PAUSE_S)

    with closing(sqlite3.connect(part)) as copy:
        copy.execute("PRAGMA journal_mode = OFF")
        copy.execute("PRAGMA synchronous = OFF")
        source.backup(copy, pages=pages, progress=step, sleep=0.002)


class _TooBusy(Exception):
    """Saves come faster than the copy can be made beside them."""
