"""Taking in revisions that another logbook wrote: the union of both, proved line by line.

A revision is taken when its envelope hashes to its name and has the shape that every version of
trackside agrees on. Its kind and the fields of its body may be new: they are kept as they are.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable
from typing import Final, NamedTuple

from trackside.errors import BadRecord
from trackside.logbook.canonical import canonical, digest
from trackside.logbook.projections import Touched, rebuild
from trackside.logbook.quarantine import forks, look, sentences
from trackside.logbook.revisions import has_shape

MANY: Final = 2000
"""Above so many entities, making every table anew is quicker than one entity at a time."""


class Line(NamedTuple):
    """A revision that has been proved: its name and its envelope."""

    rev: str
    envelope: str


class MergeResult(NamedTuple):
    """What became of a bundle: revisions added, here already, and what could not be taken."""

    added: int
    same: int
    problems: tuple[str, ...]


def problem_of(rev: str, envelope: str, known: bool = False) -> str:
    """Why this cannot be a revision; "" when it is one. A `known` one only has to be itself."""
    if digest(envelope) != rev:
        return "is not what was written down"
    if known:
        return ""
    try:
        found = json.loads(envelope)
        spelled = canonical(found)
    except (ValueError, RecursionError, BadRecord):
        spelled = ""
    if spelled != envelope:
        return "is not JSON as trackside spells it"
    return "" if has_shape(found) else "needs a newer trackside"


def take(sql: sqlite3.Connection, lines: Iterable[Line], received_at: str, via: str) -> MergeResult:
    """Add proved lines that are new, within the open transaction.

    The order of the lines makes no difference to what stands afterwards. What cannot be of the
    computer that it names is held back: see `quarantine`.
    """
    same, problems = 0, []
    added: dict[str, str] = {}
    devices: dict[str, None] = {}
    known = names(sql)
    before = len(known)
    for line in lines:
        if line.rev in known:
            same += 1
            continue
        try:
            [(entity, device)] = sql.execute(
                """INSERT INTO revision (rev, envelope, received_at, via) VALUES (?, ?, ?, ?)
                   RETURNING entity, device""",
                (*line, received_at, via),
            ).fetchall()
        except sqlite3.IntegrityError:
            problems.append(f"Revision {line.rev[:12]} cannot be stored.")
            continue
        known.add(line.rev)
        added[line.rev] = entity
        devices[device] = None
    held = look(sql, devices)
    problems += sentences(why for why in held.values() if why)
    if added:
        problems += forks(sql, devices, added)
    entities = dict.fromkeys(entity for rev, entity in added.items() if not held.get(rev))
    if len(entities) > MANY or held.keys() - added.keys():
        rebuild(sql)
    elif entities:
        touched = Touched(sql)
        for entity in entities:
            touched.add_all(entity)
        touched.refresh()
    return MergeResult(len(known) - before, same, tuple(problems))


def extent(sql: sqlite3.Connection) -> tuple[int, str]:
    """How far a logbook reaches: the number and the name of its last revision."""
    row = sql.execute("SELECT id, rev FROM revision ORDER BY id DESC LIMIT 1").fetchone()
    return row or (0, "")


def names(sql: sqlite3.Connection) -> set[str]:
    """The names of all revisions that are here."""
    return {rev for (rev,) in sql.execute("SELECT rev FROM revision")}
