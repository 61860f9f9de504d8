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
from typing import Any, Final, NamedTuple

from trackside.errors import LogbookFull
from trackside.logbook.atomic_file import whole
from trackside.units import clean

EMPTIED: Final = "∅"
"""The draft of a place that was emptied, where that is not saved yet: no text lets a draft go."""

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


def _line(entity: str, path: str, text: str) -> str:
    """A line of the small file: the three, and what proves them."""
    proof = hashlib.sha256(json.dumps([entity, path, text]).encode()).hexdigest()[:16]
    return json.dumps([entity, path, text, proof]) + "\n"


def _is_old(read: Any) -> bool:
    """Whether a line is the whole small file of an earlier program: a list of such threes."""
    return isinstance(read, list) and all(
        isinstance(one, list) and len(one) == 3 and all(isinstance(word, str) for word in one)
        for one in read
    )


class Aside:
    """The small file, one for each logbook of this computer: every window puts its own in it.

    Each line proves itself, so that damage costs that line alone. What does not is not offered, and
    is kept in a file beside it.
    """

    def __init__(self, folder: Path, logbook: Path) -> None:
        name = hashlib.sha256(os.fsencode(logbook.resolve())).hexdigest()[:16]
        self._file = folder / f"typed-{name}.json"
        self._lock = threading.Lock()
        self._mine: frozenset[Place] = frozenset()
        self.damaged = ""
        """That something there was damaged, and where it is, in one sentence; "" where not."""

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
                        lines = (_line(*place, text) for place, text in there.items())
                        part.write_text("".join(lines), encoding="utf-8")
                else:
                    self._file.unlink(missing_ok=True)
            except (OSError, LogbookFull):
                return False
            self._mine = frozenset(texts)
            return True

    def read(self) -> dict[Place, str]:
        """What is there and was not damaged."""
        found: dict[Place, str] = {}
        wrong = []
        with suppress(OSError):
            for line in self._file.read_text("utf-8", errors="replace").splitlines():
                try:
                    read = json.loads(line)
                    if _is_old(read):
                        found |= {(entity, path): clean(text) for entity, path, text in read}
                        continue
                    entity, path, text, _ = read
                    if _line(entity, path, text) != f"{line}\n":
                        raise ValueError
                    found[entity, path] = clean(text)
                except (ValueError, TypeError, RecursionError, AttributeError):
                    wrong.append(line)
        if wrong:
            self._put_by(wrong)
        return found

    def _put_by(self, wrong: list[str]) -> None:
        """Keep the lines that are not what was written, for a person to read."""
        beside, where = self._file.with_suffix(".damaged"), ""
        with suppress(OSError, LogbookFull):
            there = beside.read_text("utf-8").splitlines() if beside.exists() else []
            with whole(beside) as part:
                lines = dict.fromkeys([*there, *wrong])
                part.write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")
            where = f"; what can be read of it is in {beside}"
        self.damaged = (
            f"Something that was half typed was damaged on the disk and is not offered again{where}"
        )

    def take(self) -> dict[Place, str]:
        """The same, from now on this window's own."""
        found = self.read()
        self._mine = frozenset(found)
        return found
