"""The tables that are made from the revisions: what stands now, and the lists read from it.

A save brings up to date the entities that it touched; `rebuild` makes everything anew. Both must
come out equal.
"""

from __future__ import annotations

import json
import sqlite3
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from itertools import chain
from typing import Any, Final, NamedTuple

from trackside.errors import LogbookDamaged
from trackside.logbook import fold, rows
from trackside.logbook.canonical import digest
from trackside.logbook.links import TWIN, BodyOf, Links, Pair, joined, pair_of, pairs_in
from trackside.logbook.plain_sheet import (
    MOST_SHAPES,
    Numbers,
    Place,
    PlainSheet,
    Written,
    plain_sheet,
    statement_of,
)
from trackside.logbook.quarantine import believed, computers, held_back, look
from trackside.logbook.revisions import Body, Revision
from trackside.logbook.schema import make_projections
from trackside.units import clean

Progress = Callable[[int, int], None]

BATCH: Final = 500
"""Entities that a rebuild holds in memory before it writes them."""

AT_ONCE: Final = 100
"""Readings that a rebuild writes with one statement: 600 values of the 32,766 that SQLite takes
(the default since 3.32; sqlite.org/limits.html, from memory)."""

WIDE_CACHE: Final = -65536
"""The cache (kB, and only as much as is used) during a rebuild."""

_CURRENT: Final = (
    "INSERT INTO current (entity, kind, body, heads, linear, recorded_at, author, reason)"
)
_WORDS: Final = "INSERT INTO words (rowid, text, entity, kind, session) VALUES (?, ?, ?, ?, ?)"
_READING_ROW: Final = "(?, ?, ?, ?, ?, ?)"
_READING: Final = f"INTO reading VALUES {_READING_ROW}"


def revisions_of(sql: sqlite3.Connection, entity: str) -> list[Revision]:
    """Every revision of that entity that is believed, in the order in which they were received."""
    found = sql.execute(
        f"SELECT rev, envelope FROM revision WHERE entity = ? {believed(sql)} ORDER BY id",
        (entity,),
    )
    return [Revision.read(*row) for row in found]


def heads_in(sql: sqlite3.Connection, entity: str) -> str:
    """The heads of that entity as the table has them, a list in JSON."""
    row = sql.execute("SELECT heads FROM current WHERE entity = ?", (entity,)).fetchone()
    return row[0] if row else "[]"


def proved_revisions(sql: sqlite3.Connection, entity: str, heads: str) -> list[Revision]:
    """The same, each proved by its hash; LogbookDamaged when one is not what was written down.

    The index that finds them may be damaged too, so those that `heads` (a list in JSON) and the
    others name are looked for by their names.
    """
    found = sql.execute(
        "SELECT id, rev, envelope FROM revision WHERE entity = ? ORDER BY id", (entity,)
    )
    numbered = {row[0]: _proved(*row) for row in found.fetchall()}
    known = {revision.rev: number for number, revision in numbered.items()}
    wanted = {parent for revision in numbered.values() for parent in revision.parents}
    wanted.update(names_in(heads))
    while missing := [rev for rev in wanted if rev not in known]:
        wanted = set()
        for rev in missing:
            row = sql.execute(
                "SELECT id, rev, envelope FROM revision WHERE rev = ?", (rev,)
            ).fetchone()
            if row:
                numbered[row[0]] = _proved(*row)
                known[rev] = row[0]
                wanted.update(numbered[row[0]].parents)
    held = held_back(sql)
    return [
        revision
        for _, revision in sorted(numbered.items())
        if revision.entity == entity and revision.rev not in held
    ]


def names_in(heads: str) -> list[str]:
    """The names in a list in JSON; none of what is no such list."""
    try:
        found = json.loads(heads)
    except (ValueError, TypeError):
        return []
    return [rev for rev in found if isinstance(rev, str)] if isinstance(found, list) else []


def _proved(number: int, rev: str, envelope: Any) -> Revision:
    if not isinstance(envelope, str) or digest(envelope) != rev:
        raise LogbookDamaged(
            f"Revision {number} is not what was written down",
            "look at the logbook with trackside verify",
        )
    return Revision.read(rev, envelope)


class Touched:
    """What one transaction changed, and the lines that have to be drawn anew for it."""

    def __init__(self, sql: sqlite3.Connection) -> None:
        self.sql = sql
        self.entities: dict[str, str] = {}
        self.sessions: set[str] = set()
        self.pairs: list[Pair] = []

    def add(self, revision: Revision) -> None:
        """Bring `current` up to date with a revision that has just been inserted."""
        entity = revision.entity
        row = self.sql.execute(
            "SELECT body, heads, linear FROM current WHERE entity = ?", (entity,)
        ).fetchone()
        before = _body(row[0]) if row else None
        if row is None and not revision.parents:
            state, linear = fold.fold([revision]), True
        elif (
            row
            and row[2]
            and list(revision.parents) == json.loads(row[1])
            and not fold.hides_its_past(before, revision)
        ):
            body = fold.advance(before, revision)
            state, linear = fold.State(body, (revision.rev,), {}), True
        else:
            known = fold.in_order(revisions_of(self.sql, entity))
            state, linear, revision = fold.fold(known), fold.is_chain(known), known[-1]
        self._keep(before, revision, state, linear)

    def add_all(self, entity: str) -> None:
        """Bring `current` up to date with all the revisions of an entity."""
        before = body_of(self.sql, entity)
        known = fold.in_order(revisions_of(self.sql, entity))
        self._keep(before, known[-1], fold.fold(known), fold.is_chain(known))

    def _keep(self, before: Body | None, latest: Revision, state: fold.State, linear: bool) -> None:
        self.sql.execute(
            f"""{_CURRENT} VALUES (?, ?, ?, ?, ?, ?, ?, ?)
                ON CONFLICT (entity) DO UPDATE SET kind = excluded.kind, body = excluded.body,
                  heads = excluded.heads, linear = excluded.linear,
                  recorded_at = excluded.recorded_at, author = excluded.author,
                  reason = excluded.reason""",
            rows.current_row(latest, state, linear),
        )
        self.entities[latest.entity] = latest.kind
        for body in (before, state.body):
            if body and latest.kind in rows.ATTACHED:
                self.sessions.add(str(body.get("session", "")))
            if latest.kind == TWIN:
                self.pairs += pair_of(body)

    def refresh(self) -> None:
        """Bring everything that is made from `current` up to date."""
        for entity, kind in self.entities.items():
            _keep_words(self.sql, entity)
            if kind == "session":
                self.sessions.add(entity)
                _keep_readings(self.sql, entity)
            elif kind in ("event", "car"):
                self._listed_under(kind, entity)
        self._follow_links()
        for session in self.sessions:
            _keep_line(self.sql, session)

    def _listed_under(self, kind: str, entity: str) -> None:
        found = self.sql.execute(f"SELECT entity FROM session_line WHERE {kind} = ?", (entity,))
        self.sessions.update(row[0] for row in found)

    def _follow_links(self) -> None:
        """Take along the sessions that a decision, now or before, joins with what was changed: a
        record that came or went may lead their lines, and what belongs to them, elsewhere."""
        pairs = [*pairs_in(self.sql, body_of), *self.pairs]
        if not pairs:
            return
        ends = {entity for pair in self.pairs for entity in pair}
        changed = self.entities.keys() | self.sessions | ends
        in_pairs = {entity for pair in pairs for entity in pair}
        for entity in joined(changed & in_pairs, pairs):
            self.sessions.add(entity)  # no line is made of what is no session
            for kind in ("event", "car"):
                self._listed_under(kind, entity)


def _keep_words(sql: sqlite3.Connection, entity: str) -> None:
    """Take the words of what stands now, and the reasons given on the way, into the index."""
    number, kind, stored = sql.execute(
        "SELECT id, kind, body FROM current WHERE entity = ?", (entity,)
    ).fetchone()
    row = expected_words(sql, entity, kind, _body(stored))
    kept = sql.execute(
        "SELECT text, entity, kind, session FROM words WHERE rowid = ?", (number,)
    ).fetchone()
    if kept == row:
        return
    if kept:
        sql.execute("DELETE FROM words WHERE rowid = ?", (number,))
    if row:
        sql.execute(_WORDS, (number, *row))


def expected_words(
    sql: sqlite3.Connection, entity: str, kind: str, body: Body | None
) -> tuple | None:
    """text, entity, kind, session: what is searched of an entity of that kind with that body."""
    reasons = sql.execute(
        f"""SELECT json_extract(envelope, '$.reason', '$.op') AS reason FROM revision
           WHERE entity = ? AND json_extract(envelope, '$.reason') <> '' {believed(sql)}
           GROUP BY reason ORDER BY min(id)""",
        (entity,),
    )  # of two paths SQLite makes JSON, in which a NUL does not end the text
    said = dict.fromkeys(clean(json.loads(reason)[0]) for (reason,) in reasons)
    return rows.word_row(kind, entity, body, said)


def _keep_readings(sql: sqlite3.Connection, session: str) -> None:
    """Write the readings that differ: a patch of one value touches one page of the file."""
    number, stored = sql.execute(
        "SELECT id, body FROM current WHERE entity = ?", (session,)
    ).fetchone()
    found = sql.execute("SELECT * FROM reading WHERE session = ?", (number,))
    old = {row[:3]: row for row in found}
    new = {row[:3]: row for row in rows.reading_rows(number, _body(stored) or {})}
    sql.executemany(
        "DELETE FROM reading WHERE session = ? AND corner = ? AND field = ?",
        [place for place in old if place not in new],
    )
    sql.executemany(
        f"REPLACE {_READING}", [row for place, row in new.items() if old.get(place) != row]
    )


def _keep_line(sql: sqlite3.Connection, session: str) -> None:
    line = expected_line(sql, session, body_of)
    if line is None:
        sql.execute("DELETE FROM session_line WHERE entity = ?", (session,))
        return
    columns, values = ", ".join(line), tuple(line.values())
    kept = sql.execute(f"SELECT {columns} FROM session_line WHERE id = ?", (line["id"],)).fetchone()
    if kept != values:
        _write_lines(sql, [line])


def expected_line(
    sql: sqlite3.Connection, session: str, read: BodyOf, links: Links | None = None
) -> dict[str, Any] | None:
    """The line of a session, column to value, of the bodies that `read` gives; None where there
    is no such session. `links` are those of the same bodies, where many lines are asked for."""
    row = sql.execute(
        "SELECT id FROM current WHERE entity = ? AND kind = 'session'", (session,)
    ).fetchone()
    body = read(sql, session) if row else None
    if row is None or body is None:
        return None
    links = links or Links.read(sql, read)
    body = links.followed(body)
    event = read(sql, rows.text(body.get("event"))) or {}
    car = read(sql, rows.text(body.get("car"))) or {}
    attached: Counter[str] = Counter()
    for name in links.names_of(session):
        counted = sql.execute(
            """SELECT kind, count(*) FROM current
               WHERE session = ? AND body IS NOT NULL GROUP BY kind""",
            (name,),
        )
        attached.update(dict(counted.fetchall()))
    return rows.line_row(row[0], session, body, event, car, attached)


def _write_lines(
    sql: sqlite3.Connection, lines: list[dict[str, Any]], verb: str = "REPLACE"
) -> None:
    if lines:
        columns, marks = ", ".join(lines[0]), ", ".join("?" * len(lines[0]))
        sql.executemany(
            f"{verb} INTO session_line ({columns}) VALUES ({marks})",
            [tuple(line.values()) for line in lines],
        )


def rebuild(sql: sqlite3.Connection, progress: Progress | None = None) -> None:
    """Make every projection anew, within the transaction that is open."""
    with _wide_cache(sql):
        _rebuild(sql, progress)


@contextmanager
def _wide_cache(sql: sqlite3.Connection) -> Iterator[None]:
    """A cache in which a rebuild of ten seasons writes each page once, not many times."""
    [(size,)] = sql.execute("PRAGMA cache_size")
    sql.execute(f"PRAGMA cache_size = {WIDE_CACHE}")
    try:
        yield
    finally:
        sql.execute(f"PRAGMA cache_size = {size}")


def _rebuild(sql: sqlite3.Connection, progress: Progress | None) -> None:
    look(sql, computers(sql))
    make_projections(sql)
    entities = entities_in_order(sql)
    anew = _Anew(sql)
    for begun in range(0, len(entities), BATCH):
        batch = entities[begun : begun + BATCH]
        for number, written in enumerate(_written_of_each(sql, batch), begun + 1):
            anew.add(number, written)
        anew.write()
        if progress:
            progress(begun + len(batch), len(entities))
    anew.write_lines()


def _written_of_each(sql: sqlite3.Connection, entities: list[str]) -> Iterable[list[Written]]:
    """What `revisions_of` each of them reads, asked for in one go."""
    known: dict[str, list[Written]] = {entity: [] for entity in entities}
    found = sql.execute(
        f"""SELECT entity, rev, envelope FROM revision
            WHERE entity IN ({", ".join("?" * len(entities))}) {believed(sql)} ORDER BY id""",
        entities,
    )
    for entity, rev, envelope in found:
        known[entity].append((rev, envelope))
    return known.values()


def entities_in_order(sql: sqlite3.Connection) -> list[str]:
    """Every entity of which something is believed, in the order in which they came in."""
    found = sql.execute(
        f"""SELECT entity, min(id) AS first FROM revision WHERE true {believed(sql)}
            GROUP BY entity ORDER BY first"""
    )
    return [entity for entity, _ in found]


class _Anew:
    """The rows of a rebuild, many entities at a time; the lines last, when all events are known."""

    def __init__(self, sql: sqlite3.Connection) -> None:
        self.sql = sql
        self.current: list[tuple] = []
        self.words: list[tuple] = []
        self.readings: list[Any] = []  # values, one row after another
        self.statements: dict[tuple[Place, ...], str] = {}
        self.sheets: dict[str, list[list[Any]]] = {}  # by their statement
        self.numbers = Numbers()
        self.named: dict[str, Body] = {}
        self.sessions: list[tuple[int, str, Body]] = []
        self.attached: dict[str, Counter[str]] = {}
        self.pairs: dict[str, list[Pair]] = {}

    def add(self, number: int, written: list[Written]) -> None:
        """One entity, all that was written of it in the order of its arrival."""
        if len(written) == 1 and (sheet := plain_sheet(number, written[0], self.numbers)):
            latest, state = sheet.latest, sheet.state
            self.current.append(rows.current_row(latest, state, True, sheet.body))
            self._keep_sheet(sheet)
            self._take(number, latest, state.body, [latest.reason])
            return
        known = [Revision.read(*one) for one in written]
        ordered = fold.in_order(known)
        latest, state = ordered[-1], fold.fold_in_order(ordered)
        self.current.append(rows.current_row(latest, state, fold.is_chain(ordered)))
        if latest.kind == "session" and state.body is not None:
            self.readings += chain.from_iterable(sorted(rows.reading_rows(number, state.body)))
        self._take(number, latest, state.body, (revision.reason for revision in known))

    def _take(
        self, number: int, latest: Revision, body: Body | None, reasons: Iterable[str]
    ) -> None:
        entity, kind = latest.entity, latest.kind
        if said := rows.word_row(kind, entity, body, dict.fromkeys(reasons)):
            self.words.append((number, *said))
        if body is None:
            return
        if kind == "session":
            self.sessions.append((number, entity, rows.gist(body)))
        elif kind in rows.ATTACHED:
            session = str(body.get("session", ""))
            self.attached.setdefault(session, Counter())[kind] += 1
        elif kind == TWIN:
            self.pairs[entity] = pair_of(body)
        self.named[entity] = {
            name: body[name] for name in ("date", "venue", "name") if name in body
        }

    def _keep_sheet(self, sheet: PlainSheet) -> None:
        """Its rows, among those of the sheets that are filled in alike, or row after row where too
        many ways of filling one in have come."""
        statement = self.statements.get(sheet.places)
        if statement is None and len(self.statements) < MOST_SHAPES:
            statement = self.statements[sheet.places] = statement_of(sheet.places)
        if statement:
            self.sheets.setdefault(statement, []).append(sheet.values)
        else:
            self.readings += chain.from_iterable(sheet.rows())

    def write(self) -> None:
        """Write what has gathered, but for the lines."""
        self.sql.executemany(f"{_CURRENT} VALUES (?, ?, ?, ?, ?, ?, ?, ?)", self.current)
        self.sql.executemany(_WORDS, self.words)
        self._write_readings(self.readings)
        for statement, sheets in self.sheets.items():
            self.sql.executemany(statement, sheets)
        self.current, self.words, self.readings, self.sheets = [], [], [], {}

    def _write_readings(self, values: list[Any]) -> None:
        """A hundred rows a statement: what SQLite and Python do once a statement, they do less."""
        width = _READING_ROW.count("?")
        step = AT_ONCE * width
        whole = len(values) - len(values) % step
        statement = f"INSERT {_READING}" + f", {_READING_ROW}" * (AT_ONCE - 1)
        for begun in range(0, whole, step):
            self.sql.execute(statement, values[begun : begun + step])
        rest = range(whole, len(values), width)
        self.sql.executemany(f"INSERT {_READING}", [values[at : at + width] for at in rest])

    def write_lines(self) -> None:
        """Write every session's line."""
        pairs = [pair for entity in sorted(self.pairs) for pair in self.pairs[entity]]
        links = Links(pairs, self.named.__contains__)
        for dropped in {dropped for dropped, _ in pairs}:
            if (holder := links.holder(dropped)) != dropped and dropped in self.attached:
                self.attached.setdefault(holder, Counter()).update(self.attached[dropped])
        _write_lines(
            self.sql,
            [
                rows.line_row(
                    number,
                    session,
                    body,
                    self.named.get(rows.text(body.get("event")), {}),
                    self.named.get(rows.text(body.get("car")), {}),
                    self.attached.get(session, {}),
                )
                for number, session, body in (
                    (number, session, links.followed(body))
                    for number, session, body in self.sessions
                )
            ],
            verb="INSERT",
        )


def body_of(sql: sqlite3.Connection, entity: str) -> Body | None:
    """What stands for that entity; None when it is unknown or dropped."""
    row = sql.execute("SELECT body FROM current WHERE entity = ?", (entity,)).fetchone()
    return _body(row[0]) if row else None


class CurrentState(NamedTuple):
    """What stands for one entity, and who wrote the last of it, when and why."""

    entity: str
    kind: str
    body: Body
    author: str
    recorded_at: str
    reason: str


def current_after(sql: sqlite3.Connection, number: int, count: int) -> list[tuple]:
    """The next `count` that stand behind that number: number, entity, kind, body as kept,
    heads, recorded_at, author, reason."""
    return sql.execute(
        """SELECT id, entity, kind, body, heads, recorded_at, author, reason FROM current
           WHERE id > ? AND body IS NOT NULL ORDER BY id LIMIT ?""",
        (number, count),
    ).fetchall()


def _body(stored: str | None) -> Body | None:
    found = json.loads(stored) if isinstance(stored, str) else stored
    if found is None or isinstance(found, dict):
        return found
    raise LogbookDamaged(
        "A table of the logbook is damaged", "repair it with trackside verify --rebuild"
    )


PROJECTED: Final = ("current", "session_line", "reading", "words")
"""Tables that a rebuilt logbook must have in common with a live one, row for row."""
