"""What is half typed: kept beside the truth, so that a crash costs no keystroke worth having.

A draft is no revision. It goes with the save of what was typed, belongs to one laptop and is in no
bundle. Where the logbook takes nothing (another program holds it, its disk is full), what was typed
waits in a small file of its own.
"""

from __future__ import annotations

import hashlib
import json
import os
import sqlite3
import threading
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Final, NamedTuple

from trackside.errors import LogbookFull
from trackside.logbook.files import whole
from trackside.units import clean

EMPTIED: Final = "∅"
"""The draft of a place that was emptied, where that is not kept yet: no text lets a draft go."""

Place = tuple[str, str]
"""An entity and a path in it, or a form about it and a question."""


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


class Aside:
    """The small file, one for each logbook of this computer: every window puts its own in it."""

    def __init__(self, folder: Path, logbook: Path) -> None:
        name = hashlib.sha256(os.fsencode(logbook.resolve())).hexdigest()[:16]
        self._file = folder / f"typed-{name}.json"
        self._lock = threading.Lock()
        self._mine: frozenset[Place] = frozenset()

    def put(self, texts: Mapping[Place, str]) -> bool:
        """Have these there, and nothing else of this window; on the disk when it returns. False
        where the file cannot be written."""
        with self._lock:
            if not texts and not self._mine:
                return True
            others = {p: text for p, text in self.read().items() if p not in self._mine}
            there = others | dict(texts)
            try:
                if there:
                    with whole(self._file) as part:
                        rows = [[*place, text] for place, text in there.items()]
                        part.write_text(json.dumps(rows), encoding="utf-8")
                else:
                    self._file.unlink(missing_ok=True)
            except (OSError, LogbookFull):
                return False
            self._mine = frozenset(texts)
            return True

    def read(self) -> dict[Place, str]:
        """What is there; nothing where it cannot be read."""
        with suppress(OSError, ValueError, TypeError, RecursionError):
            rows = json.loads(self._file.read_text("utf-8"))
            found = {(str(entity), str(path)): str(text) for entity, path, text in rows}
            return {place: clean(text) for place, text in found.items()}
        return {}

    def take(self) -> dict[Place, str]:
        """The same, from now on this window's own."""
        found = self.read()
        self._mine = frozenset(found)
        return found
