"""Proving the logbook: every hash recomputed, every projection compared with a fresh one."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from typing import NamedTuple

from trackside.logbook.canonical import digest
from trackside.logbook.projections import PROJECTED, Progress, rebuild


class Check(NamedTuple):
    """How many revisions were proved, and what is wrong, one sentence each."""

    revisions: int
    problems: tuple[str, ...]


def damage(sql: sqlite3.Connection) -> Iterator[str]:
    """What is not as it was written, one sentence each: pages of the file, then revisions."""
    for row in sql.execute("PRAGMA integrity_check(20)"):
        if row[0] != "ok":
            yield f"SQLite finds: {row[0]}."
    for number, rev, envelope in sql.execute("SELECT id, rev, envelope FROM revision ORDER BY id"):
        if not isinstance(envelope, str) or digest(envelope) != rev:
            yield f"Revision {number} is not what was written down."


def prove(sql: sqlite3.Connection) -> Check:
    """Check the truth: pages, hashes, numbers in sequence, parents. Reads only."""
    return Check(_count(sql), (*damage(sql), *_missing(sql)))


def _missing(sql: sqlite3.Connection) -> Iterator[str]:
    for device, first, last in sql.execute("SELECT device, first, last FROM gap"):
        yield f"Revisions {first} to {last} of device {device} are missing."
    missing = sql.execute("SELECT count(*) FROM missing_parent").fetchone()[0]
    if missing:
        yield f"{missing} earlier revisions are named, but are not here."


def _count(sql: sqlite3.Connection) -> int:
    return sql.execute("SELECT count(*) FROM revision").fetchone()[0]


def check(sql: sqlite3.Connection, progress: Progress | None = None) -> Check:
    """Check truth and projections, within a transaction that is rolled back afterwards.

    Projections are compared only where the truth is sound.
    """
    found = tuple(damage(sql))
    if found:
        return Check(_count(sql), (*found, *_missing(sql)))
    live = {table: _rows(sql, table) for table in PROJECTED}
    rebuild(sql, progress)
    differ = [
        f"The table {table} is not what the revisions say; rebuild the logbook."
        for table in PROJECTED
        if _rows(sql, table) != live[table]
    ]
    return Check(_count(sql), (*_missing(sql), *differ))


def _rows(sql: sqlite3.Connection, table: str) -> list[tuple]:
    return sorted(sql.execute(f"SELECT * FROM {table}").fetchall(), key=repr)
