"""What SQLite reports, as the logbook's own errors: what happened, and what a person can do."""

from __future__ import annotations

import sqlite3
from typing import Final

from trackside.errors import LogbookBusy, LogbookDamaged, LogbookError, LogbookFull


def in_words(error: Exception) -> Exception:
    """The logbook's own error for what SQLite reports; a mistake of the program stays as it is.

    Only JSON and UTF-8 go into the file, so text that is neither was damaged there. The program's
    own statements fit the tables that it makes, so where they do not, the tables were changed.
    """
    if isinstance(error, MemoryError):
        return LogbookError(
            "There is not enough memory for this",
            "nothing of it was saved; close other programs, then try again",
        )
    code = getattr(error, "sqlite_errorcode", None)
    found = None if code is None else _WORDS.get(code) or _WORDS.get(code & 0xFF)
    if (
        not isinstance(error, sqlite3.Error)
        or str(error).startswith(_BAD_TEXT)
        or (code == sqlite3.SQLITE_ERROR and not str(error).startswith(_BAD_MOMENT))
    ):
        found = _WORDS[sqlite3.SQLITE_CORRUPT]
    if found is None:
        return error
    kind, cause, remedy = found
    mine = kind(f"{cause} ({error})", remedy)
    mine.__cause__ = error
    return mine


_BAD_TEXT: Final = ("malformed JSON", "Could not decode to UTF-8")
_BAD_MOMENT: Final = "cannot "
"""So begins what SQLite says of a statement that came in the wrong order, a mistake of the program.
Whatever else it cannot carry out is in the file: the text that describes the tables was changed."""
_COPY: Final = "keep the file as it is, and carry on with your last copy"
_WORDS: Final[dict[int, tuple[type[LogbookError], str, str]]] = {
    sqlite3.SQLITE_BUSY: (
        LogbookBusy,
        "Another window is writing in the logbook",
        "wait for it, or close it, then try again",
    ),
    sqlite3.SQLITE_LOCKED: (
        LogbookBusy,
        "Another window is writing in the logbook",
        "wait for it, or close it, then try again",
    ),
    sqlite3.SQLITE_FULL: (
        LogbookFull,
        "There is no room left for the logbook",
        "nothing of it was saved; make room on the disk, then save again",
    ),
    sqlite3.SQLITE_IOERR: (
        LogbookFull,
        "The disk could not be read or written",
        "nothing of it was saved; check the disk, then save again",
    ),
    sqlite3.SQLITE_IOERR_DIR_FSYNC: (
        LogbookFull,
        "The disk did not confirm that it has the last save",
        "check the disk, look whether the save is there, and if not, save again",
    ),
    sqlite3.SQLITE_READONLY: (
        LogbookFull,
        "The logbook may not be written",
        "check who owns the file and its folder",
    ),
    sqlite3.SQLITE_CANTOPEN: (
        LogbookFull,
        "The logbook cannot be opened",
        "check that the file, its folder and their permissions are right",
    ),
    sqlite3.SQLITE_PERM: (
        LogbookFull,
        "The logbook may not be opened",
        "check who owns the file and its folder",
    ),
    sqlite3.SQLITE_NOTADB: (LogbookDamaged, "This file is not a logbook, or is damaged", _COPY),
    sqlite3.SQLITE_CORRUPT: (LogbookDamaged, "The logbook is damaged", _COPY),
}
