"""A copy that can be trusted: page by page, proved, and only then given its name."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Final

from trackside.errors import LogbookDamaged
from trackside.logbook.files import whole
from trackside.logbook.verify import damage

PAGES_A_STEP: Final = 256
"""Pages copied while the file is held; between two steps a save can pass."""


def back_up(source: sqlite3.Connection, target: Path) -> None:
    """Copy the logbook to `target`. Whatever goes wrong, an older copy there stays as it was.

    LogbookDamaged when the copy, or what was copied, is not sound.
    """
    with whole(target) as part, closing(sqlite3.connect(part)) as copy:
        copy.execute("PRAGMA journal_mode = OFF")
        copy.execute("PRAGMA synchronous = OFF")
        source.backup(copy, pages=PAGES_A_STEP, sleep=0.005)
        found = next(damage(copy), "")
        if found:
            raise LogbookDamaged(
                f"No copy was made, because it would not be sound. {found}",
                "look at the logbook with trackside verify",
            )
