"""The list of sessions, newest first, and what the hands call one of them."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable
from typing import Final, NamedTuple

from trackside.errors import UnknownRecord
from trackside.logbook.lap_lookup import LAPS, SessionsWithLaps, timed_in
from trackside.logbook.links import BodyOf, Links
from trackside.logbook.projections import expected_line
from trackside.logbook.rows import CORNERS, DATED
from trackside.logbook.rows import reading_rows as rows_of
from trackside.records.fields import OUTCOMES, Field, gives_run, unlimited_units
from trackside.units import one_line


class SessionLine(NamedTuple):
    """One session as the pit board lists it; unknown words are "", unknown numbers None."""

    entity: str
    short: str
    event: str
    venue: str
    event_date: str
    car: str
    car_name: str
    kind: str
    number: str
    run: str
    start: str
    driver: str
    status: str
    surface: str
    wet: bool | None
    laps: int | None
    best_lap_s: float | None
    hot_pressures: bool
    ran: bool
    notes: int
    changes: int
    kept: bool
    result: str
    sort_key: str
    timed_laps: int
    """So many timed laps are among the lap times: neither in-laps nor out-laps."""
    best_timed_s: float | None
    """The best of them."""
    opened: bool = False
    """Whether its start is nobody's word, but only when it was opened."""

    @property
    def session(self) -> str:
        """What the crew calls the session: `practice 1`."""
        return f"{self.kind} {self.number}".strip()

    @property
    def is_dated(self) -> bool:
        """Whether its start says the day."""
        return bool(DATED.match(self.start))

    @property
    def begun(self) -> str:
        """The moment at which the run begins (YYYY-MM-DD HH:MM); without one, after all others of
        its day."""
        return begun(self.sort_key)

    @property
    def title(self) -> str:
        """What the crew calls the run: `practice 1 run 2`."""
        return title_of(self.kind, self.number, self.run)


def begun(sort_key: str) -> str:
    """The moment in a line's place in the order of sessions: see `SessionLine.begun`."""
    moment = sort_key[11:]
    return moment if moment[:1].isdigit() else f"{sort_key[:10]} ~"


def title_of(kind: str, number: str, run: str) -> str:
    """What the crew calls a run: `practice 1 run 2`; a session of one run has its name alone."""
    return " ".join(word for word in (kind, number, run and f"run {run}") if word)


class EventGroup(NamedTuple):
    """An event on the pit board, and how many of its sessions are listed."""

    event: str
    sessions: int


RUN: Final = (
    *("id", "event_date", "venue", "car_name", "kind", "number", "start", "driver"),
    *("short", "entity"),
)
"""What `all_runs` gives of a session."""
_OUTCOMES: Final = ", ".join(f"'{name}'" for name in OUTCOMES)


def _gives_run(field: Field) -> str:
    """`records.fields.gives_run` of a row of that field."""
    if field.quantity is None:
        return "typed <> ''"
    ends = ((">=", field.low), ("<=", field.high))
    within = " AND ".join(f"si {sign} {end!r}" for sign, end in ends if end is not None)
    units = ", ".join(f"'{unit}'" for unit in unlimited_units(field))
    return f"si <> 0 AND ({within or 'true'}{f' OR unit IN ({units})' * bool(units)})"


_GIVES_RUN: Final = " ".join(
    f"WHEN '{name}' THEN {_gives_run(field)}" for name, field in OUTCOMES.items()
)
RAN: Final = f"""(casefold(status) NOT IN ('', 'planned') OR EXISTS (
  SELECT 1 FROM reading WHERE reading.session = session_line.id
  AND field IN ({_OUTCOMES}) AND CASE field {_GIVES_RUN} END))"""
"""Whether a session was run: somebody said so, or a value is there that only a run gives, and that
can be right (no laps are no run). `records.Session.ran` says the same of a record."""

RUN_TOLD: Final = """coalesce((SELECT typed FROM reading WHERE reading.session = session_line.id
  AND corner = '' AND field = 'run'), '')"""
"""Which run of its session it is, as typed. The table has no column for it, so that it is the same
on an older program."""
_OPENED: Final = """EXISTS (SELECT 1 FROM reading WHERE reading.session = session_line.id
  AND corner = '' AND field = 'opened' AND typed = start)"""
_MADE: Final = {
    **{"ran": RAN, "run": RUN_TOLD, "timed_laps": LAPS, "best_timed_s": "NULL"},
    "opened": _OPENED,
}
_COLUMNS: Final = ", ".join(
    f"{_MADE[name]} AS {name}" if name in _MADE else name for name in SessionLine._fields
)
_BEGINS: Final = "substr(sort_key, 12)"
"""Day and time at which a session begins; `~` where no time is said."""
_NEWEST_FIRST: Final = "ORDER BY sort_key DESC, entity DESC"
_UNFINISHED: Final = f"""{RAN} AND status != 'aborted'
  AND (NOT hot_pressures OR NOT notes OR NOT ifnull(best_lap_s, 0))"""
_ONLY_THE_LAP: Final = f"""{RAN} AND status != 'aborted' AND hot_pressures AND notes
  AND NOT ifnull(best_lap_s, 0)"""
"""Whether nothing is missing but a typed best lap."""
_PLACE: Final = "SELECT sort_key, entity FROM session_line WHERE entity = ?"
_REMEDY: Final = "name it as last, last-1 or by the end of its code, as the list shows it"
_LAST: Final = r"last(?:-(\d{1,9}))?"
_CODE: Final = r"[0-9a-f-]{4,36}"


def lines(
    sql: sqlite3.Connection,
    *,
    offset: int = 0,
    limit: int | None = None,
    before: str | None = None,
    **only: str | None,
) -> list[SessionLine]:
    """Sessions, newest first; `only` by event, car or driver, and older than `before`."""
    where, values = _where(only)
    if before is not None:
        where += f" AND (sort_key, entity) < ({_PLACE})"
        values.append(before)
    rows = sql.execute(
        f"SELECT {_COLUMNS} FROM session_line WHERE {where} {_NEWEST_FIRST} LIMIT ? OFFSET ?",
        [*values, -1 if limit is None else limit, offset],
    )
    return [_line(row) for row in rows]


def entities(sql: sqlite3.Connection, car: str) -> list[str]:
    """Every session of that car that stands, newest first."""
    query = f"""SELECT entity FROM session_line
                WHERE car = ? AND entity IN (SELECT entity FROM current) {_NEWEST_FIRST}"""
    return [entity for (entity,) in sql.execute(query, (car,))]


def groups(sql: sqlite3.Connection, newest: int | None = None) -> list[EventGroup]:
    """The events that have sessions, newest first; with `newest` only those of so many newest
    sessions."""
    where, values = "true", list[int]()
    if newest is not None:
        where = f"event IN (SELECT event FROM session_line {_NEWEST_FIRST} LIMIT ?)"
        values = [newest]
    rows = sql.execute(
        f"""SELECT event, count(*), max(sort_key) AS newest
            FROM session_line WHERE {where} GROUP BY event ORDER BY newest DESC, event DESC""",
        values,
    )
    return [EventGroup(*row[:2]) for row in rows]


def names(sql: sqlite3.Connection, newest: int | None = None) -> list[tuple[str, str, str]]:
    """The cars with their drivers, each pair once, and a session that has them; with `newest`
    those of so many newest sessions."""
    found = "session_line"
    if newest is not None:
        found = f"""(SELECT car_name, driver, entity FROM session_line
                     {_NEWEST_FIRST} LIMIT {newest:d})"""
    rows = sql.execute(
        f"SELECT car_name, driver, min(entity) FROM {found} GROUP BY car_name, driver"
    )
    return [(car, driver, entity) for car, driver, entity in map(_on_one_line, rows)]


def waiting(sql: sqlite3.Connection, newest: int | None = None) -> list[str]:
    """The events that have no session yet, in the order of creation, which is that of their codes
    and the same on every laptop; with `newest` only those among so many that came in last."""
    rows = sql.execute(
        """SELECT begun.entity FROM
             (SELECT entity, body IS NOT NULL AS stands FROM current WHERE kind = 'event'
              ORDER BY id DESC LIMIT ?) AS begun
           WHERE stands
             AND NOT EXISTS (SELECT 1 FROM session_line WHERE event = begun.entity)
           ORDER BY begun.entity""",
        (-1 if newest is None else newest,),
    )
    return [entity for (entity,) in rows]


def unfinished(sql: sqlite3.Connection, with_laps: SessionsWithLaps) -> int:
    """How many sessions that ran want something yet: hot pressures, note or lap."""
    query = f"SELECT count(*) FROM session_line WHERE {_UNFINISHED}"
    [(count,)] = sql.execute(query).fetchall()
    query = f"SELECT entity FROM session_line WHERE {_ONLY_THE_LAP}"
    untyped = [entity for (entity,) in sql.execute(query)]
    return count - with_laps.count(sql, untyped)


_AT_A_TIME: Final = (
    f"({_BEGINS} GLOB '* [01][0-9]:[0-5][0-9]' OR {_BEGINS} GLOB '* 2[0-3]:[0-5][0-9]')"
)


def timed_on(sql: sqlite3.Connection, day: str) -> list[SessionLine]:
    """The sessions that begin at a time on that day (YYYY-MM-DD), planned or run, newest first."""
    rows = sql.execute(
        f"""SELECT {_COLUMNS} FROM session_line
            WHERE {_BEGINS} >= ? AND {_BEGINS} < ? AND {_AT_A_TIME} {_NEWEST_FIRST}""",
        (f"{day} ", f"{day}~"),
    )
    return [_line(row) for row in rows]


def next_planned(sql: sqlite3.Connection, now: str) -> list[SessionLine]:
    """The planned session that begins next on the day of `now` (YYYY-MM-DD HH:MM), or none."""
    rows = sql.execute(
        f"""SELECT {_COLUMNS} FROM session_line
            WHERE casefold(status) IN ('', 'planned') AND {_BEGINS} >= ? AND {_BEGINS} < ?
              AND {_AT_A_TIME} AND NOT {RAN} AND NOT {_OPENED}
            ORDER BY {_BEGINS}, entity LIMIT 1""",
        (now, f"{now[:10]}~"),
    )
    return [_line(row) for row in rows]


def place(sql: sqlite3.Connection, session: str) -> int | None:
    """How many sessions stand above that one in its event; None if it is not there."""
    found = sql.execute("SELECT event FROM session_line WHERE entity = ?", (session,)).fetchone()
    if found is None:
        return None
    return sql.execute(
        f"""SELECT count(*) FROM session_line
            WHERE event = ? AND (sort_key, entity) > ({_PLACE})""",
        (found[0], session),
    ).fetchone()[0]


def count(sql: sqlite3.Connection, **only: str | None) -> int:
    """How many sessions there are of that event, car or driver."""
    where, values = _where(only)
    return sql.execute(f"SELECT count(*) FROM session_line WHERE {where}", values).fetchone()[0]


def line(sql: sqlite3.Connection, entity: str) -> SessionLine:
    """The line of that session; UnknownRecord if there is none."""
    row = sql.execute(f"SELECT {_COLUMNS} FROM session_line WHERE entity = ?", (entity,)).fetchone()
    if row is None:
        raise UnknownRecord("There is no such session", _REMEDY)
    return _line(row)


def line_from(
    sql: sqlite3.Connection, session: str, read: BodyOf, links: Links | None = None
) -> SessionLine | None:
    """The line of that session made from its bodies, which `read` gives; None when there is no
    such session. `links` are those of the same bodies, where many lines are asked for."""
    made = expected_line(sql, session, read, links)
    if made is None:
        return None
    body = read(sql, session) or {}
    values = rows_of(0, body, (*OUTCOMES, "run", "opened"))
    ran = made["status"].casefold() not in ("", "planned") or any(
        field in OUTCOMES and gives_run(OUTCOMES[field], unit or "", si)
        for _, _, field, _, unit, si in values
    )
    told = {field: typed for _, corner, field, typed, *_ in values if not corner}
    run, opened = told.get("run", ""), told.get("opened") == made["start"]
    laps = {"timed_laps": body.get("lap_times"), "best_timed_s": None}
    known = made | {"ran": ran, "run": run, "opened": opened} | laps
    return _line(tuple(known[name] for name in SessionLine._fields))


def find_by_words(sql: sqlite3.Connection, name: str) -> str:
    """The session that `name` means: last, last-1, its code, or the start or end of its code."""
    wanted = name.strip().lower()
    if last := re.fullmatch(_LAST, wanted):
        found = lines(sql, offset=int(last[1] or 0), limit=1)
        if not found:
            total = count(sql)
            raise UnknownRecord(
                f"There is no session “{name}”: the logbook has {total}"
                if total
                else "There are no sessions yet",
                _REMEDY if total else "write the first one down",
            )
        return found[0].entity
    if not re.fullmatch(_CODE, wanted):
        raise UnknownRecord(f"There is no session “{name}”", _REMEDY)
    rows = sql.execute(
        f"""SELECT entity, short, venue, start FROM session_line
            WHERE entity LIKE ?1 || '%' OR entity LIKE '%' || ?1 {_NEWEST_FIRST} LIMIT 4""",
        (wanted,),
    ).fetchall()
    if not rows:
        raise UnknownRecord(f"There is no session “{name}”", _REMEDY)
    if len(rows) > 1:
        several = "; ".join(f"{entity} ({venue} {start})" for entity, _, venue, start in rows)
        raise UnknownRecord(f"Several sessions answer to “{name}”: {several}", "give more of it")
    return rows[0][0]


def readings(
    sql: sqlite3.Connection, corner: str, field: str, *, car: str | None, limit: int | None
) -> list[tuple[str, str, str | None, float | None]]:
    """One value through the sessions, newest first: (session, typed, unit, si)."""
    only = "" if car is None else "AND line.car = :car"
    return sql.execute(
        f"""SELECT entity, typed, unit, si FROM session_line AS line CROSS JOIN reading
            WHERE session = line.id AND corner = :corner AND field = :field {only}
            {_NEWEST_FIRST} LIMIT :limit""",
        {"corner": corner, "field": field, "car": car, "limit": -1 if limit is None else limit},
    ).fetchall()


def naming(sql: sqlite3.Connection, field: str, car: str) -> list[tuple[str, str, str]]:
    """The sessions of that car that say something in a field of the whole car, newest first:
    (session, its place in the order of sessions, text)."""
    return sql.execute(
        f"""SELECT entity, sort_key, typed FROM session_line AS line CROSS JOIN reading
            WHERE line.car = ? AND session = line.id AND corner = '' AND field = ?
            {_NEWEST_FIRST}""",
        (car, field),
    ).fetchall()


def newest_ran(sql: sqlite3.Connection, field: str) -> list[tuple[str, str, str]]:
    """Each text in that field of any corner, case folded, with the newest session that ran with it
    and the corner: (text, session, corner)."""
    corners = ", ".join(f"'{corner}'" for corner in CORNERS)
    rows = sql.execute(
        f"""SELECT max(sort_key || char(1) || entity), typed, entity, corner
            FROM session_line CROSS JOIN reading
            WHERE session = session_line.id AND corner IN ({corners}) AND field = ?
              AND {RAN}
            GROUP BY typed""",
        (field,),
    )
    return list({row[1].casefold(): (row[1].casefold(), *row[2:]) for row in sorted(rows)}.values())


def words_of(sql: sqlite3.Connection, field: str, newest: int) -> list[tuple[str, str, str]]:
    """The texts in that field of so many newest sessions, at any corner or of the whole car, the
    newest first: (session, corner, text)."""
    places = ", ".join(f"'{corner}'" for corner in ("", *CORNERS))
    rows = sql.execute(
        f"""SELECT entity, corner, typed
            FROM (SELECT id, entity FROM session_line {_NEWEST_FIRST} LIMIT ?) AS line
            CROSS JOIN reading
            WHERE session = line.id AND corner IN ({places}) AND field = ?""",
        (newest, field),
    )
    return rows.fetchall()


def saying(sql: sqlite3.Connection, field: str, text: str, newest: int) -> list[tuple[str, str]]:
    """Where that text stands in that field of so many newest sessions, however its letters are
    cased, the newest first: (session, corner)."""
    found = words_of(sql, field, newest)
    return [(entity, corner) for entity, corner, typed in found if typed.casefold() == text]


def all_runs(sql: sqlite3.Connection) -> list[tuple]:
    """Every session, newest first: number, date, venue, car, kind, number, start, driver, the end
    of its code, and its code."""
    columns = ", ".join(RUN)
    return sql.execute(f"SELECT {columns} FROM session_line {_NEWEST_FIRST}").fetchall()


def readings_of(sql: sqlite3.Connection, numbers: Iterable[int]) -> list[list[tuple]]:
    """The readings of each of these sessions: corner, field, typed, unit, si."""
    query = """SELECT corner, field, typed, unit, si FROM reading
               WHERE session = ? ORDER BY corner, field"""
    return [sql.execute(query, (number,)).fetchall() for number in numbers]


def of_no_event(sql: sqlite3.Connection) -> list[str]:
    """Sessions of an event that is not here."""
    rows = sql.execute(
        """SELECT entity FROM session_line
           WHERE event IN (SELECT DISTINCT event FROM session_line WHERE event <> ''
                           EXCEPT SELECT entity FROM current)"""
    )
    return [entity for (entity,) in rows]


def columns(sql: sqlite3.Connection) -> list[tuple[str, str, str | None, str]]:
    """What is written down anywhere: corner, field, unit, None for words; and a session that has
    it."""
    return sql.execute(
        """SELECT corner, field, unit, coalesce(
             (SELECT entity FROM reading AS one JOIN current ON id = one.session
              WHERE (corner, field) = (found.corner, found.field) AND unit IS found.unit LIMIT 1),
             '')
           FROM (SELECT DISTINCT corner, field, unit FROM reading) AS found"""
    ).fetchall()


def _where(only: dict[str, str | None]) -> tuple[str, list[str | int]]:
    named = {column: value for column, value in only.items() if value is not None}
    return " AND ".join(f"{column} = ?" for column in named) or "true", [*named.values()]


def _line(row: tuple) -> SessionLine:
    found = SessionLine._make(_on_one_line(row))
    laps = timed_in(found.timed_laps)
    return found._replace(
        timed_laps=len(laps),
        best_timed_s=min(laps, default=None),
        wet=None if found.wet is None else bool(found.wet),
        hot_pressures=bool(found.hot_pressures),
        ran=bool(found.ran),
        opened=bool(found.opened),
        kept=bool(found.kept),
    )


def _on_one_line(row: Iterable) -> list:
    """The values of a row; words that were written on several lines stand on one."""
    return [one_line(v) if isinstance(v, str) and not v.isprintable() else v for v in row]
