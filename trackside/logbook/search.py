"""Finding words: notes, reasons, verdicts, why a set-up was kept, venues, names.

SQLite's FTS5 does it. What a person types is never query syntax: each word goes in as a quoted
prefix. Text without letters or digits, which FTS5 does not index, is looked for as it stands.
"""

from __future__ import annotations

import json
import sqlite3
from typing import Final, NamedTuple

_SAID: Final = {
    "note": ("words", "turn", "driver"),
    "change": ("what", "reason", "verdict", "verdict_words"),
    "kept": ("title", "why", "result"),
    "event": ("venue", "title", "words"),
    "car": ("name", "words"),
    "damper": ("serial", "model", "words"),
    "build": ("damper", "version", "work"),
    "session": ("words", "driver", "result", "tyre_set"),
}
"""What is looked through in each kind; in an unknown kind, its words."""


class Found(NamedTuple):
    """Where the words stand. `session` is the session concerned, "" if none."""

    entity: str
    kind: str
    session: str
    excerpt: str


def index_words(sql: sqlite3.Connection, entity: str) -> None:
    """Take the words of what stands now, and the reasons given on the way, into the index."""
    number, kind, stored = sql.execute(
        "SELECT id, kind, body FROM current WHERE entity = ?", (entity,)
    ).fetchone()
    body = json.loads(stored) if stored is not None else {}
    said = [body.get(name) for name in _SAID.get(kind, ("words",))]
    said += _reasons(sql, entity) if body else []
    text = "\n".join(words for words in said if isinstance(words, str) and words)
    session = entity if kind == "session" else body.get("session")
    row = (text, entity, kind, session if isinstance(session, str) else "")
    kept = sql.execute(
        "SELECT text, entity, kind, session FROM words WHERE rowid = ?", (number,)
    ).fetchone()
    if kept == row or not (kept or text):
        return
    if kept:
        sql.execute("DELETE FROM words WHERE rowid = ?", (number,))
    if text:
        sql.execute(
            "INSERT INTO words (rowid, text, entity, kind, session) VALUES (?, ?, ?, ?, ?)",
            (number, *row),
        )


def _reasons(sql: sqlite3.Connection, entity: str) -> list[str]:
    rows = sql.execute(
        """SELECT json_extract(envelope, '$.reason') AS reason FROM revision
           WHERE entity = ? AND reason <> '' GROUP BY reason ORDER BY min(id)""",
        (entity,),
    )
    return [reason for (reason,) in rows]


def search(sql: sqlite3.Connection, text: str, limit: int = 50) -> list[Found]:
    """Where every word of `text` occurs, best first; the start of a word is enough."""
    words = [word for word in text.replace("\0", " ").split() if any(c.isalnum() for c in word)]
    if words:
        query = " ".join('"' + word.replace('"', '""') + '"*' for word in words)
        rows = sql.execute(
            """SELECT entity, kind, session, snippet(words, 0, '', '', '…', 16) FROM words
               WHERE words MATCH ? ORDER BY rank, rowid DESC LIMIT ?""",
            (query, limit),
        )
    elif sign := text.strip():
        rows = sql.execute(
            """SELECT entity, kind, session,
                 substr(text, max(1, instr(text, ?1) - 40), 80) FROM words
               WHERE instr(text, ?1) > 0 ORDER BY rowid DESC LIMIT ?2""",
            (sign, limit),
        )
    else:
        return []
    return [Found(*row) for row in rows]
