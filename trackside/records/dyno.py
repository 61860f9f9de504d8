"""A dyno sheet: force against rod speed at known adjuster positions, and reading one from CSV.

Header: `position,direction,speed_mm_s,force_N` and optionally `oil_C` and `preload_position`.
Other units go by the suffix of the header (`speed_in_s`, `force_lbf`, `oil_F`). Commas,
semicolons or tabs; with semicolons or tabs a decimal comma is read too.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator
from typing import Literal, NamedTuple, Self

from pydantic import Field, model_validator

from trackside.errors import BadNumber, BadSheet
from trackside.records.base import Line, Record, Words
from trackside.records.sheet_slips import refuse_slips
from trackside.records.sheet_warning import SheetWarning
from trackside.units import QUANTITIES, read_number

MOST_ROWS = 20_000
"""A sheet with more rows is a raw recording."""

MOST_LOOP_POINTS = 200

_SPEED = {"mm_s": "mm/s", "in_s": "in/s", "m_s": "m/s"}
_FORCE = {"N": "N", "lbf": "lbf", "kgf": "kgf", "kN": "kN"}
_OIL = {"C": "°C", "F": "°F", "K": "K"}
_DIRECTIONS = {
    "bump": "bump",
    "b": "bump",
    "compression": "bump",
    "comp": "bump",
    "c": "bump",
    "rebound": "rebound",
    "reb": "rebound",
    "r": "rebound",
    "extension": "rebound",
}


class DynoRow(NamedTuple):
    """One point: position as counted, speed in m/s, force in N (positive), oil in °C."""

    position: float
    direction: Literal["bump", "rebound"]
    speed: float
    force: float
    oil_C: float | None = None
    preload_position: float | None = None


class Loop(Record):
    """The mean loop of one bench run: displacement from mid stroke (m, growing as the damper
    closes) against force (N, positive in bump), gas force still in it."""

    position: float
    speed: float
    """Peak speed, m/s."""
    displacement: tuple[float, ...]
    force: tuple[float, ...]

    @model_validator(mode="after")
    def _paired(self) -> Self:
        if len(self.displacement) != len(self.force):
            raise ValueError("a loop has as many displacements as forces")
        if len(self.force) > MOST_LOOP_POINTS:
            raise ValueError(f"a loop has at most {MOST_LOOP_POINTS} points")
        return self

    def __hash__(self) -> int:
        """Of what tells it apart: a sheet is looked up often, and its points are many."""
        return hash((self.position, self.speed, len(self.force)))


class DynoSheet(Record):
    """A sheet of one damper's build. `rebound_sign` is −1 when its rebound forces were negative."""

    damper: Line = ""
    build: Line = ""
    date: Line = ""
    source: Line = ""
    """The file it was read from."""
    counted_from: Literal["hard", "soft"] | None = None
    """None: as the damper's own adjusters count."""
    gas_in: bool = False
    """Whether the gas force is still in the forces."""
    gas_pressure: float | None = None
    """The charge on the bench, gauge Pa."""
    friction_in: bool = True
    rebound_sign: Literal[1, -1] = 1
    rows: tuple[DynoRow, ...] = Field(default=(), min_length=1)
    loops: tuple[Loop, ...] = ()
    warnings: tuple[SheetWarning, ...] = ()
    """What was doubtful about it when it was added."""
    seen_by: Line = ""
    """Who saw its serious warnings and let it count; empty: nobody yet."""
    words: Words = ""

    @property
    def waits(self) -> bool:
        """Whether it does not count yet: it has serious warnings, and nobody has seen them."""
        return not self.seen_by and any(warning.serious for warning in self.warnings)

    def of_direction(self, direction: str) -> tuple[DynoRow, ...]:
        """The rows of one direction."""
        return tuple(row for row in self.rows if row.direction == direction)

    def positions(self, direction: str) -> tuple[float, ...]:
        """The positions measured in that direction, ascending."""
        return tuple(sorted({row.position for row in self.of_direction(direction)}))


class _Columns(NamedTuple):
    position: int
    direction: int
    speed: int
    speed_unit: str
    force: int
    force_unit: str
    oil: int | None
    oil_unit: str
    preload: int | None
    width: int


def read_sheet(text: str, source: str = "sheet") -> DynoSheet:
    """The sheet of a CSV text. BadSheet names `source`, the line and the remedy."""
    lines = text.lstrip("\ufeff").splitlines()
    first = next((n for n, line in enumerate(lines) if line.strip()), None)
    if first is None:
        raise BadSheet(f"{source} is empty", "export the sheet again")
    header = lines[first]
    delimiter = max(";\t,", key=header.count) if any(c in header for c in ";\t,") else ","
    try:
        columns = _columns(next(csv.reader([header], delimiter=delimiter)), source, first + 1)
        rows = list(_rows(lines, first + 1, delimiter, columns, source))
    except csv.Error as error:
        raise BadSheet(f"{source} is not a table ({error})", "export the sheet again") from None
    if not rows:
        raise BadSheet(f"{source} has a header and no rows", "export the sheet again")
    sign = _rebound_sign(rows, source)
    refuse_slips(rows, columns.speed_unit, columns.force_unit, source)
    kept = tuple(row._replace(force=abs(row.force)) for _, row in rows)
    return DynoSheet(source=source, rebound_sign=sign, rows=kept)


def _columns(header: list[str], source: str, line: int) -> _Columns:
    names = [name.strip().strip('"') for name in header]
    lowered = [name.casefold() for name in names]

    def plain(*wanted: str) -> int | None:
        return next((lowered.index(name) for name in wanted if name in lowered), None)

    def suffixed(stem: str, suffixes: dict[str, str]) -> tuple[int, str] | None:
        found = [
            (n, unit)
            for n, name in enumerate(lowered)
            for suffix, unit in suffixes.items()
            if name == f"{stem}_{suffix.casefold()}"
        ]
        if len(found) > 1:
            raise BadSheet(f"{source} line {line} names {stem} twice", "keep one column of it")
        return found[0] if found else None

    position, direction = plain("position"), plain("direction")
    speed, force = suffixed("speed", _SPEED), suffixed("force", _FORCE)
    missing = [
        label
        for label, found in (
            ("position", position),
            ("direction", direction),
            ("speed_mm_s", speed),
            ("force_N", force),
        )
        if found is None
    ]
    if missing or position is None or direction is None or speed is None or force is None:
        raise BadSheet(
            f"{source} line {line} has no column {', '.join(missing)}",
            "the header is position,direction,speed_mm_s,force_N (units by suffix: "
            "speed_in_s, force_lbf)",
        )
    oil = suffixed("oil", _OIL)
    oil_column, oil_unit = oil or (None, "°C")
    preload = plain("preload_position")
    return _Columns(position, direction, *speed, *force, oil_column, oil_unit, preload, len(names))


def _rows(
    lines: list[str], start: int, delimiter: str, columns: _Columns, source: str
) -> Iterator[tuple[int, DynoRow]]:
    speed_unit = QUANTITIES["speed"].unit(columns.speed_unit)
    force_unit = QUANTITIES["force"].unit(columns.force_unit)
    oil_unit = QUANTITIES["temperature"].unit(columns.oil_unit)
    last = max(column for column in columns[:-1] if isinstance(column, int))
    reader = csv.reader(lines[start:], delimiter=delimiter)
    kept = 0
    for cells in reader:
        line = start + reader.line_num
        if not any(cell.strip() for cell in cells) or cells[0].lstrip().startswith("#"):
            continue
        kept += 1
        if kept > MOST_ROWS:
            raise BadSheet(
                f"{source} has more than {MOST_ROWS} rows",
                "give a table of peak speeds and forces, not a raw recording",
            )
        if len(cells) <= last and len(cells) <= max(columns.force, columns.speed):
            raise BadSheet(
                f"{source} line {line} has {len(cells)} cells where the header has more",
                "the file may have been cut off: export it again",
            )
        if any(cell.strip() for cell in cells[columns.width :]):
            raise BadSheet(
                f"{source} line {line} has {len(cells)} cells where the header has {columns.width}",
                "decimal commas in a comma-separated file? Save it with semicolons",
            )

        def number(column: int, name: str, cells: list[str] = cells, line: int = line) -> float:
            try:
                value = read_number(cells[column])
            except BadNumber as error:
                raise BadSheet(
                    f"{source} line {line}: {name} {error.cause}", "correct that cell"
                ) from None
            if not math.isfinite(value):
                raise BadSheet(f"{source} line {line}: {name} is not finite", "correct that cell")
            return value

        def optional(column: int | None, name: str, cells: list[str] = cells) -> float | None:
            if column is None or column >= len(cells) or not cells[column].strip():
                return None
            return number(column, name, cells)

        word = cells[columns.direction].strip().casefold()
        if word not in _DIRECTIONS:
            raise BadSheet(
                f"{source} line {line}: direction “{cells[columns.direction].strip()}”",
                "write bump or rebound",
            )
        oil = optional(columns.oil, "oil temperature")
        yield (
            line,
            DynoRow(
                position=number(columns.position, "position"),
                direction=_DIRECTIONS[word],  # type: ignore[arg-type]
                speed=abs(number(columns.speed, "speed")) * speed_unit.factor,
                force=number(columns.force, "force") * force_unit.factor,
                oil_C=None if oil is None else oil * oil_unit.factor + oil_unit.offset,
                preload_position=optional(columns.preload, "preload position"),
            ),
        )


def _rebound_sign(rows: list[tuple[int, DynoRow]], source: str) -> Literal[1, -1]:
    """−1 when rebound forces are negative. Bump must be positive; a mixture is refused."""
    for direction in ("bump", "rebound"):
        signed = [(line, row) for line, row in rows if row.direction == direction and row.force]
        down = [line for line, row in signed if row.force < 0]
        if down and len(down) < len(signed):
            odd = (
                down
                if len(down) * 2 <= len(signed)
                else [line for line, row in signed if row.force > 0]
            )
            raise BadSheet(
                f"{source} line {odd[0]}: this {direction} force has the other sign",
                f"give all {direction} forces one sign",
            )
        if down and direction == "bump":
            raise BadSheet(
                f"{source} line {down[0]}: bump forces are negative",
                "bump is positive; rebound may be negative. Are the directions swapped?",
            )
    rebound = [row.force for _, row in rows if row.direction == "rebound" and row.force]
    return -1 if rebound and rebound[0] < 0 else 1
