"""Finding words: notes, reasons, verdicts, why a set-up was kept, venues, names.

SQLite's FTS5 does it. What a person types is never query syntax: each word goes in as a quoted
prefix. Text without letters or digits, which FTS5 does not index, is looked for as it stands.
"""

from __future__ import annotations

import sqlite3
from typing import Final, NamedTuple

from trackside.units import one_line


def excerpt(words: str, text: str) -> str:
    """A few of the words, from where the first word of `text` is on, on one line."""
    first = next(iter(text.split()), "")
    place = max(0, words.casefold().find(first.casefold()) - 40)
    return one_line(words[place : place + 120])


class Found(NamedTuple):
    """Where the words stand. `session` is the session concerned, "" if none."""

    entity: str
    kind: str
    session: str
    excerpt: str


MOST_RANKED: Final = 2000
"""Where more than so many answer, no order of merit helps, and it would take its time."""


def search(sql: sqlite3.Connection, text: str, limit: int = 50) -> list[Found]:
    """Where every word of `text` occurs, best first; the start of a word is enough.

    Where very many answer, the newest come first.
    """
    words = [word for word in text.replace("\0", " ").split() if any(c.isalnum() for c in word)]
    if words:
        query = " ".join('"' + word.replace('"', '""') + '"*' for word in words)
        answers = "SELECT 1 FROM words WHERE words MATCH ? LIMIT ?"
        [(count,)] = sql.execute(f"SELECT count(*) FROM ({answers})", (query, MOST_RANKED + 1))
        order = "rank, rowid DESC" if count <= MOST_RANKED else "rowid DESC"
        rows = sql.execute(
            f"""SELECT entity, kind, session, snippet(words, 0, '', '', '…', 16) FROM words
                WHERE words MATCH ? ORDER BY {order} LIMIT ?""",
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
