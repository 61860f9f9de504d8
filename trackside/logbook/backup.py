"""A copy that can be trusted: page by page, proved, and only then given its name."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Final

from trackside.errors import LogbookDamaged
from trackside.logbook.files import whole
from trackside.logbook.verify import damage

PAGES_A_STEP: Final = 1024
"""Pages copied while the file is held; between two steps a save can pass."""
ALL_AT_ONCE: Final = -1
BEGINNINGS: Final = 3
"""A save makes SQLite begin the copy anew; after so many times the copy goes through in one step,
and a save waits for it (a second for ten seasons)."""


def back_up(source: sqlite3.Connection, target: Path) -> None:
    """Copy the logbook to `target`. Whatever goes wrong, an older copy there stays as it was.

    LogbookDamaged when the copy, or what was copied, is not sound.
    """
    with whole(target) as part:
        try:
            _copy(source, part, PAGES_A_STEP)
        except _TooBusy:
            part.write_bytes(b"")
            _copy(source, part, ALL_AT_ONCE)
        with closing(sqlite3.connect(part)) as copy:
            found = next(damage(copy), "")
        if found:
            raise LogbookDamaged(
                f"No copy was made, because it would not be sound. {found}",
                "look at the logbook with trackside verify",
            )


def _copy(source: sqlite3.Connection, part: Path, pages: int) -> None:
    left, begun = None, 1

    def step(_: int, remaining: int, __: int) -> None:
        nonlocal left, begun
        begun += left is not None and remaining > left
        left = remaining
        if begun > BEGINNINGS:
            raise _TooBusy

    with closing(sqlite3.connect(part)) as copy:
        copy.execute("PRAGMA journal_mode = OFF")
        copy.execute("PRAGMA synchronous = OFF")
        source.backup(copy, pages=pages, progress=step, sleep=0.005)


class _TooBusy(Exception):
    """Saves come faster than the copy can be made beside them."""
