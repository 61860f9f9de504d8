"""The tables. `revision` is the truth; everything else is made from it and can be made anew.

Later versions add columns, tables and views, and never rename or remove one: an older program can
still read a newer file.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from functools import cache
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from sqlite_utils import Database

APPLICATION_ID: Final = 0x7472616B
"""The bytes "trak" in the file's header."""

VERSION: Final = 3
"""`PRAGMA user_version` of the files that this program writes."""

_MARK: Final = 0xFFFFFFFF
"""The 32 bits of a mark, which SQLite takes for a number with a sign."""
_MADE_LATER: Final = (
    "_sqlite_migrations", "idx__sqlite_migrations_migration_set_name", "held",
    "sqlite_autoindex_held_1",
)  # fmt: skip
"""What a file of any version may have beside what its version describes."""

TRUTH: Final = """
CREATE TABLE revision (
  id INTEGER PRIMARY KEY,
  rev TEXT NOT NULL UNIQUE,
  envelope TEXT NOT NULL CHECK (json_valid(envelope)),
  received_at TEXT NOT NULL,
  via TEXT NOT NULL,
  entity TEXT AS (json_extract(envelope, '$.entity')) VIRTUAL,
  device TEXT AS (json_extract(envelope, '$.device')) VIRTUAL,
  seq INTEGER AS (json_extract(envelope, '$.seq')) VIRTUAL
) STRICT;
CREATE INDEX revision_entity ON revision (entity);
CREATE INDEX revision_device ON revision (device, seq);
CREATE TRIGGER revision_never_changes BEFORE UPDATE ON revision
  BEGIN SELECT RAISE(ABORT, 'a revision is never changed'); END;
CREATE TRIGGER revision_never_goes BEFORE DELETE ON revision
  BEGIN SELECT RAISE(ABORT, 'a revision is never deleted'); END;
CREATE TRIGGER revision_never_replaced BEFORE INSERT ON revision
  WHEN EXISTS (SELECT 1 FROM revision WHERE rev = NEW.rev OR id = NEW.id)
  BEGIN SELECT RAISE(ABORT, 'a revision is never replaced'); END;
CREATE VIEW parent AS
  SELECT revision.rev AS child, revision.entity, each.value AS rev
  FROM revision, json_each(envelope, '$.parents') AS each;
CREATE VIEW head AS
  WITH named AS MATERIALIZED (SELECT rev FROM parent)
  SELECT id, rev, entity, device, seq FROM revision WHERE rev NOT IN (SELECT rev FROM named);
CREATE VIEW conflict AS
  SELECT entity, count(*) AS heads FROM head GROUP BY entity HAVING count(*) > 1;
CREATE VIEW missing_parent AS
  SELECT rev, child, entity FROM parent WHERE rev NOT IN (SELECT rev FROM revision);
CREATE VIEW gap AS
  SELECT device, before + 1 AS first, seq - 1 AS last
  FROM (SELECT device, seq, lag(seq, 1, 0) OVER (PARTITION BY device ORDER BY seq) AS before
        FROM revision)
  WHERE seq > before + 1;
"""

DRAFTS: Final = """
CREATE TABLE draft (
  device TEXT NOT NULL,
  entity TEXT NOT NULL,
  path TEXT NOT NULL,
  text TEXT NOT NULL,
  at TEXT NOT NULL,
  UNIQUE (device, entity, path)
) STRICT;
"""
"""Beside the truth, and not made from it: what is half typed."""

VIEWS: Final = """
CREATE VIEW session_note AS
  SELECT event_date AS date, venue, car_name AS car, line.kind, line.number, line.start,
         json_extract(body, '$.driver') AS said_by, json_extract(body, '$.phase') AS phase,
         json_extract(body, '$.turn') AS turn, json_extract(body, '$.balance') AS balance,
         json_extract(body, '$.rating') AS rating, json_extract(body, '$.words') AS words,
         author, recorded_at, short AS session
  FROM current JOIN session_line AS line ON line.entity = current.session
  WHERE current.kind = 'note' AND body IS NOT NULL
  ORDER BY sort_key DESC, line.entity DESC, current.id;
CREATE VIEW session_change AS
  SELECT event_date AS date, venue, car_name AS car, line.kind, line.number, line.start,
         json_extract(body, '$.what') AS what, json_extract(body, '$.reason') AS reason,
         json_extract(body, '$.verdict') AS verdict,
         json_extract(body, '$.verdict_words') AS verdict_words,
         author, recorded_at, short AS session
  FROM current JOIN session_line AS line ON line.entity = current.session
  WHERE current.kind = 'change' AND body IS NOT NULL
  ORDER BY sort_key DESC, line.entity DESC, current.id;
CREATE VIEW value_history AS
  SELECT json_extract(envelope, '$.recorded_at') AS recorded_at,
         json_extract(envelope, '$.author') AS author, json_extract(envelope, '$.kind') AS kind,
         json_extract(envelope, '$.op') AS op, each.key AS path,
         CASE each.type WHEN 'object' THEN coalesce(json_extract(each.value, '$.typed'), each.value)
           ELSE each.value END AS value,
         json_extract(envelope, '$.reason') AS reason, revision.entity, device, rev
  FROM revision LEFT JOIN json_each(envelope, '$.body') AS each
  ORDER BY revision.id, each.id;
"""
"""For a person with any SQLite tool, beside `session_line` and `session_reading`. They are never
dropped; the tables that they read may be made anew beneath them."""

WORDS: Final = """
CREATE VIRTUAL TABLE words USING fts5 (
  text, entity UNINDEXED, kind UNINDEXED, session UNINDEXED,
  tokenize = 'unicode61 remove_diacritics 2', prefix = '2 3'
);
"""

PROJECTIONS: Final = f"""
CREATE TABLE current (
  id INTEGER PRIMARY KEY,
  entity TEXT NOT NULL UNIQUE,
  kind TEXT NOT NULL,
  body TEXT,
  heads TEXT NOT NULL,
  linear INTEGER NOT NULL,
  recorded_at TEXT NOT NULL,
  author TEXT NOT NULL,
  reason TEXT NOT NULL,
  session TEXT AS (json_extract(body, '$.session')) VIRTUAL
) STRICT;
CREATE INDEX current_kind ON current (kind, id);
CREATE INDEX current_session ON current (session) WHERE session IS NOT NULL;
CREATE TABLE session_line (
  id INTEGER PRIMARY KEY,
  entity TEXT NOT NULL UNIQUE,
  sort_key TEXT NOT NULL,
  short TEXT NOT NULL,
  event TEXT NOT NULL,
  venue TEXT NOT NULL,
  event_date TEXT NOT NULL,
  car TEXT NOT NULL,
  car_name TEXT NOT NULL,
  kind TEXT NOT NULL,
  number TEXT NOT NULL,
  start TEXT NOT NULL,
  driver TEXT NOT NULL,
  status TEXT NOT NULL,
  surface TEXT NOT NULL,
  wet INTEGER,
  laps INTEGER,
  best_lap_s REAL,
  hot_pressures INTEGER NOT NULL,
  notes INTEGER NOT NULL,
  changes INTEGER NOT NULL,
  kept INTEGER NOT NULL,
  result TEXT NOT NULL
) STRICT;
CREATE INDEX session_newest ON session_line (sort_key DESC, entity DESC);
CREATE INDEX session_event ON session_line (event, sort_key DESC, entity DESC);
CREATE INDEX session_car ON session_line (car, sort_key DESC, entity DESC);
CREATE INDEX session_driver ON session_line (driver, sort_key DESC, entity DESC);
CREATE TABLE reading (
  session INTEGER NOT NULL,
  corner TEXT NOT NULL,
  field TEXT NOT NULL,
  typed TEXT NOT NULL,
  unit TEXT,
  si REAL,
  PRIMARY KEY (session, corner, field)
) STRICT, WITHOUT ROWID;
{WORDS}CREATE VIEW session_reading AS
  SELECT event_date AS date, venue, car_name AS car, kind, number, start, driver,
         short AS session, corner, field, typed, unit, si
  FROM reading JOIN session_line ON id = reading.session
  ORDER BY sort_key DESC, entity DESC, corner, field;
"""

_DROPPED: Final = """
DROP VIEW IF EXISTS session_reading;
DROP TABLE IF EXISTS words;
DROP TABLE IF EXISTS reading;
DROP TABLE IF EXISTS session_line;
DROP TABLE IF EXISTS current;
"""


def run(connection: sqlite3.Connection, script: str) -> None:
    """Every statement of `script`, within the transaction that is open."""
    statement = ""
    for line in script.splitlines():
        statement += line + "\n"
        if sqlite3.complete_statement(statement):
            connection.execute(statement)
            statement = ""


@cache
def described(version: int = VERSION) -> dict[str, str | None]:
    """Name and description of every table, index, view and trigger in a new file of that
    version."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as sql:
        for script in (TRUTH + PROJECTIONS, DRAFTS, VIEWS)[:version]:
            run(sql, script)
        return dict(sql.execute("SELECT name, sql FROM sqlite_schema"))


def version_of(sql: sqlite3.Connection, version: int, application: int) -> int | None:
    """The version of a file whose header has these two marks (`user_version`, `application_id`);
    None where it is no logbook.

    Nothing guards the marks. Where one bit of them is all that parts the file from a logbook whose
    tables it has, to the letter, that bit was damaged: a newer version has other tables.
    """
    if application == APPLICATION_ID and 0 < version <= VERSION:
        return version
    marks = sql.execute("SELECT name, sql FROM sqlite_schema")
    there = {name: description for name, description in marks if name not in _MADE_LATER}
    for known in range(VERSION, 0, -1):
        other = (version ^ known) & _MARK, (application ^ APPLICATION_ID) & _MARK
        if sum(bits.bit_count() for bits in other) == 1 and there == described(known):
            return known
    return version if application == APPLICATION_ID else None


def make_projections(connection: sqlite3.Connection) -> None:
    """Empty projections in place of those that are there."""
    run(connection, _DROPPED)
    run(connection, PROJECTIONS)


def migrate(database: Database) -> None:
    """Bring the file to VERSION, within the transaction that is open; a new migration goes last."""
    from sqlite_utils import Migrations

    migrations = Migrations("trackside")

    @migrations(name="first")
    def first(database: Database) -> None:
        run(database.conn, TRUTH)
        run(database.conn, PROJECTIONS)

    @migrations(name="drafts")
    def drafts(database: Database) -> None:
        run(database.conn, DRAFTS)

    @migrations(name="views")
    def views(database: Database) -> None:
        run(database.conn, VIEWS)

    migrations.apply(database)
    database.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    database.execute(f"PRAGMA user_version = {VERSION}")
