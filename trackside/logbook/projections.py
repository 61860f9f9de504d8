"""The tables that are made from the revisions: what stands now, and the lists read from it.

A save brings up to date the entities that it touched; `rebuild` makes everything anew. Both must
come out equal.
"""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from itertools import groupby
from typing import Any, Final, NamedTuple

from trackside.logbook import fold
from trackside.logbook.canonical import canonical
from trackside.logbook.revisions import Body, Revision
from trackside.logbook.schema import make_projections
from trackside.logbook.search import index_words

Progress = Callable[[int, int], None]

_CORNERS = ("FL", "FR", "RL", "RR")
_NOT_READINGS = {"event", "car", "based_on", "words"}
_ATTACHED = ("note", "change", "kept")
_DATED = re.compile(r"\d{4}-\d{2}-\d{2}")


def revisions_of(sql: sqlite3.Connection, entity: str) -> list[Revision]:
    """Every revision of that entity, in the order in which they were received."""
    rows = sql.execute("SELECT rev, envelope FROM revision WHERE entity = ? ORDER BY id", (entity,))
    return [Revision.read(*row) for row in rows]


class Touched:
    """What one transaction changed, and the lines that have to be drawn anew for it."""

    def __init__(self, sql: sqlite3.Connection) -> None:
        self.sql = sql
        self.entities: dict[str, str] = {}
        self.sessions: set[str] = set()

    def add(self, revision: Revision) -> None:
        """Bring `current` up to date with a revision that has just been inserted."""
        entity = revision.entity
        row = self.sql.execute(
            "SELECT body, heads, linear FROM current WHERE entity = ?", (entity,)
        ).fetchone()
        before = _body(row[0]) if row else None
        if row is None and not revision.parents:
            state, linear = fold.fold([revision]), True
        elif row and row[2] and list(revision.parents) == json.loads(row[1]):
            body = fold.advance(before, revision)
            state, linear = fold.State(body, (revision.rev,), {}), True
        else:
            known = fold.in_order(revisions_of(self.sql, entity))
            state, linear, revision = fold.fold(known), fold.is_chain(known), known[-1]
        _keep(self.sql, revision, state, linear)
        self.entities[entity] = revision.kind
        for body in (before, state.body):
            if body and revision.kind in _ATTACHED:
                self.sessions.add(str(body.get("session", "")))

    def refresh(self) -> None:
        """Bring everything that is made from `current` up to date."""
        for entity, kind in self.entities.items():
            index_words(self.sql, entity)
            if kind == "session":
                self.sessions.add(entity)
                _keep_readings(self.sql, entity)
            elif kind in ("event", "car"):
                rows = self.sql.execute(
                    f"SELECT entity FROM session_line WHERE {kind} = ?", (entity,)
                )
                self.sessions.update(row[0] for row in rows)
        for session in self.sessions:
            _keep_line(self.sql, session)


def rebuild(sql: sqlite3.Connection, progress: Progress | None = None) -> None:
    """Make every projection anew, within the transaction that is open."""
    make_projections(sql)
    total = sql.execute("SELECT count(DISTINCT entity) FROM revision").fetchone()[0]
    sessions = []
    for done, known in enumerate(_entities(sql), 1):
        ordered = fold.in_order(known)
        _keep(sql, ordered[-1], fold.fold(known), fold.is_chain(ordered))
        index_words(sql, ordered[-1].entity)
        if ordered[-1].kind == "session":
            sessions.append(ordered[-1].entity)
        if progress and (done % 500 == 0 or done == total):
            progress(done, total)
    for session in sessions:
        _keep_readings(sql, session)
        _keep_line(sql, session)


def _entities(sql: sqlite3.Connection) -> Iterator[list[Revision]]:
    rows = sql.execute(
        """SELECT first, rev, envelope FROM revision
           JOIN (SELECT entity, min(id) AS first FROM revision GROUP BY entity) USING (entity)
           ORDER BY first, id"""
    )
    for _, group in groupby(rows, key=lambda row: row[0]):
        yield [Revision.read(rev, envelope) for _, rev, envelope in group]


def _keep(sql: sqlite3.Connection, latest: Revision, state: fold.State, linear: bool) -> None:
    sql.execute(
        """INSERT INTO current (entity, kind, body, heads, linear, recorded_at, author, reason)
           VALUES (?, ?, ?, ?, ?, ?, ?, ?)
           ON CONFLICT (entity) DO UPDATE SET kind = excluded.kind, body = excluded.body,
             heads = excluded.heads, linear = excluded.linear,
             recorded_at = excluded.recorded_at, author = excluded.author,
             reason = excluded.reason""",
        (
            latest.entity,
            latest.kind,
            None if state.body is None else canonical(state.body),
            json.dumps(state.heads),
            linear,
            latest.recorded_at,
            latest.author,
            latest.reason,
        ),
    )


def _keep_readings(sql: sqlite3.Connection, session: str) -> None:
    """Write the readings that differ: a patch of one value touches one page of the file."""
    number, stored = sql.execute(
        "SELECT id, body FROM current WHERE entity = ?", (session,)
    ).fetchone()
    rows = sql.execute("SELECT corner, field, * FROM reading WHERE session = ?", (number,))
    old = {row[:2]: row[2:] for row in rows}
    new = {row[:2]: (number, *row) for row in _readings(_body(stored) or {})}
    sql.executemany(
        "DELETE FROM reading WHERE session = ? AND corner = ? AND field = ?",
        [(number, *place) for place in old.keys() - new.keys()],
    )
    sql.executemany(
        "REPLACE INTO reading VALUES (?, ?, ?, ?, ?, ?)",
        [row for place, row in new.items() if old.get(place) != row],
    )


def _readings(body: Body) -> Iterator[tuple[str, str, str, str | None, float | None]]:
    for path, value in fold.leaves(body):
        corner = path[0] if path[0] in _CORNERS and path[1:] else ""
        name = path[1] if corner else ".".join(path)
        if isinstance(value, str) and name not in _NOT_READINGS:
            yield corner, name, value, None, None
        elif isinstance(value, dict) and "typed" in value:
            yield corner, name, text(value), str(value.get("unit", "")), number(value)


def _keep_line(sql: sqlite3.Connection, session: str) -> None:
    row = sql.execute(
        "SELECT id, body FROM current WHERE entity = ? AND kind = 'session'", (session,)
    ).fetchone()
    body = _body(row[1]) if row else None
    if row is None or body is None:
        sql.execute("DELETE FROM session_line WHERE entity = ?", (session,))
        return
    event, car = text(body.get("event")), text(body.get("car"))
    event_body, car_body = body_of(sql, event) or {}, body_of(sql, car) or {}
    start, date = text(body.get("start")), text(event_body.get("date"))
    surface, laps = text(body.get("surface")), number(body.get("laps"))
    attached = dict(
        sql.execute(
            """SELECT kind, count(*) FROM current
               WHERE session = ? AND body IS NOT NULL GROUP BY kind""",
            (session,),
        ).fetchall()
    )
    line = {
        "id": row[0],
        "entity": session,
        "sort_key": sort_key(start, date, born=session),
        "short": session[-6:],
        "event": event,
        "venue": text(event_body.get("venue")),
        "event_date": date,
        "car": car,
        "car_name": text(car_body.get("name")),
        "kind": text(body.get("kind")),
        "number": text(body.get("number")),
        "start": start,
        "driver": text(body.get("driver")),
        "status": text(body.get("status")),
        "surface": surface,
        "wet": surface == "wet" if surface else None,
        "laps": None if laps is None else round(laps),
        "best_lap_s": number(body.get("best_lap")),
        "hot_pressures": any(
            isinstance(body.get(corner), dict) and "hot_pressure" in body[corner]
            for corner in _CORNERS
        ),
        "notes": attached.get("note", 0),
        "changes": attached.get("change", 0),
        "kept": attached.get("kept", 0) > 0,
        "result": text(body.get("result")),
    }
    columns, values = ", ".join(line), tuple(line.values())
    kept = sql.execute(f"SELECT {columns} FROM session_line WHERE id = ?", (row[0],)).fetchone()
    if kept != values:
        marks = ", ".join("?" * len(line))
        sql.execute(f"REPLACE INTO session_line ({columns}) VALUES ({marks})", values)


def sort_key(start: str, event_date: str, born: str = "") -> str:
    """What sorts sessions by time. One without a start is the next to run at its event.

    Without a date either, the day comes from `born`, the session's identifier.
    """
    dated = _DATED.match(start)
    day = event_date or (dated[0] if dated else _day_of(born))
    return f"{day} {start if dated else f'{day} {start}' if start else '~'}"


def _day_of(entity: str) -> str:
    """The day in a UUIDv7; nothing for any other text."""
    from datetime import UTC, datetime

    try:
        milliseconds = int(entity[:8] + entity[9:13], 16)
        return datetime.fromtimestamp(milliseconds / 1000, UTC).date().isoformat()
    except (ValueError, OverflowError, OSError):
        return ""


def body_of(sql: sqlite3.Connection, entity: str) -> Body | None:
    """What stands for that entity; None when it is unknown or dropped."""
    row = sql.execute("SELECT body FROM current WHERE entity = ?", (entity,)).fetchone()
    return _body(row[0]) if row else None


class Standing(NamedTuple):
    """What stands for one entity, and who wrote the last of it, when and why."""

    entity: str
    kind: str
    body: Body
    author: str
    recorded_at: str
    reason: str


def standing(sql: sqlite3.Connection) -> list[Standing]:
    """Everything that stands, in the order of creation."""
    rows = sql.execute(
        """SELECT entity, kind, body, author, recorded_at, reason FROM current
           WHERE body IS NOT NULL ORDER BY id"""
    )
    return [Standing(entity, kind, json.loads(body), *who) for entity, kind, body, *who in rows]


def bodies(sql: sqlite3.Connection, where: str, values: Iterable[str]) -> list[tuple[str, Body]]:
    """Entities that stand, with their bodies, in the order of creation."""
    rows = sql.execute(
        f"SELECT entity, body FROM current WHERE {where} AND body IS NOT NULL ORDER BY id",
        tuple(values),
    )
    return [(entity, json.loads(body)) for entity, body in rows]


def _body(stored: str | None) -> Body | None:
    return None if stored is None else json.loads(stored)


def text(value: Any) -> str:
    """A value as a person reads it: words as they are, a reading as typed, unknown as nothing."""
    if isinstance(value, dict):
        value = value.get("typed")
    return "" if value is None else str(value)


def number(value: Any) -> float | None:
    """The number of a reading in its base unit; None when unknown or unreadable."""
    si = value.get("si") if isinstance(value, dict) else None
    return float(si) if isinstance(si, (int, float)) and not isinstance(si, bool) else None


PROJECTED: Final = ("current", "session_line", "reading", "words")
"""Tables that a rebuilt logbook must have in common with a live one, row for row."""
