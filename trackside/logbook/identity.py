"""The name that a computer writes under in one logbook.

It is the computer's own until the file goes back to a backup: then the numbers that it gave out
since are in nobody's file any more, or in another laptop's. So it goes on under a new name, which
the file itself keeps; drafts and undo stay those of the computer.
"""

from __future__ import annotations

import sqlite3
from typing import Final

from trackside.logbook.uuid7 import uuid7

FROM_OUTSIDE: Final = ("bundle", "share", "hub", "salvage")
"""How revisions come in that were not written in this file."""
_LAST_MOMENTS: Final = """SELECT json_extract(envelope, '$.recorded_at') FROM revision
  WHERE device = ? ORDER BY seq DESC LIMIT 200"""
_TABLE: Final = """CREATE TABLE IF NOT EXISTS writes_as (
  id INTEGER PRIMARY KEY, device TEXT NOT NULL, name TEXT NOT NULL UNIQUE
) STRICT"""


def names_of(sql: sqlite3.Connection, device: str) -> list[str]:
    """Every name that this computer has written under in this logbook, the present one last."""
    if not sql.execute("SELECT 1 FROM sqlite_schema WHERE name = 'writes_as'").fetchone():
        return [device]
    found = sql.execute("SELECT name FROM writes_as WHERE device = ? ORDER BY id", (device,))
    return [device, *(name for (name,) in found)]


def written_until(sql: sqlite3.Connection, device: str) -> str:
    """The latest moment at which this computer wrote, of its last 200 revisions; "" of none. They
    are in the order of its saves, whatever its clock did."""
    moments = [
        moment
        for name in names_of(sql, device)
        for (moment,) in sql.execute(_LAST_MOMENTS, (name,))
        if isinstance(moment, str)
    ]
    return max(moments, default="")


def move_on(sql: sqlite3.Connection, device: str) -> str:
    """Give this computer a new name in this logbook, within the open transaction."""
    sql.execute(_TABLE)
    name = uuid7()
    sql.execute("INSERT INTO writes_as (device, name) VALUES (?, ?)", (device, name))
    return name


def own_name(sql: sqlite3.Connection, device: str) -> tuple[str, int, str]:
    """The name to write under now, the last number that was given out under it, and the name of the
    revision that has it ("" for none).

    Where the newest revision of that name came from outside, another computer writes under it too
    (a copied home, or somebody's bad joke), or this file is not the one that gave the numbers out.
    So this computer moves on to a new name, within the open transaction: a number that another has
    taken, or one too large to go on from, is nobody's hindrance.
    """
    name = names_of(sql, device)[-1]
    newest = sql.execute(
        """SELECT seq, via, rev FROM revision WHERE device = ?
           ORDER BY seq DESC, id DESC LIMIT 1""",
        (name,),
    ).fetchone()
    if newest is None:
        return name, 0, ""
    if newest[1] in FROM_OUTSIDE:
        return move_on(sql, device), 0, ""
    return name, newest[0], newest[2]


def computers(sql: sqlite3.Connection) -> dict[str, int]:
    """Every computer that wrote here, with how many revisions."""
    owner: dict[str, str] = {}
    if sql.execute("SELECT 1 FROM sqlite_schema WHERE name = 'writes_as'").fetchone():
        owner = dict(sql.execute("SELECT name, device FROM writes_as").fetchall())
    found: dict[str, int] = {}
    for name, written in sql.execute("SELECT device, count(*) FROM revision GROUP BY device"):
        device = owner.get(name, name)
        found[device] = found.get(device, 0) + written
    return found
