"""Proving the logbook: every hash recomputed, every table compared with what the revisions say.

Nothing is written, and no lock is held for long: a few records are looked at in one short reading
transaction, so a save waits for milliseconds. What is saved meanwhile is compared as it is then.
"""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from typing import Final, NamedTuple

from trackside.errors import LogbookDamaged
from trackside.logbook import fold, rows
from trackside.logbook.canonical import digest
from trackside.logbook.projections import (
    PROJECTED,
    Progress,
    entities_in_order,
    expected_line,
    expected_words,
    heads_in,
    proved_revisions,
)
from trackside.logbook.quarantine import computers, forks, held_back, judged, sentences
from trackside.logbook.revisions import Body
from trackside.logbook.schema import VERSION, WORDS, described, run

Pause = Callable[[int], None]
"""Called after so many records."""

AT_ONCE: Final = 20
"""Records in one reading transaction: about ten milliseconds."""
AFTER_S: Final = 0.002
"""Between two of them, where saves and keys come first."""
LONG: Final = 2000
"""Records that are checked before anybody has turned a page."""
LONG_AFTER_S: Final = 0.03
"""Between two readings after these: a check of ten seasons made a page wait for 0.3 s."""


class Check(NamedTuple):
    """How many revisions were proved, and what is wrong, one sentence each. `held` says what came
    in under a name that is not its writer's: the logbook is sound with it."""

    revisions: int
    problems: tuple[str, ...]
    held: tuple[str, ...] = ()


def let_saves_through(records: int = 0) -> None:
    """The pause of a check that nobody waits for, after so many records."""
    time.sleep(LONG_AFTER_S if records > LONG else AFTER_S)


def damage(sql: sqlite3.Connection) -> Iterator[str]:
    """What is not as it was written, one sentence each: pages of the file, then revisions."""
    for row in sql.execute("PRAGMA integrity_check(20)"):
        if row[0] != "ok":
            yield f"SQLite finds: {row[0]}."
    for number, rev, envelope in sql.execute("SELECT id, rev, envelope FROM revision ORDER BY id"):
        if not isinstance(envelope, str) or digest(envelope) != rev:
            yield f"Revision {number} is not what was written down."


def check(sql: sqlite3.Connection, progress: Progress | None = None) -> Check:
    """Check pages, revisions, numbers in sequence, parents, names and tables."""
    with _one_moment(sql):
        found = [*damage(sql), *_missing(sql)]
    held: list[str] = []
    try:
        with _one_moment(sql):
            held += _held(sql)
        found += differing(sql, progress)
    except (sqlite3.DatabaseError, ValueError):
        if not found:
            raise
    return Check(_count(sql), tuple(dict.fromkeys(found)), tuple(held))


def _held(sql: sqlite3.Connection) -> Iterator[str]:
    devices = computers(sql)
    yield from sentences(why for device in devices for why in judged(sql, device).values())
    yield from forks(sql, devices)


def _missing(sql: sqlite3.Connection) -> Iterator[str]:
    held, numbers = held_back(sql), "SELECT seq FROM revision WHERE rev = ? AND device = ?"
    for device, first, last in sql.execute("SELECT device, first, last FROM gap").fetchall():
        ends = {n for rev in held for (n,) in sql.execute(numbers, (rev, device))}
        if last + 1 not in ends:
            yield f"Revisions {first} to {last} of device {device} are missing."
    children = sql.execute("SELECT DISTINCT rev, child FROM missing_parent").fetchall()
    missing = len({rev for rev, child in children if child not in held})
    if missing:
        yield f"{missing} earlier revisions are named, but are not here."


def _count(sql: sqlite3.Connection) -> int:
    return sql.execute("SELECT count(*) FROM revision").fetchone()[0]


def differing(
    sql: sqlite3.Connection, progress: Progress | None = None, pause: Pause | None = None
) -> Iterator[str]:
    """The tables that do not hold what the revisions say, or are not described as they were made,
    and the revisions that are not what was written down: one sentence each."""
    yield from _redescribed(sql)
    wrong: set[str] = set()
    damaged: dict[str, None] = {}
    with _one_moment(sql):
        entities = entities_in_order(sql)
    for start in range(0, len(entities), AT_ONCE):
        page = entities[start : start + AT_ONCE]
        with _one_moment(sql):
            bodies = _Bodies()
            for number, entity in enumerate(page, start + 1):
                try:
                    wrong |= _differing(sql, number, entity, bodies)
                except LogbookDamaged as error:
                    damaged[f"{error.cause}."] = None
        yield from damaged
        damaged.clear()
        if progress:
            progress(start + len(page), len(entities))
        if pause:
            pause(start + len(page))
    for table, query in _STRAY:
        if sql.execute(query).fetchone():
            wrong.add(table)
    if sql.execute("PRAGMA integrity_check(session_line)").fetchall() != [("ok",)]:
        wrong.add("session_line")
    if "words" not in wrong and _is_index_wrong(sql):
        wrong.add("words")
    for table in PROJECTED:
        if table in wrong:
            yield _DIFFERS.format(table)


def _redescribed(sql: sqlite3.Connection) -> Iterator[str]:
    """Tables, triggers and views of which the file's own description was changed; those of a newer
    program are its own."""
    [(version,)] = sql.execute("PRAGMA user_version")
    there = dict(sql.execute("SELECT name, sql FROM sqlite_schema"))
    for name, description in described(version).items() if version <= VERSION else ():
        if there.get(name) != description:
            yield f"The description of {name} in the file is not as it was written down."


def _is_index_wrong(sql: sqlite3.Connection) -> bool:
    """Whether a search does not find, or not in the right order, what the words beside its index
    say.

    SQLite's own check of the index wants to write, so it is done on a copy in memory. It looks at
    no length of a column that is not searched, though the order of the answers depends on it; so
    the copy's index is made again, and the lengths are compared. This takes as long as the words
    take to index: a third of a second for ten seasons.
    """
    with _one_moment(sql):
        kept = {name: sql.execute(f"SELECT * FROM words_{name}").fetchall() for name in _OF_WORDS}
    if not kept["content"]:
        return False
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as copy:
        run(copy, WORDS)
        try:
            for name, found in kept.items():
                copy.execute(f"DELETE FROM words_{name}")
                if found:
                    marks = ", ".join("?" * len(found[0]))
                    copy.executemany(f"INSERT INTO words_{name} VALUES ({marks})", found)
            before = [copy.execute(query).fetchall() for query in _LENGTHS]
            for command in ("integrity-check", "rebuild"):
                copy.execute("INSERT INTO words (words) VALUES (?)", (command,))
            return before != [copy.execute(query).fetchall() for query in _LENGTHS]
        except sqlite3.DatabaseError:
            return True


@contextmanager
def _one_moment(sql: sqlite3.Connection) -> Iterator[None]:
    """All that is read is of one moment; a transaction that is open already does for it."""
    if sql.in_transaction:
        yield
        return
    sql.execute("BEGIN")
    try:
        yield
    finally:
        if sql.in_transaction:  # a full disk or memory has SQLite end it by itself
            sql.execute("ROLLBACK")


class _Bodies:
    """What the revisions say, each entity folded once."""

    def __init__(self) -> None:
        self.folded: dict[str, Body | None] = {}

    def __call__(self, sql: sqlite3.Connection, entity: str) -> Body | None:
        if entity not in self.folded:
            try:
                known = proved_revisions(sql, entity, heads_in(sql, entity))
                self.folded[entity] = fold.fold(known).body
            except LogbookDamaged:
                self.folded[entity] = None
        return self.folded[entity]


def _differing(sql: sqlite3.Connection, number: int, entity: str, bodies: _Bodies) -> set[str]:
    """The tables that do not hold what they should of one entity, the `number`th to come in.
    LogbookDamaged where a revision of it is not what was written down."""
    known = fold.in_order(proved_revisions(sql, entity, heads_in(sql, entity)))
    if not known:
        return {"current"}  # the index names an entity that no revision has
    state, latest = fold.fold(known), known[-1]
    bodies.folded[entity] = body = state.body
    said = expected_words(sql, entity, latest.kind, body)
    expected = {
        "current": [(number, *rows.current_row(latest, state, fold.is_chain(known)))],
        "words": [(number, *said)] if said else [],
        "reading": [],
        "session_line": [],
    }
    if latest.kind == "session":
        expected["reading"] = sorted(rows.reading_rows(number, body or {}), key=repr)
        line = expected_line(sql, entity, bodies)
        expected["session_line"] = [tuple(line.values())] if line else []
        columns = ", ".join(line) if line else "*"
    else:
        columns = "*"
    there = {
        "current": sql.execute(f"SELECT {_CURRENT} FROM current WHERE entity = ?", (entity,)),
        "words": sql.execute(f"SELECT {_WORDS} FROM words WHERE rowid = ?", (number,)),
        "reading": sql.execute(f"SELECT {_READING} FROM reading WHERE session = ?", (number,)),
        "session_line": sql.execute(f"SELECT {columns} FROM session_line WHERE id = ?", (number,)),
    }
    wrong = {table for table, found in there.items() if sorted(found, key=repr) != expected[table]}
    session = (body or {}).get("session")
    if isinstance(session, str) and not sql.execute(_OF_SESSION, (session, entity)).fetchone():
        wrong.add("current")
    return wrong


_DIFFERS: Final = "The table {} is not what the revisions say; rebuild the logbook."
_OF_WORDS: Final = ("content", "docsize", "config", "idx", "data")
"""Tables that SQLite keeps for `words` (its "FTS5 Extension", section 10, from memory)."""
_LENGTHS: Final = (
    "SELECT * FROM words_docsize ORDER BY id",
    "SELECT * FROM words_config ORDER BY k",
    "SELECT block FROM words_data WHERE id = 1",
)
_OF_SESSION: Final = (
    "SELECT 1 FROM current INDEXED BY current_session WHERE session = ? AND entity = ?"
)
_CURRENT: Final = "id, entity, kind, body, heads, linear, recorded_at, author, reason"
_WORDS: Final = "rowid, text, entity, kind, session"
_READING: Final = "session, corner, field, typed, unit, si"
_STRAY: Final = (
    ("current", "SELECT 1 FROM current WHERE entity NOT IN (SELECT entity FROM revision) LIMIT 1"),
    (
        "current",
        """SELECT 1 FROM current AS one WHERE NOT EXISTS
             (SELECT 1 FROM current INDEXED BY current_kind WHERE kind = one.kind AND id = one.id)
           LIMIT 1""",
    ),
    ("session_line", "SELECT 1 FROM session_line WHERE id NOT IN (SELECT id FROM current) LIMIT 1"),
    ("reading", "SELECT 1 FROM reading WHERE session NOT IN (SELECT id FROM current) LIMIT 1"),
    ("words", "SELECT 1 FROM words WHERE rowid NOT IN (SELECT id FROM current) LIMIT 1"),
)
"""What finds rows of nothing that was ever written down, and rows that a list misses."""
