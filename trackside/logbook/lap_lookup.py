"""What lap times give on the pit board's lines. No table holds it: whoever writes a figure down by
hand is the only one who says how many laps there were, and which was the best."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Sequence
from contextlib import suppress
from typing import Any, Final

from trackside.logbook.rows import lap_figures
from trackside.records.laps import QUICKEST, SLOWEST, timed

AT_ONCE: Final = 500
"""Sessions of one query."""
MANY: Final = 2000
"""After so many revisions everything is looked up anew."""

LAPS: Final = """(SELECT CASE WHEN NOT json_valid(body) THEN NULL
    WHEN json_type(body, '$.lap_times') = 'array' THEN json_extract(body, '$.lap_times') END
  FROM current WHERE current.id = session_line.id)"""
"""The lap times of a line, a list in JSON; NULL where they are no list."""
_IS_TIMED: Final = f"""EXISTS (SELECT 1 FROM json_each(ifnull({LAPS}, '[]')) AS lap
  WHERE lap.type IN ('integer', 'real') AND lap.value BETWEEN {QUICKEST} AND {SLOWEST})"""


class SessionsWithLaps:
    """Which sessions have a timed lap. It is remembered: to read ten seasons of lap times takes
    longer than a key may."""

    def __init__(self) -> None:
        self._known: dict[str, bool] = {}
        self._read_to = 0
        """The last revision that was written when it was looked up."""

    def count(self, sql: sqlite3.Connection, sessions: Sequence[str]) -> int:
        """How many of them have one."""
        self._forget_what_changed(sql)
        unknown = [session for session in sessions if session not in self._known]
        for start in range(0, len(unknown), AT_ONCE):
            page = unknown[start : start + AT_ONCE]
            marks = ", ".join("?" * len(page))
            found = sql.execute(
                f"SELECT entity, {LAPS} FROM session_line WHERE entity IN ({marks})", page
            )
            self._known |= {session: bool(timed_in(laps)) for session, laps in found}
        return sum(self._known.get(session, False) for session in sessions)

    def _forget_what_changed(self, sql: sqlite3.Connection) -> None:
        [(last,)] = sql.execute("SELECT ifnull(max(id), 0) FROM revision").fetchall()
        if not 0 <= last - self._read_to <= MANY:
            self._known.clear()
        elif self._known and last > self._read_to:
            query = "SELECT DISTINCT entity FROM revision WHERE id > ?"
            for (entity,) in sql.execute(query, (self._read_to,)):
                self._known.pop(entity, None)
        self._read_to = last


def timed_in(stored: Any) -> list[float]:
    """The timed laps of a list that may stand in JSON, or be none."""
    if isinstance(stored, str):
        with suppress(ValueError):
            stored = json.loads(stored)
    return timed(stored)


def lap_columns(sql: sqlite3.Connection) -> list[tuple[str, str, str]]:
    """corner, field and unit of what lap times give, where any session has timed laps."""
    found = sql.execute(f"SELECT 1 FROM session_line WHERE {_IS_TIMED} LIMIT 1").fetchone()
    of_laps = lap_figures({"lap_times": [QUICKEST]})
    return [(corner, field, unit) for corner, field, _, unit, _ in of_laps] if found else []
