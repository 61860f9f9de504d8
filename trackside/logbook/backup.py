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
BEGINNINGS: Final = 3
"""A save makes SQLite begin the copy anew; after so many times the copy goes through in one step,
and a save waits for it (a second for ten seasons)."""


def back_up(source: sqlite3.Connection, target: Path) -> None:
    """Copy the logbook to `target`. Whatever goes wrong, an older copy there stays as it was.

    LogbookDamaged when the copy, or what was copied, is not sound.
    """
    with whole(target) as part, closing(sqlite3.connect(part)) as copy:
        copy.execute("PRAGMA journal_mode = OFF")
        copy.execute("PRAGMA synchronous = OFF")
        _copy(source, copy)
        found = next(damage(copy), "")
        if found:
            raise LogbookDamaged(
                f"No copy was made, because it would not be sound. {found}",
                "look at the logbook with trackside verify",
            )


def _copy(source: sqlite3.Connection, copy: sqlite3.Connection) -> None:
    left, begun = None, 1

    def step(_: int, remaining: int, __: int) -> None:
        nonlocal left, begun
        begun += left is not None and remaining > left
        left = remaining
        if begun > BEGINNINGS:
            raise _TooBusy

    try:
        source.backup(copy, pages=PAGES_A_STEP, progress=step, sleep=0.005)
    except _TooBusy:
        source.backup(copy)


class _TooBusy(Exception):
    """Saves come faster than the copy can be made beside them."""
