"""The last reading of a value before a session: what somebody read then, where and when.

A reading is never carried on. This is what a page may show beside an empty cell, with its day.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from typing import Final, NamedTuple

from trackside.logbook.rows import CORNERS

LOOKED_THROUGH: Final = 200
"""So many sessions before the one in hand are looked through: more than a season of one car."""


class LastRead(NamedTuple):
    """A reading: the session and the corner (empty: the whole car) that it was made in, the day
    (YYYY-MM-DD; empty when unknown), and the value as it was typed, its unit and its SI number."""

    session: str
    corner: str
    day: str
    typed: str
    unit: str | None
    si: float | None


class Asked(NamedTuple):
    """Which reading is looked for: the field, at that corner of the car (empty: the whole car); or
    of a damper, by serial and build, wherever it was fitted then."""

    field: str
    corner: str = ""
    damper: str = ""
    build: str = ""


def last_read(
    sql: sqlite3.Connection, before: str, car: str, asked: Iterable[Asked]
) -> dict[Asked, LastRead]:
    """The newest of each that is older than the session `before`: of its car, or of the damper."""
    found: dict[Asked, LastRead] = {}
    for one in asked:
        query, values = _of_damper(one) if one.damper else _of_car(one, car)
        values |= {"before": before, "most": LOOKED_THROUGH, "field": one.field}
        row = sql.execute(query, values).fetchone()
        if row is not None:
            session, corner, start, date, *value = row
            found[one] = LastRead(session, corner, (start or date)[:10], *value)
    return found


_EARLIER = """WITH earlier AS (
  SELECT id, entity, start, event_date, sort_key FROM session_line
  WHERE (sort_key, entity) < (SELECT sort_key, entity FROM session_line WHERE entity = :before)
  {only} ORDER BY sort_key DESC, entity DESC LIMIT :most)
SELECT earlier.entity, value.corner, start, event_date, value.typed, value.unit, value.si
FROM earlier"""
_NEWEST = "ORDER BY earlier.sort_key DESC, earlier.entity DESC LIMIT 1"


def _of_car(one: Asked, car: str) -> tuple[str, dict[str, object]]:
    query = f"""{_EARLIER.format(only="AND car = :car")} CROSS JOIN reading AS value
        WHERE value.session = earlier.id AND value.corner = :corner AND value.field = :field
        {_NEWEST}"""
    return query, {"car": car, "corner": one.corner}


def _of_damper(one: Asked) -> tuple[str, dict[str, object]]:
    corners = ", ".join(f"'{corner}'" for corner in CORNERS)
    query = f"""{_EARLIER.format(only="")}
        CROSS JOIN reading AS named CROSS JOIN reading AS value
        WHERE named.session = earlier.id AND named.corner IN ({corners})
          AND named.field = 'damper' AND casefold(named.typed) = :damper
          AND value.session = earlier.id AND value.corner = named.corner AND value.field = :field
          AND coalesce((SELECT casefold(typed) FROM reading AS built WHERE
            built.session = earlier.id AND built.corner = named.corner AND built.field = 'build'
            ), '') = :build
        {_NEWEST}"""
    return query, {"damper": one.damper.casefold(), "build": one.build.casefold()}
