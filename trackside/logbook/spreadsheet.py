"""The logbook as CSV (RFC 4180) for a spreadsheet: every reading as typed, or SI numbers alone.

Long, one row a reading: date, venue, car, kind, number, start, driver, session (the end of its
code), corner (nothing for what belongs to the car), field, typed, unit (in which it was read), si
(the number in the base unit), si_unit, id (the session's code). Fields that need no unit have the
base unit 1. Nobody typed timed_laps and best_lap_of_laps: they come from the lap times.

Wide, one row a session: the same first columns, then one for each corner, field and base unit, as
in "FL.camber (rad)"; words have no unit. A reading that could not be understood as a number is
empty there: the long form has it.

No cell can start a formula: an apostrophe is put before what would, and before an apostrophe. So it
is behind every semicolon, tab, line feed and quotation mark in a cell too, where a spreadsheet of
another country begins a new one. Taking one apostrophe off at each such place always gives what was
written down.
"""

from __future__ import annotations

import csv
import io
import re
from functools import lru_cache
from typing import Any, Final, TextIO

from trackside.errors import BadNumber
from trackside.logbook.rows import CORNERS, LAP_FIGURES
from trackside.logbook.store import Logbook
from trackside.units import QUANTITIES

_SIGNS: Final = frozenset("=+-@\t\r\n'")
_WITHIN: Final = re.compile(r"""([;\t\n"])(?=\s*[=+\-@'])""")
_NUMBER: Final = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?")
_RUN: Final = ("date", "venue", "car", "kind", "number", "start", "driver", "session")
_READING: Final = ("corner", "field", "typed", "unit", "si", "si_unit")

_Column = tuple[str, str, str | None]


def export_csv(logbook: Logbook, stream: TextIO) -> int:
    """Every reading of every session, newest session first; returns how many rows.

    Open `stream` with newline="".
    """
    writer = csv.writer(stream)
    writer.writerow((*_RUN, *_READING, "id"))
    count = 0
    for (*run, entity), readings in logbook.session_readings():
        start, end = ",".join(_quoted(safe_cell(cell)) for cell in run), _quoted(entity)
        count += len(readings)
        rows = []
        for corner, field, typed, unit, si in readings:
            name, shown_unit, base = _told(corner, field, unit)
            number = "" if si is None else repr(si)
            rows.append(
                f"{start},{corner},{name},{_quoted(safe_cell(typed))},{shown_unit},{number},{base},{end}"
                "\r\n"
            )
        stream.write("".join(rows))
    return count


@lru_cache(maxsize=4096)
def _quoted(cell: Any) -> str:
    """A cell as csv writes it; every reading of a session begins with the same ones."""
    line = io.StringIO(newline="")
    csv.writer(line).writerow((cell, ""))
    return line.getvalue().removesuffix(",\r\n")


def export_wide_csv(logbook: Logbook, stream: TextIO) -> int:
    """One row a session, newest first, in SI; returns how many rows.

    Open `stream` with newline="".
    """
    from trackside.records.fields import CORNER_FIELDS, SESSION_FIELDS

    order = {name: place for place, name in enumerate((*SESSION_FIELDS, *CORNER_FIELDS))}

    def place(column: _Column) -> tuple:
        corner, field, base = column
        side = CORNERS.index(corner) if corner in CORNERS else -1
        return side, order.get(field, len(order)), field, base or ""

    columns = sorted(
        {_column(*found) for found in logbook.reading_columns() if found[1] not in _RUN}, key=place
    )
    writer = csv.writer(stream)
    writer.writerow((*_RUN, *(safe_cell(_named(column)) for column in columns), "id"))
    count = 0
    for (*run, entity), readings in logbook.session_readings():
        values = {
            _column(corner, field, unit): safe_cell(typed) if unit is None else si
            for corner, field, typed, unit, si in readings
        }
        cells = (values.get(column) for column in columns)
        writer.writerow((*(safe_cell(cell) for cell in run), *cells, entity))
        count += 1
    return count


def _column(corner: str, field: str, unit: str | None) -> _Column:
    return corner, field, None if unit is None else _base(corner, field, unit)


def _named(column: _Column) -> str:
    corner, field, base = column
    name = f"{corner}.{field}" if corner else field
    return f"{name} ({base})" if base else name


@lru_cache(maxsize=4096)
def _told(corner: str, field: str, unit: str | None) -> tuple[str, str, str]:
    """Field, unit and base unit as csv writes them."""
    return _quoted(safe_cell(field)), _quoted(safe_cell(unit)), _quoted(_base(corner, field, unit))


@lru_cache(maxsize=4096)
def _base(corner: str, field: str, unit: str | None) -> str:
    """The base unit of a reading; nothing for words, and for a field that is not ours."""
    from trackside.records.fields import field_of

    try:
        path = f"{corner}.{field}" if corner else field
        quantity = LAP_FIGURES.get(path) or field_of(path).quantity
        if unit is None or quantity is None:
            return ""
        kind = QUANTITIES[quantity]
        return kind.unit(unit).base if unit else kind.units[0].base
    except (KeyError, BadNumber):
        return ""


def safe_cell(cell: Any) -> Any:
    """A cell that a spreadsheet takes for text: an apostrophe before what would be a formula."""
    return _harmless(cell) if isinstance(cell, str) else cell


@lru_cache(maxsize=4096)
def _harmless(cell: str) -> str:
    inside = cell if cell.isalnum() else _WITHIN.sub(r"\1'", cell)
    return f"'{inside}" if cell[:1] in _SIGNS and not _NUMBER.fullmatch(cell) else inside
