"""The lines of a machine's table: its header, what is around it, and its rows in words.

Nothing is a number yet: how the file writes its numbers is known when all of them were seen.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple

from trackside.errors import BadColumns, BadSheet
from trackside.records.headings import DIRECTIONS, UNITS, Heading, headings
from trackside.records.numerals import looks_like_a_number
from trackside.records.sheet_text import cells, delimiters, every_cell

MOST_ROWS = 20_000
"""A sheet with more rows is a raw recording."""
PREAMBLE = 200
"""Lines within which the header must come."""
_TITLE = 6  # words of a title; a sentence that names a direction is none
_MOTION = ("time", "angle", "displacement")
_OWN = {"position", "direction", "speed", "force"}
_OWN_NAMES = {"speed": "speed_mm_s", "force": "force_N"}
_HEADER = (
    "the header is position,direction,speed_mm_s,force_N (units by suffix: speed_in_s, force_lbf); "
)
_NAMED = re.compile(
    r"\s*(?:(?P<direction>[a-z]+)\s+)?(?:position|pos|clicks?|setting|adjuster)\b\s*[:=]?\s*"
    r"(?P<position>\d+(?:[.,]\d+)?|full[ -]?hard|full[ -]?soft|hard|soft|f)\s*(?:clicks?)?\s*",
    re.IGNORECASE,
)
_COUNTED = re.compile(r"(?:(?P<direction>[a-z]+)\s+)?(?P<position>\d+)\s+clicks?", re.IGNORECASE)


@dataclass(frozen=True)
class Said:
    """What a person says of a file: what its columns are (heading, casefolded, to the program's
    own), which tables were seen before, from which end each direction's adjuster counts and how
    many clicks it has, the position of a table that has no column of it, and which direction a
    positive speed or force means."""

    columns: Mapping[str, str] = field(default_factory=dict)
    known: tuple[Mapping[str, str], ...] = ()
    ends: Mapping[str, tuple[str | None, float | None]] = field(default_factory=dict)
    position: str = ""
    positive: str = ""


class Line(NamedTuple):
    """One point of a table as it was written; what the table does not say is empty. `context` is
    the direction that a title above it names."""

    line: int
    position: str
    direction: str
    context: str
    speed: str
    speed_unit: str
    force: str
    force_unit: str
    oil: str
    oil_unit: str
    preload: str


@dataclass(frozen=True)
class Table:
    """All points of a file; `own` when its headings are the program's own; `words` are the lines
    that are no table, remarks included."""

    own: bool
    header_line: int
    rows: tuple[Line, ...]
    words: tuple[tuple[int, str], ...]


@dataclass(frozen=True)
class _Layout:
    line: int
    delimiter: str
    columns: tuple[Heading, ...]

    @property
    def own(self) -> bool:
        """Whether every column that is needed has the program's own heading."""
        exact = [c for c in self.columns if _is_own(c)]
        return {c.kind for c in exact} >= _OWN and not any(c.direction or c.position for c in exact)

    def of(self, kind: str) -> list[tuple[int, Heading]]:
        """The columns of that kind with their places."""
        return self._by_kind.get(kind, [])

    @cached_property
    def _by_kind(self) -> dict[str, list[tuple[int, Heading]]]:
        found: dict[str, list[tuple[int, Heading]]] = {}
        for n, column in enumerate(self.columns):
            found.setdefault(column.kind, []).append((n, column))
        return found


def _is_own(column: Heading) -> bool:
    suffix = f"_{column.unit.replace('/', '_').replace('°', '')}" if column.unit else ""
    kind = "preload_position" if column.kind == "preload" else column.kind
    return column.name.casefold() == f"{kind}{suffix}".casefold()


def read_table(text: str, source: str, said: Said) -> Table:
    """The points of a text. BadSheet names the file, the line and the remedy; BadColumns where a
    person must say what the columns are."""
    lines = text.splitlines()
    if not any(line.strip() for line in lines):
        raise BadSheet(f"{source} is empty", "export the sheet again")
    try:
        layout = _with_units(_layout(lines, source, said), lines)
        _refuse_layout(layout, source)
        return _table(lines, layout, source, said)
    except csv.Error as error:
        raise BadSheet(f"{source} is not a table ({error})", "export the sheet again") from None


# ── the header ──────────────────────────────────────────────────────────────────────────────────


def _layout(lines: Sequence[str], source: str, said: Said) -> _Layout:
    """The first line that names a speed and a force; else, of the lines before the first numbers,
    the one that comes nearest."""
    nearest: tuple[int, _Layout] | None = None
    for n, line in enumerate(lines[:PREAMBLE]):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        for delimiter in delimiters(line):
            names = cells(line, delimiter)
            found = tuple(headings(names, said.columns, said.known))
            layout = _Layout(n + 1, delimiter, found)
            if _is_header(found):
                return _only_own(layout)
            filled = [name for name in names if name.strip()]
            known = len({c.kind for c in found if c.kind} - {"force"}) * 100 + len(filled)
            words = len(filled) > 1 and not any(map(looks_like_a_number, filled))
            if words and (nearest is None or known > nearest[0]):
                nearest = known, layout
    if nearest is not None:
        return nearest[1]
    first = next(n for n, line in enumerate(lines) if line.strip())
    delimiter = delimiters(lines[first])[0]
    return _Layout(first + 1, delimiter, tuple(headings(cells(lines[first], delimiter), {})))


def _only_own(layout: _Layout) -> _Layout:
    """The program's own header has only its own columns: whatever else is there is passed over."""
    if not layout.own:
        return layout
    kept = (c if _is_own(c) else Heading("ignore", name=c.name) for c in layout.columns)
    return replace(layout, columns=tuple(kept))


def _is_header(columns: Sequence[Heading]) -> bool:
    """Whether these headings name a table of speeds and forces, or a recording. A bare number may
    be the heading of a position, once the speeds are named."""
    kinds = {column.kind for column in columns if not looks_like_a_number(column.name)}
    if "speed" in kinds:
        return any(column.kind == "force" for column in columns)
    return "force" in kinds and bool(kinds & set(_MOTION))


def _with_units(layout: _Layout, lines: Sequence[str]) -> _Layout:
    """The same, with the units of a line of units below the header."""
    below = next((n for n in range(layout.line, len(lines)) if lines[n].strip()), None)
    if below is None:
        return layout
    row = cells(lines[below], layout.delimiter)
    found = [cell.strip().strip("[]()").casefold() for cell in row]
    every = {spelling for known in UNITS.values() for unit in known.values() for spelling in unit}
    if not any(found) or any(
        cell and cell not in every | {"-", "clicks", "click"} for cell in found
    ):
        return layout
    columns = tuple(
        column._replace(unit=_spelled(column.kind, text)) if not column.unit else column
        for column, text in zip(layout.columns, [*found, *[""] * len(layout.columns)], strict=False)
    )
    return _Layout(below + 1, layout.delimiter, columns)


def _spelled(kind: str, text: str) -> str:
    return next((unit for unit, known in UNITS.get(kind, {}).items() if text in known), "")


def _refuse_layout(layout: _Layout, source: str) -> None:
    """BadSheet for a recording; BadColumns for a header that lacks a column or a unit."""
    kinds = {column.kind for column in layout.columns}
    at = f"{source} line {layout.line}"
    table = "speed" in kinds and kinds & {"direction", "position"}
    if "force" in kinds and kinds & set(_MOTION) and not table:
        raise BadSheet(
            f"{at} is the header of a recording over the stroke, not of a table of peak speeds",
            f"trackside dyno runs {source} --position P reduces it, from "
            "time_s,displacement_mm,force_N",
        )
    missing = []
    for kind, own in _OWN_NAMES.items():
        columns = [column for _, column in layout.of(kind)]
        if not columns or not all(column.unit for column in columns):
            missing.append(own)
    if not missing:
        _refuse_twice(layout, at)
        return
    names = [column.name for column in layout.columns if column.name]
    bare = {
        c.name: _OWN_NAMES[c.kind] for c in layout.columns if c.kind in _OWN_NAMES and not c.unit
    }
    first = next(iter(bare), "")
    told = f"“{first}” has no unit: " if bare else _HEADER
    strange = [column.name for column in layout.columns if column.name and not column.kind]
    example = first or (strange[0] if len(strange) == 1 else "NAME")
    raise BadColumns(
        f"{at} has no column {', '.join(missing)}",
        f'{told}--columns "{example}={bare.get(first, missing[-1])}" says what it is',
        tuple(names),
    )


def _refuse_twice(layout: _Layout, at: str) -> None:
    for kind in ("position", "speed", "force", "oil", "preload"):
        seen = [(c.direction, c.position) for _, c in layout.of(kind)]
        if len(set(seen)) < len(seen):
            names = tuple(column.name for column in layout.columns if column.name)
            raise BadColumns(f"{at} names {kind} twice", "keep one column of it", names)


# ── the rows ────────────────────────────────────────────────────────────────────────────────────


@dataclass
class _Above:
    """What the titles above a row say: direction and position, the last one said."""

    direction: str = ""
    positions: dict[str, str] = field(default_factory=dict)

    def read(self, row: Sequence[str]) -> None:
        """Take in the cells of a line that is no row."""
        filled = [cell.strip() for cell in row if cell.strip()]
        whole = " ".join(filled)
        tokens = re.findall(r"[a-z]+", whole.casefold())
        named = {DIRECTIONS[t] for t in tokens if t in DIRECTIONS and len(t) > 1}
        if len(named) == 1 and len(tokens) <= _TITLE:
            self.direction = next(iter(named))
        for part in (whole, *filled):
            match = _NAMED.fullmatch(part) or _COUNTED.fullmatch(part)
            if match and (match["direction"] or "").casefold() in ("", *DIRECTIONS):
                whose = DIRECTIONS.get((match["direction"] or "").casefold(), "")
                self.positions[whose] = match["position"]


def _table(lines: Sequence[str], layout: _Layout, source: str, said: Said) -> Table:
    above, words = _Above(), list[tuple[int, str]]()
    own = layout.own
    for n, text in enumerate(lines[: layout.line - 1]):
        words.append((n + 1, text))
        if not own:
            above.read(cells(text, layout.delimiter))
    rows: list[Line] = []
    header = layout.line
    for line, row in every_cell(lines, layout.line, layout.delimiter):
        first = next((cell.strip() for cell in row if cell.strip()), "")
        if not first:
            continue
        if first.startswith("#"):
            words.append((line, layout.delimiter.join(row)))
            continue
        if not own and (again := _another_header(row, layout, line, said)):
            layout = replace(_with_units(again, lines), line=line)
            continue
        if not own and _is_title(row, layout):
            words.append((line, layout.delimiter.join(row)))
            above.read(row)
            continue
        rows += _points(row, line, layout, above, source)
        if len(rows) > MOST_ROWS:
            raise BadSheet(
                f"{source} has more than {MOST_ROWS} rows",
                "give a table of peak speeds and forces, not a raw recording",
            )
    if not rows:
        raise BadSheet(f"{source} has a header and no rows", "export the sheet again")
    return Table(own, header, tuple(rows), tuple(words))


def _another_header(row: list[str], layout: _Layout, line: int, said: Said) -> _Layout | None:
    """The header of another table in the same file, or the line of units below one."""
    if any(map(looks_like_a_number, row[:1])) or sum(map(looks_like_a_number, row)) > len(row) / 2:
        return None
    found = tuple(headings(row, said.columns, said.known))
    if _is_header(found):
        return _Layout(line, layout.delimiter, found)
    units = {spelling for known in UNITS.values() for unit in known.values() for spelling in unit}
    told = [cell.strip().strip("[]()").casefold() for cell in row if cell.strip()]
    return (
        layout if len(told) > 1 and all(cell in units | {"-", "clicks"} for cell in told) else None
    )


def _is_title(row: list[str], layout: _Layout) -> bool:
    """Words between two tables: one or two cells, the speed not among them."""
    filled = [cell for cell in row if cell.strip()]
    speeds = [row[n] for n, _ in layout.of("speed") if n < len(row)]
    return len(filled) <= 2 and not any(map(looks_like_a_number, [*speeds, filled[0]]))


def _points(
    row: list[str], line: int, layout: _Layout, above: _Above, source: str
) -> Iterator[Line]:
    """The points of one line: one for each column of forces."""
    forces, speeds = layout.of("force"), layout.of("speed")
    wide = len(forces) > 1
    last = max(n for n, _ in [*speeds, *forces])
    if len(row) <= last and not (wide and len(row) > max(n for n, _ in speeds)):
        raise BadSheet(
            f"{source} line {line} has {len(row)} cells where the header has more",
            "the file may have been cut off: export it again",
        )
    if any(cell.strip() for cell in row[len(layout.columns) :]):
        raise BadSheet(
            f"{source} line {line} has {len(row)} cells where the header has {len(layout.columns)}",
            "decimal commas in a comma-separated file? Save it with semicolons",
        )

    def cell(kind: str, direction: str = "") -> tuple[str, str]:
        found = [(n, c) for n, c in layout.of(kind) if c.direction in ("", direction)]
        found.sort(key=lambda item: item[1].direction != direction)
        if not found or found[0][0] >= len(row):
            return "", ""
        return row[found[0][0]].strip(), found[0][1].unit

    oil, oil_unit = cell("oil")
    for n, column in forces:
        force = row[n].strip() if n < len(row) else ""
        if wide and not force:
            continue
        word = column.direction or cell("direction")[0]
        direction = DIRECTIONS.get(word.casefold(), word)
        speed, speed_unit = cell("speed", direction)
        position = column.position or cell("position", direction)[0]
        if not position and not layout.of("position"):
            position = above.positions.get(direction or above.direction) or above.positions.get(
                "", ""
            )
        yield Line(
            line, position, direction, above.direction, speed, speed_unit, force, column.unit,
            oil, oil_unit, cell("preload")[0],
        )  # fmt: skip
