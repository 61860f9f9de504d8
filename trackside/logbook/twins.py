"""One thing entered twice: two laptops that had not met each wrote the same damper, build, car,
event or session down as new.

Nothing in the revisions joins the two records, so no value is in conflict, and each laptop would
go on with its own. What names a record (`NAMED`) is compared instead. Until a person decides, the
record with the smallest code counts on every laptop: it depends on nothing that a laptop can have
otherwise, neither on what came in first nor on a clock.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from contextlib import suppress
from typing import Any, Final, NamedTuple

from trackside.errors import BadInput, LogbookDamaged
from trackside.logbook.fold import in_order, leaves
from trackside.logbook.links import LINKED, decided
from trackside.logbook.pitboard import RUN_TOLD
from trackside.logbook.projections import body_of, revisions_of
from trackside.logbook.revisions import Body, Revision, Write, drop, patch
from trackside.logbook.rows import text
from trackside.units import one_line

NAMED: Final = {
    "damper": ("serial",),
    "build": ("damper", "version"),
    "car": ("name", "number"),
    "event": ("venue", "date"),
    "tyre_set": ("car", "name"),
    "counter": ("car", "part", "since"),
    "session": ("event", "car", "kind", "number", "run"),
}
"""What names a record of each kind."""
TWICE: Final = "entered twice"
"""The path of such a dispute: no field has a blank in its name."""
_MAY_LACK: Final = {"car": {"number"}, "session": {"run"}}
"""What a name may do without: a car its number; the only run of a session says no run. A session
without a number is like any other."""
_FIRST: Final = "1"
"""The run that a session without runs is."""
_RENAMED: Final = {
    "damper": "serial",
    "build": "version",
    "car": "name",
    "event": "venue",
    "tyre_set": "name",
    "counter": "part",
    "session": "number",
}
"""What another name goes into, where they are two things after all; of a run, its own number."""

Name = tuple[str, ...]
Named = Iterable[tuple[str, Name]]


class Twins(NamedTuple):
    """The records of one thing, the one that counts first."""

    kind: str
    entities: tuple[str, ...]


def name_of(kind: str, body: Mapping[str, Any]) -> Name | None:
    """What names a record of that body, however its letters are cased; None where it is not said,
    and for a kind that has no names."""
    fields = NAMED.get(kind, ())
    name = tuple(one_line(text(body.get(field))).casefold() for field in fields)
    lacking = {field for field, word in zip(fields, name, strict=True) if not word}
    if not fields or not lacking <= _MAY_LACK.get(kind, set()):
        return None
    return (*name[:-1], name[-1] or _FIRST) if kind == "session" else name


def twins_among(sql: sqlite3.Connection, kind: str, named: Named) -> list[Twins]:
    """Those of these records (code and name) that two laptops entered for one thing."""
    alike: dict[Name, list[str]] = {}
    for entity, name in named:
        alike.setdefault(name, []).append(entity)
    found = (Twins(kind, tuple(sorted(entities))) for entities in alike.values())
    return sorted(one for one in found if len(one.entities) > 1 and _are_of_two(sql, one.entities))


def _are_of_two(sql: sqlite3.Connection, entities: Iterable[str]) -> bool:
    """Whether not all were entered under one computer's name: who works alone may have meant it."""
    wrote: set[str] = set()
    for entity in entities:
        with suppress(LogbookDamaged):
            wrote.update(first.device for first in _first_of(revisions_of(sql, entity)))
    return len(wrote) > 1


def _first_of(known: list[Revision]) -> list[Revision]:
    """Those that have nothing before them here."""
    here = {revision.rev for revision in known}
    return [revision for revision in in_order(known) if here.isdisjoint(revision.parents)]


def sessions_twice(sql: sqlite3.Connection, same: Mapping[str, str]) -> list[Twins]:
    """Sessions that two laptops entered for one run; `same` leads from an event, or a car, that was
    entered twice to the one that counts."""
    lines = sql.execute(
        f"""SELECT entity, event, car, kind, number, {RUN_TOLD} FROM session_line
            WHERE event <> '' AND car <> '' AND kind <> '' AND number <> ''"""
    )
    named = (
        (
            entity,
            (same.get(event, event), same.get(car, car), *map(str.casefold, called), run or _FIRST),
        )
        for entity, event, car, *called, run in lines.fetchall()
    )
    return twins_among(sql, "session", named)


class TwinVersion(NamedTuple):
    """One of the records: the revision that entered it, that which changed it last, and those of
    its values that are not alike in all, by path (None for unknown)."""

    entered: Revision
    latest: Revision
    values: Body


def versions_of(sql: sqlite3.Connection, twins: Twins) -> list[TwinVersion]:
    """Each of them, in the order of the twins."""
    bodies = [dict(leaves(body_of(sql, entity) or {})) for entity in twins.entities]
    paths = sorted({path for body in bodies for path in body})
    differ = [path for path in paths if any(b.get(path) != bodies[0].get(path) for b in bodies)]
    found = []
    for entity, body in zip(twins.entities, bodies, strict=True):
        ordered = in_order(revisions_of(sql, entity))
        values = {".".join(path): body.get(path) for path in differ}
        found.append(TwinVersion(_first_of(ordered)[0], ordered[-1], values))
    return found


def decision(
    sql: sqlite3.Connection,
    twins: Twins | None,
    verdict: str,
    looked_at: frozenset[str] = frozenset(),
) -> tuple[Write, ...]:
    """The writes that settle it, for one step of undo. `verdict` is the code of the record that
    holds, or the name under which the second goes on as another thing.

    The one that holds keeps its values and takes those that only another has; what belongs to the
    others belongs to it from then on, and so does what another laptop filed under them meanwhile
    (see `links`). BadInput where one was changed since it was `looked_at`, and
    without twins: somebody has settled it.
    """
    if twins is None:
        raise BadInput("it is not there twice any more", "look at the conflicts again")
    there = {version.latest.rev for version in versions_of(sql, twins)}
    if looked_at and there != looked_at:
        raise BadInput("it was changed meanwhile", "look at the conflicts again")
    if verdict not in twins.entities:
        return (_renamed(sql, twins, verdict),)
    others = [entity for entity in twins.entities if entity != verdict]
    body = body_of(sql, verdict) or {}
    known = dict(leaves(body))
    # one value at least is written: who decides for the other record meanwhile, on another laptop,
    # drops this one, and a change beside a drop is a conflict, while two drops would lose both
    values = {field: body[field] for field in NAMED[twins.kind] if field in body}
    for other in others:
        for path, value in leaves(body_of(sql, other) or {}):
            taken = {path, path[:1]} if len(path) > 1 else {p for p in known if p[0] == path[0]}
            if known.keys().isdisjoint(taken) and path not in known:
                known[path] = values[".".join(path)] = value
    moved = [write for other in others for write in _moved(sql, twins.kind, other, verdict)]
    lead = (decided(other, verdict) for other in others if twins.kind in LINKED)
    return (
        patch(twins.kind, verdict, values),
        *lead,
        *moved,
        *(drop(twins.kind, other) for other in others),
    )


def _renamed(sql: sqlite3.Connection, twins: Twins, name: str) -> Write:
    if len(twins.entities) > 2:
        raise BadInput("it was entered more than twice", "decide for one of them")
    entity = twins.entities[1]
    body = body_of(sql, entity) or {}
    field = "run" if twins.kind == "session" and body.get("run") else _RENAMED[twins.kind]
    new: Any = one_line(name)
    if not new or name_of(twins.kind, {**body, field: new}) == name_of(twins.kind, body):
        raise BadInput("that is no other name", f"type another {field}")
    if isinstance(body.get(field), dict):
        new = {**body[field], "typed": new, "si": float(new) if new.isdecimal() else None}
    return patch(twins.kind, entity, {field: new})


def _moved(sql: sqlite3.Connection, kind: str, old: str, new: str) -> list[Write]:
    """What names the old record by its code names the new one."""
    if kind in ("event", "car"):
        found = sql.execute(f"SELECT entity FROM session_line WHERE {kind} = ?", (old,))
        return [patch("session", entity, {kind: new}) for (entity,) in found.fetchall()]
    if kind != "session":
        return []
    attached = sql.execute("SELECT entity, kind FROM current WHERE session = ?", (old,))
    based = "kind = 'session' AND json_extract(body, '$.based_on') = ?"
    carried_on = sql.execute(f"SELECT entity FROM current WHERE {based}", (old,))
    return [
        *(patch(kind, entity, {"session": new}) for entity, kind in attached.fetchall()),
        *(patch("session", entity, {"based_on": new}) for (entity,) in carried_on.fetchall()),
    ]
