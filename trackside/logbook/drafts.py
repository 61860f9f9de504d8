"""What is half typed: kept beside the truth, so that a crash costs no keystroke worth having.

A draft is no revision. It goes when the field is left, belongs to one laptop and is in no bundle.
"""

from __future__ import annotations

import sqlite3
from typing import NamedTuple

from trackside.units import clean


class Draft(NamedTuple):
    """What stood half typed in the field of an entity at `path`."""

    entity: str
    path: str
    text: str
    at: str


def keep(sql: sqlite3.Connection, device: str, draft: Draft) -> None:
    """Keep it in place of an earlier one of the same field."""
    sql.execute(
        "REPLACE INTO draft (device, entity, path, text, at) VALUES (?, ?, ?, ?, ?)",
        (device, *draft),
    )


def drop(sql: sqlite3.Connection, device: str, entity: str, path: str) -> None:
    """The field was left, or the text thrown away."""
    sql.execute(
        "DELETE FROM draft WHERE device = ? AND entity = ? AND path = ?", (device, entity, path)
    )


def of_device(sql: sqlite3.Connection, device: str) -> list[Draft]:
    """This laptop's drafts, the newest first; none in a file older than drafts."""
    if not sql.execute("SELECT 1 FROM sqlite_schema WHERE name = 'draft'").fetchone():
        return []
    found = sql.execute(
        """SELECT entity, path, text, at FROM draft WHERE device = ?
           ORDER BY at DESC, rowid DESC""",
        (device,),
    )
    return [Draft(entity, path, clean(text), at) for entity, path, text, at in found]
