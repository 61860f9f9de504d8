"""What is shown is what the revisions say: each value is compared with them when it is read.

The tables that pages read are copies, and a spot on the disk may change a figure in one of them.
A body is folded again from its revisions, each proved by its hash, and then remembered by what
the table held. A list is compared with the bodies beside it: one damaged spot cannot change both
alike. Where they differ the revisions are believed, and the difference is named.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable
from contextlib import suppress
from typing import Any, Final

from trackside.errors import LogbookDamaged, UnknownRecord
from trackside.logbook import pitboard, rows
from trackside.logbook.fold import fold, in_order
from trackside.logbook.last_read import Asked, LastRead
from trackside.logbook.links import Links
from trackside.logbook.pitboard import SessionLine
from trackside.logbook.projections import (
    expected_line,
    expected_words,
    proved_revisions,
)
from trackside.logbook.revisions import Body
from trackside.logbook.run_columns import Said, Value
from trackside.logbook.search import Found, excerpt
from trackside.logbook.unread import UnreadRecords

REBUILD: Final = "a table is damaged; trackside verify --rebuild makes it again from the revisions"
UNPROVED: Final = "what is shown of it cannot be checked; look at the logbook with trackside verify"
_ROW: Final = "kind, body, heads, recorded_at, author, reason"
_NOTHING: Final = ("", None, "[]", "", "", "")


class Proof:
    """What one open logbook has compared, and where it names what differs."""

    def __init__(self, unread: UnreadRecords) -> None:
        self._unread = unread
        self._rows: dict[str, int] = {}
        self._lines: dict[str, int] = {}

    def body(self, sql: sqlite3.Connection, entity: str) -> Body | None:
        """What the revisions say of that entity, its links followed (see `links`); None when it is
        unknown or dropped."""
        body = self._written(sql, entity)
        return None if body is None else self.followed(sql, body)

    def followed(self, sql: sqlite3.Connection, body: Body) -> Body:
        """That body with its links followed (see `links`)."""
        return Links.read(sql, self._written).followed(body)

    def _written(self, sql: sqlite3.Connection, entity: str) -> Body | None:
        row = sql.execute(f"SELECT {_ROW} FROM current WHERE entity = ?", (entity,)).fetchone()
        return _read(self.row(sql, entity, row or _NOTHING)[1])

    def bodies(
        self, sql: sqlite3.Connection, where: str, values: Iterable[str]
    ) -> list[tuple[str, Body]]:
        """Entities that stand, with their bodies, links followed, in the order of creation: that of
        their codes, which is the same on every laptop, whatever came in first."""
        found = sql.execute(
            f"""SELECT entity, {_ROW} FROM current
                WHERE {where} AND body IS NOT NULL ORDER BY entity""",
            tuple(values),
        ).fetchall()
        proved = ((entity, _read(self.row(sql, entity, tuple(row))[1])) for entity, *row in found)
        links = Links.read(sql, self._written)
        return [(entity, links.followed(body)) for entity, body in proved if body is not None]

    def row(self, sql: sqlite3.Connection, entity: str, row: tuple) -> tuple:
        """kind, body, heads, recorded_at, author, reason: that row as the revisions have it."""
        mark = hash(row)
        if self._rows.get(entity) == mark:
            return row
        kind, stored, heads, *_ = row
        try:
            known = proved_revisions(sql, entity, heads)
        except LogbookDamaged as error:
            self._unread.doubt(kind, entity, _read(stored), f"{error.cause}; {UNPROVED}")
            return row
        if not known:
            if kind:
                self._unread.doubt(kind, entity, _read(stored), f"no revision names it: {REBUILD}")
            return _NOTHING
        _, *made = rows.current_row(in_order(known)[-1], fold(known), linear=True)
        true = (*made[:3], *made[4:])
        if true == row:
            self._rows[entity] = mark
        else:
            self._unread.doubt(
                true[0], entity, _read(true[1]), f"shown from its revisions: {REBUILD}"
            )
        return true

    def run(
        self, sql: sqlite3.Connection, run: tuple, found: list[tuple]
    ) -> tuple[tuple, list[tuple]] | None:
        """A session as `pitboard.all_runs` gives it, and all its readings (corner, field, typed,
        unit, SI number), as the revisions have them, with what its lap times give; None where they
        have no such session."""
        body = self.body(sql, run[-1])
        known = {run[-1]: body, "": None}

        def read(sql: sqlite3.Connection, entity: str) -> Body | None:
            return known[entity] if entity in known else self._written(sql, entity)

        made = expected_line(sql, run[-1], read)
        true = tuple(made[name] for name in pitboard.RUN) if made else None
        readings = sorted(row[1:] for row in rows.reading_rows(0, body or {}))
        if true != run or readings != found:
            self._doubt_list(run[-1], body)
        return (true, sorted(readings + rows.lap_figures(body or {}))) if true else None

    def newest_ran(
        self, sql: sqlite3.Connection, found: list[tuple[str, str, str]], field: str
    ) -> list[tuple[str, str, str]]:
        """Texts (case folded) with the session and the corner that ran with them; one that the
        revisions do not have there is left out."""
        proved = []
        for text, session, corner in found:
            true = rows.reading_at(_there(sql, session) or {}, corner, field)
            if true is None or true[0].casefold() != text:
                true = rows.reading_at(self.body(sql, session) or {}, corner, field)
            if true and true[0].casefold() == text:
                proved.append((text, session, corner))
            else:
                self._doubt_list(session, self.body(sql, session))
        return proved

    def lines(self, sql: sqlite3.Connection, found: list[SessionLine]) -> list[SessionLine]:
        """Those lines of the pit board, newest first, as the revisions have them."""
        anew = any(self._lines.get(line.entity) != hash(line) for line in found)
        there = _AsItLies(sql) if anew else None
        read = (self.line(sql, line, there) for line in found)
        proved = [line for line in read if line is not None]
        if proved != found:
            proved.sort(key=lambda line: (line.sort_key, line.entity), reverse=True)
        return proved

    def names(
        self, sql: sqlite3.Connection, found: list[tuple[str, str, str]]
    ) -> tuple[tuple[str, str], ...]:
        """Cars with their drivers, given with a session that has them, each pair once; one that
        the revisions do not have there is left out."""
        proved = []
        for car, driver, session in found:
            line = self._line_of(sql, session)
            if line and (line.car_name, line.driver) == (car, driver):
                proved.append((car, driver))
        return tuple(proved)

    def waiting(self, sql: sqlite3.Connection, found: list[str]) -> list[str]:
        """Those events without a session, but for one that a session does belong to."""
        if not found:
            return []
        lines = (self._line_of(sql, session) for session in pitboard.of_no_event(sql))
        taken = {line.event for line in lines if line}
        return [event for event in found if event not in taken and self.body(sql, event)]

    def _line_of(self, sql: sqlite3.Connection, session: str) -> SessionLine | None:
        with suppress(UnknownRecord):
            return self.line(sql, pitboard.line(sql, session))
        return None

    def columns(
        self, sql: sqlite3.Connection, found: list[tuple[str, str, str | None, str]]
    ) -> list[tuple[str, str, str | None]]:
        """Corners, fields and units, given with a session that has them; one that the revisions do
        not have there is left out."""
        proved = []
        for corner, field, unit, session in found:
            for read in (_there, self.body):
                true = rows.reading_at(read(sql, session) or {}, corner, field)
                if true and true[1] == unit:
                    proved.append((corner, field, unit))
                    break
            else:
                self._doubt_list(session, self.body(sql, session))
        return proved

    def line(
        self, sql: sqlite3.Connection, found: SessionLine, there: _AsItLies | None = None
    ) -> SessionLine | None:
        """That line as the revisions have it; None when there is no such session. `there` is what
        the table has: lines of one event are compared with the same few bodies."""
        mark = hash(found)
        if self._lines.get(found.entity) == mark:
            return found
        there = there or _AsItLies(sql)
        if pitboard.line_from(sql, found.entity, there.body, there.links) == found:
            self._lines[found.entity] = mark
            return found
        true = pitboard.line_from(sql, found.entity, self._written)
        if true is not None and true != found:
            true = true._replace(**self._attached_to(sql, found.entity))
        if true != found:
            self._doubt_list(found.entity, found._asdict())
        return true

    def of_session(
        self, sql: sqlite3.Connection, kind: str, session: str
    ) -> list[tuple[str, Body]]:
        """What of that kind belongs to the session, in the order of creation."""
        names = Links.read(sql, self._written).names_of(session)
        marks = ", ".join("?" * len(names))
        found = self.bodies(sql, f"kind = ? AND session IN ({marks})", (kind, *names))
        found = [(entity, body) for entity, body in found if body.get("session") == session]
        line = sql.execute(
            "SELECT notes, changes, kept FROM session_line WHERE entity = ?", (session,)
        ).fetchone()
        counted = len(found) > 0 if kind == "kept" else len(found)
        if kind not in rows.ATTACHED or not line or line[rows.ATTACHED.index(kind)] == counted:
            return found
        true = [(entity, body) for entity, of, body in self._attached(sql, session) if of == kind]
        self._doubt_list(session, self.body(sql, session))
        return true

    def _attached(self, sql: sqlite3.Connection, session: str) -> list[tuple[str, str, Body]]:
        """entity, kind and body of all that belongs to a session, looked for in the revisions
        themselves: slow, and only done where two tables contradict each other."""
        names = Links.read(sql, self._written).names_of(session)
        marks = ", ".join("?" * len(names))
        named = sql.execute(
            f"""SELECT json_extract(envelope, '$.entity') AS entity, min(id) AS first FROM revision
                WHERE json_extract(envelope, '$.body.session') IN ({marks})
                GROUP BY 1 ORDER BY first""",
            names,
        ).fetchall()
        found = []
        for entity, _ in named:
            row = sql.execute(f"SELECT {_ROW} FROM current WHERE entity = ?", (entity,)).fetchone()
            kind, stored, *_ = self.row(sql, entity, row or _NOTHING)
            body = _read(stored)
            if body and body.get("session") in names:
                found.append((entity, kind, body))
        return found

    def _attached_to(self, sql: sqlite3.Connection, session: str) -> dict[str, Any]:
        kinds = [kind for _, kind, _ in self._attached(sql, session)]
        return {
            "notes": kinds.count("note"),
            "changes": kinds.count("change"),
            "kept": "kept" in kinds,
        }

    def readings(
        self,
        sql: sqlite3.Connection,
        found: list[tuple[str, str, str | None, float | None]],
        corner: str,
        field: str,
    ) -> list[tuple[str, str, str | None, float | None]]:
        """Values through the sessions, (session, typed, unit, SI number), as the revisions have
        them."""
        proved = ((row[0], self._reading(sql, row[0], corner, field, row[1:])) for row in found)
        return [(session, *value) for session, value in proved if value]

    def last_read(
        self, sql: sqlite3.Connection, found: dict[Asked, LastRead]
    ) -> dict[Asked, LastRead]:
        """Those readings as the revisions have them."""
        proved = {}
        for asked, one in found.items():
            value = one.typed, one.unit, one.si
            true = self._reading(sql, one.session, one.corner, asked.field, value)
            if true:
                typed, unit, si = true
                proved[asked] = one._replace(typed=typed, unit=unit, si=si)
        return proved

    def texts(
        self, sql: sqlite3.Connection, found: Iterable[tuple[str, str, str]], field: str
    ) -> list[str]:
        """Texts in a field, given as (session, corner, text), as the revisions have them."""
        proved = (
            self._reading(sql, session, corner, field, (text, None, None), only_text=True)
            for session, corner, text in found
        )
        return [value[0] for value in proved if value]

    def _reading(
        self,
        sql: sqlite3.Connection,
        session: str,
        corner: str,
        field: str,
        value: tuple,
        *,
        only_text: bool = False,
    ) -> tuple | None:
        def at(body: Body | None) -> tuple | None:
            true = rows.reading_at(body or {}, corner, field)
            return (true[0], None, None) if true and only_text else true

        if at(_there(sql, session)) == value:
            return value
        body = self.body(sql, session)
        if at(body) != value:
            self._doubt_list(session, body)
        return at(body)

    def found(self, sql: sqlite3.Connection, found: list[Found], text: str) -> list[Found]:
        """Those answers to a search; one whose words are not what was said says what was."""
        proved = []
        for one in found:
            kept = sql.execute(
                """SELECT text, words.entity, words.kind, words.session
                   FROM current JOIN words ON words.rowid = current.id WHERE current.entity = ?""",
                (one.entity,),
            ).fetchone()
            row = sql.execute(
                f"SELECT {_ROW} FROM current WHERE entity = ?", (one.entity,)
            ).fetchone()
            kind, stored, *_ = self.row(sql, one.entity, row or _NOTHING)
            body = _read(stored)
            true = expected_words(sql, one.entity, kind, body)
            if kept == true and kept and kept[1:] == one[:3]:
                proved.append(one)
                continue
            self._doubt_list(one.entity, body, one.kind)
            if true:
                proved.append(Found(one.entity, true[2], true[3], excerpt(true[0], text)))
        links = Links.read(sql, self._written)
        return [one._replace(session=links.holder(one.session)) for one in proved]

    def value(
        self, sql: sqlite3.Connection, session: str, found: Value
    ) -> tuple[str, str | None, float | None] | None:
        """That value of a run as the revisions have it: typed, unit, SI number."""
        kept = found.typed, found.unit, found.si
        return self._reading(sql, session, found.corner, found.field, kept)

    def held_by(self, sql: sqlite3.Connection, said: list[Said]) -> list[Said]:
        """What was said, of the sessions that hold it now (see `links`)."""
        links = Links.read(sql, self._written)
        return [one._replace(session=links.holder(one.session)) for one in said]

    def _doubt_list(self, entity: str, body: Any, kind: str = "session") -> None:
        self._unread.doubt(kind, entity, body, f"shown from its revisions: {REBUILD}")


class _AsItLies:
    """What the table has, proved or not, for the length of one reading of it: each body, and where
    links lead, taken from it once."""

    def __init__(self, sql: sqlite3.Connection) -> None:
        self._known: dict[str, Body | None] = {}
        self.links = Links.read(sql, self.body)

    def body(self, sql: sqlite3.Connection, entity: str) -> Body | None:
        """The body of that entity; None when the table has none."""
        if entity not in self._known:
            self._known[entity] = _there(sql, entity)
        return self._known[entity]


def _there(sql: sqlite3.Connection, entity: str) -> Body | None:
    """The body of that entity as the table has it, proved or not."""
    row = sql.execute("SELECT body FROM current WHERE entity = ?", (entity,)).fetchone()
    return _read(row[0]) if row else None


def _read(stored: str | None) -> Body | None:
    """A body as a table has it; None when that is none."""
    try:
        found = None if stored is None else json.loads(stored)
    except (ValueError, TypeError):
        return None
    return found if isinstance(found, dict) else None
