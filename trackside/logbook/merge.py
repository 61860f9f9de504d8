"""Taking in revisions that another logbook wrote: the union of both, proved line by line.

A revision is taken when its envelope hashes to its name and has the shape that every version of
trackside agrees on. Its kind and the fields of its body may be new: they are kept as they are.
"""

from __future__ import annotations

import json
import sqlite3
import unicodedata
from collections.abc import Iterable
from typing import Any, Final, NamedTuple

from trackside.errors import BadRecord
from trackside.logbook.canonical import canonical, digest
from trackside.logbook.projections import Touched, rebuild
from trackside.logbook.revisions import DEEPEST, is_deeper, is_name

MANY: Final = 2000
"""Above so many entities, making every table anew is quicker than one entity at a time."""

_SHAPE: Final[dict[str, type]] = {
    "format": int,
    "entity": str,
    "kind": str,
    "op": str,
    "parents": list,
    "device": str,
    "seq": int,
    "save": int,
    "author": str,
    "reason": str,
    "recorded_at": str,
    "body": dict,
}
_NAMES: Final = ("entity", "kind", "device", "recorded_at")
MOST_SAVES: Final = 1 << 31
"""Numbers of one computer's revisions: a season takes some ten thousand."""
_OPS: Final = ("put", "set", "drop")
_STEPS: Final = (None, "undo", "redo")


class Line(NamedTuple):
    """A revision that has been proved: its name and its envelope."""

    rev: str
    envelope: str


class Taken(NamedTuple):
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
    return "" if _has_shape(found) else "needs a newer trackside"


def _has_shape(found: Any) -> bool:
    return (
        isinstance(found, dict)
        and all(type(found.get(name)) is kind for name, kind in _SHAPE.items())
        and all(is_name(found[name]) and not _is_veiled(found[name]) for name in _NAMES)
        and found["op"] in _OPS
        and all(isinstance(parent, str) for parent in found["parents"])
        and isinstance(found.get("undoes"), (str, type(None)))
        and found.get("step") in _STEPS
        and 0 < found["save"] <= found["seq"] < MOST_SAVES
        and not is_deeper(found["body"], DEEPEST)
    )


def _is_veiled(name: str) -> bool:
    """Whether it holds what nobody sees (U+200B, U+200E, U+061C …): it would pass for another."""
    return not name.isascii() and any(unicodedata.category(letter) == "Cf" for letter in name)


def take(sql: sqlite3.Connection, lines: Iterable[Line], received_at: str, via: str) -> Taken:
    """Add proved lines that are new, within the open transaction.

    The order of the lines makes no difference to what stands afterwards.
    """
    same, problems = 0, []
    entities: dict[str, None] = {}
    known = names(sql)
    before = len(known)
    for line in lines:
        if line.rev in known:
            same += 1
            continue
        try:
            [(entity,)] = sql.execute(
                """INSERT INTO revision (rev, envelope, received_at, via) VALUES (?, ?, ?, ?)
                   RETURNING entity""",
                (*line, received_at, via),
            ).fetchall()
        except sqlite3.IntegrityError:
            problems.append(f"Revision {line.rev[:12]} cannot be stored.")
            continue
        known.add(line.rev)
        entities[entity] = None
    if len(entities) > MANY:
        rebuild(sql)
    elif entities:
        touched = Touched(sql)
        for entity in entities:
            touched.add_all(entity)
        touched.refresh()
    return Taken(len(known) - before, same, tuple(problems))


def names(sql: sqlite3.Connection) -> set[str]:
    """The names of all revisions that are here."""
    return {rev for (rev,) in sql.execute("SELECT rev FROM revision")}
