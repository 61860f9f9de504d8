"""What the runs of a car came to: times, laps and tyre sets of all of them in one go.

To read ten seasons of runs as records takes many seconds, and a sum needs four values of each. So
they are read from the tables, each from two copies of it: the table of readings and the body; for
lap times, the body and a revision. One damaged spot cannot change both alike (see `proof`). Where
they differ, or say what this program would not have written, the run is to be read at length.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from trackside.logbook import rows
from trackside.logbook.pitboard import RAN, begun
from trackside.records.laps import Kept
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.records import Session

NUMBERS: Final = ("run_time", "laps", "tyre_age")
"""What is read of the numbers of a run."""
SETS: Final = ("tyre_set", "rear_set")
"""What is read of its tyres: the set, and that of the rear axle where it is another."""
_FIELDS: Final = (*NUMBERS, *SETS)
_PATHS: Final = ", ".join(f"'$.{name}'" for name in _FIELDS)
_THERE: Final = "SELECT entity FROM session_line WHERE car = ? AND sort_key >= ?"
_RUNS: Final = f"""SELECT line.id, line.entity, sort_key, event_date, start, ran,
  json_extract(body, {_PATHS}), json_extract(body, '$.lap_times')
FROM (SELECT *, {RAN} AS ran FROM session_line WHERE car = ? AND sort_key >= ?) AS line
  JOIN current ON current.id = line.id AND current.entity = line.entity
WHERE CASE WHEN json_valid(body)
  THEN ifnull(json_extract(body, '$.start'), '') = start
    AND ifnull(json_extract(body, '$.status'), '') = status END
ORDER BY sort_key DESC, line.entity DESC"""
_READINGS: Final = f"""SELECT id, field, typed, unit, si FROM session_line CROSS JOIN reading
WHERE car = ? AND sort_key >= ? AND session = id AND corner = ''
  AND field IN ({", ".join("?" * len(_FIELDS))})"""
_WRITTEN: Final = "SELECT 1 FROM revision WHERE entity = ? AND instr(envelope, ?) LIMIT 1"


_READING: Final = {"typed", "unit", "si"}


class Driven(NamedTuple):
    """One run: its place in the order of runs, whether it was run, and what it says of itself;
    numbers in the base unit by the name of their field, unknown ones left out."""

    entity: str
    sort_key: str
    ran: bool
    numbers: Mapping[str, float]
    lap_times: Sequence[Kept]
    tyre_set: str | None
    rear_set: str | None = None

    @property
    def begun(self) -> str:
        """As `SessionLine.begun`."""
        return begun(self.sort_key)

    def si(self, path: str) -> float | None:
        """The number in that field; None when unknown or unreadable."""
        return self.numbers.get(path)


def of_record(entity: str, sort_key: str, run: Session) -> Driven:
    """The same of a run that was read at length."""
    numbers = {name: si for name in NUMBERS if (si := run.si(name)) is not None}
    return Driven(entity, sort_key, run.ran, numbers, run.lap_times, run.tyre_set, run.rear_set)


def driven(sql: sqlite3.Connection, car: str, since: str = "") -> tuple[list[Driven], list[str]]:
    """The runs of that car from that place in their order on, newest first; and those that are to
    be read at length."""
    there = sql.execute(_THERE, (car, since)).fetchall()
    doubtful = {entity for (entity,) in there}
    readings: dict[int, dict[str, tuple]] = {}
    for number, field, *reading in sql.execute(_READINGS, (car, since, *_FIELDS)):
        readings.setdefault(number, {})[field] = tuple(reading)
    found = []
    for number, entity, key, date, start, ran, told, laps in sql.execute(_RUNS, (car, since)):
        if key != f"{date} {start}" and key != rows.sort_key(start, date, born=entity):
            continue
        values = dict(zip(_FIELDS, json.loads(told), strict=True))
        read = {name: value for name, value in values.items() if value is not None}
        numbers = _numbers(read, readings.get(number, {}))
        lap_times = _lap_times(sql, entity, laps)
        sets = [values[name] for name in SETS]
        are_sets = all(isinstance(one, str | None) for one in sets)
        if numbers is not None and lap_times is not None and are_sets:
            has_run = bool(ran or lap_times)
            found.append(Driven(entity, key, has_run, numbers, lap_times, *sets))
            doubtful.remove(entity)
    return found, sorted(doubtful)


def _numbers(values: dict[str, Any], readings: dict[str, tuple]) -> dict[str, float] | None:
    """The numbers among the values; None where the two copies do not say the same, or say it in
    another shape than it is written here."""
    if values.keys() != readings.keys():
        return None
    numbers = {}
    for name, value in values.items():
        if name not in NUMBERS:
            if not isinstance(value, str) or not _is_line(value):
                return None
            read: tuple = (value, None, None)
        else:
            if not isinstance(value, dict) or value.keys() != _READING:
                return None
            read = (value["typed"], value["unit"], value["si"])
            if type(read[2]) is float:
                numbers[name] = read[2]
            elif read[2] is not None:
                return None
        if read != readings[name]:
            return None
    return numbers


@lru_cache(2000)
def _is_line(text: str) -> bool:
    return text == one_line(text)


def _lap_times(sql: sqlite3.Connection, entity: str, laps: str | None) -> list[Kept] | None:
    """Those lap times, none where there are none; None where the revisions say otherwise, or one
    is not as a lap is kept."""
    words = '"lap_times":[' if laps is None else laps
    written = sql.execute(_WRITTEN, (entity, words)).fetchone() is not None
    if laps is None:
        return None if written else []
    if not isinstance(laps, str):  # of another laptop
        return None
    try:
        read = json.loads(laps)
    except ValueError:
        return None
    if not written or not isinstance(read, list):
        return None
    as_kept = all(type(lap) is float or (type(lap) is str and _is_line(lap)) for lap in read)
    return read if as_kept else None
