"""What is on record of every run, a column at a time: what a search looks through in memory, so
that no key waits for the file."""

from __future__ import annotations

import sqlite3
from typing import Final, NamedTuple

from trackside.logbook.lap_lookup import LAPS, timed_in
from trackside.logbook.pitboard import RUN_TOLD
from trackside.logbook.rows import ATTACHED, CORNERS


class RunWords(NamedTuple):
    """The words of a run's line; unknown ones are ""."""

    number_in_file: int
    entity: str
    short: str
    event: str
    venue: str
    event_date: str
    car_name: str
    kind: str
    number: str
    run: str
    start: str
    driver: str
    status: str
    surface: str
    result: str

    @property
    def date(self) -> str:
        """The day, YYYY-MM-DD, and the time where it is known."""
        return self.start or self.event_date


class Said(NamedTuple):
    """Words about a run: a note, a reason, why its set-up was kept, a job for it, its own notes."""

    entity: str
    kind: str
    session: str
    text: str


class Value(NamedTuple):
    """One value of a run, as the table has it."""

    number_in_file: int
    corner: str
    field: str
    typed: str
    unit: str | None
    si: float | None


_COLUMNS: Final = ", ".join(
    {"number_in_file": "id", "run": f"{RUN_TOLD} AS run"}.get(name, name)
    for name in RunWords._fields
)
_KINDS: Final = ", ".join(f"'{kind}'" for kind in (*ATTACHED, "job", "session"))


def runs(sql: sqlite3.Connection) -> list[RunWords]:
    """Every run, newest first."""
    query = f"SELECT {_COLUMNS} FROM session_line ORDER BY sort_key DESC, entity DESC"
    return [RunWords._make(row) for row in sql.execute(query)]


def said(sql: sqlite3.Connection) -> list[Said]:
    """What was said about any run."""
    query = f"SELECT entity, kind, session, text FROM words WHERE kind IN ({_KINDS})"
    return [Said._make(row) for row in sql.execute(query)]


def column(sql: sqlite3.Connection, field: str, at_corners: bool) -> list[Value]:
    """The values of that field in every run, in the order of the runs' numbers in the file: at its
    corners, or of the whole car."""
    corners = ", ".join(f"'{corner}'" for corner in (CORNERS if at_corners else ("",)))
    rows = sql.execute(
        f"""SELECT id, corner, field, typed, unit, si FROM session_line CROSS JOIN reading
            WHERE session = session_line.id AND corner IN ({corners}) AND field = ?
            ORDER BY id""",
        (field,),
    )
    return list(map(Value._make, rows))


def items(sql: sqlite3.Connection) -> list[Value]:
    """What belongs to the whole car in every run: bars, wings, bias."""
    rows = sql.execute(
        """SELECT id, corner, field, typed, unit, si FROM session_line CROSS JOIN reading
           WHERE session = session_line.id AND corner = ''
             AND field >= 'items.' AND field < 'items/'
           ORDER BY id"""
    )
    return list(map(Value._make, rows))


def of_laps(sql: sqlite3.Connection) -> list[Value]:
    """The best lap (s) and the number of timed laps that the lap times of each run give, as the
    fields `best_lap` and `laps`, where the run has lap times."""
    found = []
    for number, stored in sql.execute(f"SELECT id, {LAPS} FROM session_line"):
        if laps := timed_in(stored):
            found.append(Value(number, "", "best_lap", "", "s", min(laps)))
            found.append(Value(number, "", "laps", "", "", float(len(laps))))
    return found
