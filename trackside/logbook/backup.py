"""A copy that can be trusted: made whole by SQLite, checked, and only then given its name."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, suppress
from pathlib import Path

from trackside.errors import LogbookDamaged, LogbookFull


def back_up(sql: sqlite3.Connection, target: Path) -> None:
    """Copy the logbook to `target`. Whatever goes wrong, an older copy there stays as it was."""
    part = target.with_name(target.name + ".part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        part.unlink(missing_ok=True)
        os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        sql.execute("VACUUM INTO ?", (str(part),))
        with closing(sqlite3.connect(part)) as copy:
            [(found,)] = copy.execute("PRAGMA integrity_check(1)")
        if found != "ok":
            raise LogbookDamaged(
                f"The copy is not sound ({found})", "check the logbook, and try again"
            )
        _to_disk(part)
        part.replace(target)
        if os.name == "posix":
            _to_disk(target.parent)
    except OSError as error:
        raise LogbookFull(
            f"{target} cannot be written ({error.strerror})", "choose another folder or disk"
        ) from error
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def _to_disk(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
