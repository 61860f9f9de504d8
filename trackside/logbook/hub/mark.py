"""How far this logbook and a team's hub know each other, kept in the logbook beside the truth.

It stands in the same file and is written in the same transaction as what it speaks of: a backup
that is put back takes its mark along, so nothing is believed to be here, or there, that is not.
"""

from __future__ import annotations

import sqlite3
from typing import Final, NamedTuple

from trackside.logbook.hub.schema import START

_TABLES: Final = (
    """CREATE TABLE IF NOT EXISTS hub_mark (
  team TEXT PRIMARY KEY, number INTEGER NOT NULL, chain BLOB NOT NULL, pushed INTEGER NOT NULL
) STRICT""",
    """CREATE TABLE IF NOT EXISTS hub_left (
  team TEXT NOT NULL, number INTEGER NOT NULL, PRIMARY KEY (team, number)
) STRICT""",
)


class Mark(NamedTuple):
    """The hub's last revision that was looked at, its link, and the last own one that is there."""

    number: int = 0
    chain: bytes = START
    pushed: int = 0


def mark_of(sql: sqlite3.Connection, team: str) -> Mark | None:
    """The mark for that team's hub; None before the first meeting."""
    if not _is_there(sql):
        return None
    row = sql.execute(
        "SELECT number, chain, pushed FROM hub_mark WHERE team = ?", (team,)
    ).fetchone()
    return Mark(*row) if row else None


def set_mark(sql: sqlite3.Connection, team: str, mark: Mark) -> None:
    """Keep the mark, within the transaction that is open."""
    for table in _TABLES:
        sql.execute(table)
    sql.execute("INSERT OR REPLACE INTO hub_mark VALUES (?, ?, ?, ?)", (team, *mark))


def left_of(sql: sqlite3.Connection, team: str) -> list[int]:
    """The numbers of what could not be taken from that hub so far; what was looked at longest ago
    comes first."""
    if not _is_there(sql):
        return []
    rows = sql.execute("SELECT number FROM hub_left WHERE team = ? ORDER BY rowid", (team,))
    return [number for (number,) in rows]


def set_left(sql: sqlite3.Connection, team: str, number: int, is_left: bool) -> None:
    """Remember, or forget, that a number could not be taken now; the mark was set before."""
    if is_left:
        sql.execute("INSERT OR REPLACE INTO hub_left VALUES (?, ?)", (team, number))
    else:
        sql.execute("DELETE FROM hub_left WHERE team = ? AND number = ?", (team, number))


def _is_there(sql: sqlite3.Connection) -> bool:
    query = "SELECT 1 FROM sqlite_schema WHERE name = 'hub_mark'"
    return sql.execute(query).fetchone() is not None
