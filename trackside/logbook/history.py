"""Looking back and taking back: what was changed when, what stood then, undo and redo.

An undo is a revision like any other: it restores what stood before and names what it undoes. An
undo of an undo is a redo. One save is one step, however many entities it touched.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from typing import Any, Literal, NamedTuple

from trackside.logbook.fold import (
    advance,
    changes,
    fold,
    heads_of,
    in_order,
    is_chain,
    set_by,
    up_to,
)
from trackside.logbook.identity import FROM_OUTSIDE
from trackside.logbook.projections import names_in, revisions_of
from trackside.logbook.quarantine import believed
from trackside.logbook.revisions import Body, Revision, Write

Changes = dict[str, tuple[Any, Any]]


class Entry(NamedTuple):
    """One line of an entity's history; `changes` is path to (before, after), each as its own laptop
    had it. Where the history has branched, `stands` are the places whose present value it set, and
    `kept` says that with it the entity stands although another laptop took it off."""

    rev: str
    recorded_at: str
    author: str
    device: str
    reason: str
    op: str
    step: str | None
    changes: Changes
    stands: tuple[str, ...] = ()
    kept: bool = False


class Undone(NamedTuple):
    """What an undo or redo did to one entity. `left` are paths that someone has changed since;
    `author`, `recorded_at` and `reason` are those of the revision that it takes back; `whole` says
    that the entity itself leaves the logbook, or comes into it again."""

    entity: str
    kind: str
    changes: Changes
    left: tuple[str, ...]
    author: str = ""
    recorded_at: str = ""
    reason: str = ""
    whole: Literal["", "goes", "comes"] = ""


def entries(revisions: list[Revision], path: str | None = None) -> list[Entry]:
    """The history of one entity, newest first; with `path`, of that value or section alone."""
    found = []
    ordered = in_order(revisions)
    chain, after = is_chain(ordered), None
    setters = {} if chain else set_by(ordered)

    def is_meant(place: str) -> bool:
        return path is None or place == path or place.startswith(f"{path}.")

    for revision in ordered:
        kept = False
        if chain:
            before, after = after, advance(after, revision)
        else:
            before = fold(up_to(ordered, revision.parents)).body
            after = fold(up_to(ordered, [revision.rev])).body
            kept = len(revision.parents) > 1 and after is not None and _was_off(ordered, revision)
        differs = {place: pair for place, pair in changes(before, after).items() if is_meant(place)}
        stands = tuple(place for place in sorted(setters) if setters[place] is revision)
        stands = tuple(place for place in stands if is_meant(place))
        if differs or stands or path is None:
            found.append(
                Entry(
                    revision.rev,
                    revision.recorded_at,
                    revision.author,
                    revision.device,
                    revision.reason,
                    revision.op,
                    revision.step,
                    differs,
                    stands,
                    kept,
                )
            )
    return found[::-1]


def _was_off(ordered: list[Revision], revision: Revision) -> bool:
    """Whether one of the laptops that meet in this revision had taken the entity off."""
    return any(fold(up_to(ordered, [parent])).body is None for parent in revision.parents)


def as_of(revisions: list[Revision], when: str) -> Body | None:
    """What stood at that moment (a stamp): the heads among what had been recorded by then."""
    recorded = [revision for revision in revisions if revision.recorded_at <= when]
    return fold(up_to(revisions, heads_of(recorded))).body


def take_back(revisions: list[Revision], target: Revision) -> tuple[Write, Undone]:
    """The write that restores what stood before `target`, and what it does.

    A value that has been changed again since is left as it is.
    """
    before = fold(up_to(revisions, target.parents)).body
    after = fold(up_to(revisions, [target.rev])).body
    now = fold(revisions).body
    differs = changes(before, after)
    op: Literal["put", "set", "drop"] = "set"
    body: Body = {}
    left: tuple[str, ...] = ()
    if target.op == "set":
        since = changes(after, now)
        left = tuple(path for path in differs if path in since)
        body = {path: old for path, (old, _) in differs.items() if path not in since}
    elif now != after:
        left = tuple(differs)
    elif before is None:
        op = "drop"
    else:
        op, body = "put", before
    write = Write(
        target.kind,
        op,
        target.entity,
        body,
        undoes=target.rev,
        step="redo" if target.step == "undo" else "undo",
    )
    undone = {path: (new, old) for path, (old, new) in differs.items() if path not in left}
    signed = (target.author, target.recorded_at, target.reason)
    whole: Literal["", "goes", "comes"] = ""
    if op != "set":
        whole = "goes" if op == "drop" else "comes" if after is None else ""
    return write, Undone(target.entity, target.kind, undone, left, *signed, whole)


def next_step(
    sql: sqlite3.Connection, names: list[str], step: Literal["undo", "redo"], entity: str | None
) -> list[Revision]:
    """The revisions that the next undo (or redo) takes back, newest first; none when at the end.

    They are those of this device's newest save that still stands; `names` are those that it wrote
    under, the present one last. A fresh save ends what can be redone.
    """
    taken_back: set[str] = set()
    chosen: list[Revision] = []
    for revision in _newest_first(sql, names, entity):
        if chosen and (revision.device, revision.save) != (chosen[0].device, chosen[0].save):
            break
        if revision.undoes:
            taken_back.add(revision.undoes)
        if revision.rev in taken_back:
            continue
        if (revision.step == "undo") == (step == "redo"):
            chosen.append(revision)
        elif step == "redo" and revision.step is None:
            break
    return chosen


def _newest_first(
    sql: sqlite3.Connection, names: list[str], entity: str | None
) -> Iterator[Revision]:
    only = "" if entity is None else "AND entity = :entity"
    outside = ", ".join(f"'{via}'" for via in FROM_OUTSIDE)
    twice = "SELECT seq FROM revision WHERE device = :device GROUP BY seq HAVING count(*) > 1"
    ours = f"(via NOT IN ({outside}) OR seq < coalesce((SELECT min(seq) FROM ({twice})), seq + 1))"
    for device in reversed(names):
        # what came back after a restore is this computer's; what came in from where another gave
        # the same numbers out, from a copied home, may not be
        rows = sql.execute(
            f"""SELECT rev, envelope FROM revision WHERE device = :device {only}
                AND {ours} {believed(sql)} ORDER BY seq DESC""",
            {"device": device, "entity": entity},
        )
        for row in rows:
            yield Revision.read(*row)


def heads(sql: sqlite3.Connection, entity: str) -> tuple[str, ...]:
    """The present heads of an entity; none when it is new."""
    row = sql.execute("SELECT heads FROM current WHERE entity = ?", (entity,)).fetchone()
    found = tuple(names_in(row[0])) if row else ()
    if all(sql.execute("SELECT 1 FROM revision WHERE rev = ?", (rev,)).fetchone() for rev in found):
        return found
    return heads_of(revisions_of(sql, entity))  # a damaged name would be a parent for ever
