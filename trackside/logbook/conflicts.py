"""Where two laptops, or two windows, differ: both versions, who and when, and the decision."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from trackside.errors import BadInput
from trackside.logbook.fold import DROPPED, KEPT, fold, leaves, split, up_to, versions
from trackside.logbook.projections import revisions_of
from trackside.logbook.quarantine import held_back
from trackside.logbook.revisions import Body, Revision, Write, drop, patch
from trackside.logbook.twins import TWICE, Twins, versions_of


class Version(NamedTuple):
    """One laptop's word: the value (None for unknown), by whom, when, where and why."""

    value: Any
    author: str
    recorded_at: str
    device: str
    reason: str
    rev: str


class Conflict(NamedTuple):
    """A value on which laptops, or windows, differ; the path "" asks whether to keep the entity at
    all. `before` is what stood when they parted (None for unknown, and for never written).

    At the path TWICE laptops entered one thing twice: each version is one of the records `twins`,
    its value what is not alike in all of them, and the first one counts until it is settled."""

    entity: str
    kind: str
    path: str
    versions: tuple[Version, ...]
    before: Any = None
    twins: tuple[str, ...] = ()

    def verdict(self, place: int) -> Any:
        """What `Logbook.settle` takes to decide for the version at that place, counted from 0."""
        return self.twins[place] if self.twins else self.versions[place].value


class Branched:
    """The entities whose history has branched, kept up to date: only what was written since the
    last look can have branched since."""

    def __init__(self) -> None:
        self.kinds: dict[str, str] = {}
        self.looked_to = 0
        self._held: dict[str, str] = {}

    def look(self, sql: sqlite3.Connection) -> list[tuple[str, str]]:
        """(entity, kind) of each. The first look reads everything."""
        last = sql.execute("SELECT coalesce(max(id), 0) FROM revision").fetchone()[0]
        held = held_back(sql)
        if held != self._held:  # what is let go may have branched long ago
            self._held, self.looked_to = held, 0
        if last != self.looked_to:
            only = "AND entity IN (SELECT entity FROM revision WHERE id > ?)"
            since = (only, (self.looked_to,)) if self.looked_to else ("", ())
            found = sql.execute(
                f"SELECT entity, kind FROM current WHERE NOT linear {since[0]} ORDER BY id",
                since[1],
            )
            self.kinds |= dict(found.fetchall())
            self.looked_to = last
        return list(self.kinds.items())


def open_conflicts(sql: sqlite3.Connection, branched: Branched) -> list[Conflict]:
    """Every value that waits for a decision, in the order of creation: that of the codes, which is
    the same on every laptop."""
    found = []
    for entity, kind in sorted(branched.look(sql)):
        known = revisions_of(sql, entity)
        for path, words in sorted(versions(known).items()):
            both = tuple(
                Version(value, by.author, by.recorded_at, by.device, by.reason, by.rev)
                for by, value in words
            )
            found.append(Conflict(entity, kind, path, both, _before(known, path, both)))
    return found


def entered_twice(sql: sqlite3.Connection, twins: Iterable[Twins]) -> list[Conflict]:
    """Those records of one thing as something to decide."""
    return [
        Conflict(one.entities[0], one.kind, TWICE, tuple(_versions(sql, one)), None, one.entities)
        for one in twins
    ]


def _versions(sql: sqlite3.Connection, twins: Twins) -> Iterator[Version]:
    for entered, latest, values in versions_of(sql, twins):
        yield Version(
            values,
            entered.author,
            entered.recorded_at,
            entered.device,
            entered.reason,
            latest.rev,
        )


def _before(known: list[Revision], path: str, both: tuple[Version, ...]) -> Any:
    """What stood at `path` in what all versions have in common."""
    common = set.intersection(*({r.rev for r in up_to(known, [s.rev])} for s in both))
    body = fold([revision for revision in known if revision.rev in common]).body
    if not path:
        return KEPT if body is not None else None
    return dict(leaves(body or {})).get(split(path))


def conflicts(sql: sqlite3.Connection, branched: Branched) -> dict[str, dict[str, tuple[Any, ...]]]:
    """Entity to path to the values that differ."""
    open_ = branched.look(sql)
    found = {entity: fold(revisions_of(sql, entity)).conflicts for entity, _ in open_}
    return {entity: paths for entity, paths in found.items() if paths}


def decision(
    sql: sqlite3.Connection, entity: str, values: Body, looked_at: frozenset[str] = frozenset()
) -> Write:
    """The write that settles `values` (path to value); BadInput where nothing is in dispute, or
    where there is another version than those looked at (their revisions; none: whichever there
    are).

    Its parents are all heads, so it stands above every version.
    """
    known = revisions_of(sql, entity)
    open_ = versions(known)
    there = {by.rev for path in values for by, _ in open_.get(path, ())}
    if looked_at and there - looked_at:
        raise BadInput("another version has come in meanwhile", "look at the conflicts again")
    settled = [path for path in values if path not in open_]
    if settled or not values:
        raise BadInput(
            f"nothing is in dispute at {', '.join(settled)}" if settled else "nothing was decided",
            "look at the conflicts again: another window may have settled them",
        )
    verdict = values.get("", KEPT)
    if verdict not in (KEPT, DROPPED):
        raise BadInput(f"“{verdict}” settles nothing", f"say {KEPT} or {DROPPED}")
    if verdict == DROPPED:
        return drop(known[0].kind, entity)
    return patch(known[0].kind, entity, {path: values[path] for path in values if path})
