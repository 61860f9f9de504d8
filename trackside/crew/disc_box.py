"""The disc box of the shop: parts put in, taken out, and counted from a spreadsheet.

Nothing is written here: each function gives the writes, to be kept in one step of undo.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final, NamedTuple

from trackside.crew.cell_text import change
from trackside.crew.forms import Entry, entries
from trackside.crew.record_columns import Column, columns_of
from trackside.errors import BadInput
from trackside.logbook import Logbook, Write, patch, put
from trackside.logbook.fold import patched
from trackside.preferences import Preferences
from trackside.records.box_part import BoxPart, Sort
from trackside.records.fields import BOX_SORTS
from trackside.records.reading import Reading
from trackside.records.sheet_text import cells, delimiters, every_cell
from trackside.units import clean, one_line

KIND: Final = "box_part"
HOW: Final = "write it like 27×0.15 ×6, clamp 14 ×2, spacer 0.30 ×4, bleed 4×2.0×0.15, in mm"
MOST: Final = 2000
"""Rows of one spreadsheet, and parts of one size."""

_NUMBER = r"\d+(?:[.,]\d+)?"
_TIMES = r"\s*[x×*]\s*"
_COUNT = rf"(?:{_TIMES}(?P<count>\d+)(?![.,]?\d))?"
_MM = r"(?:\s*mm)?"
_PART: Final = {
    "bleed disc": re.compile(
        rf"bleed(?:\s+disc)?s?\s+(?P<slot_count>\d+){_TIMES}(?P<slot_width>{_NUMBER}){_TIMES}"
        rf"(?P<thickness>{_NUMBER}){_MM}{_COUNT}", re.I,
    ),
    "clamp disc": re.compile(
        rf"clamp(?:\s+disc)?s?\s+(?P<diameter>{_NUMBER})(?:{_TIMES}(?P<thickness>\d+[.,]\d+))?"
        rf"{_MM}{_COUNT}", re.I,
    ),
    "spacer": re.compile(rf"spacers?\s+(?P<thickness>{_NUMBER}){_MM}{_COUNT}", re.I),
    "disc": re.compile(
        rf"(?:discs?\s+)?(?P<diameter>{_NUMBER}){_TIMES}(?P<thickness>{_NUMBER}){_MM}{_COUNT}", re.I
    ),
}  # fmt: skip
_COMMA: Final = re.compile(r"\s*(?:;|\n|,(?!\d)|(?<!\d),)\s*")


class Wanted(NamedTuple):
    """So many parts of one size, as somebody typed them."""

    sort: Sort
    body: dict[str, Any]
    pieces: int
    typed: str

    @property
    def record(self) -> BoxPart:
        """The part."""
        return BoxPart.checked({"sort": self.sort, **self.body})


class PartInBox(NamedTuple):
    """A part as it is in the logbook."""

    entity: str
    record: BoxPart
    stored: Mapping[str, Any]


def read_parts(text: str) -> list[Wanted]:
    """The parts of `text`, divided by commas or semicolons, sizes in mm. BadInput names what cannot
    be read."""
    found = []
    for piece in filter(None, (one.strip() for one in _COMMA.split(clean(text)))):
        match, sort = next(
            ((m, s) for s, shape in _PART.items() if (m := shape.fullmatch(piece))), (None, "disc")
        )
        if match is None:
            raise BadInput(f"“{one_line(piece)}” is no part that is known", HOW)
        given = {name: text for name, text in match.groupdict().items() if text is not None}
        count = int(given.pop("count", 1))
        if not 0 < count <= MOST:
            raise BadInput(f"“{one_line(piece)}”: {count} of it cannot be", "count them again")
        body: dict[str, Any] = {}
        for name, typed in given.items():
            if name == "slot_count":
                body[name] = int(typed)
            else:
                reading = Reading.of_text(typed, "length", "mm")
                body[name] = reading.body() if reading else None
        if not all(float(typed.replace(",", ".")) > 0 for typed in given.values()):
            raise BadInput(f"“{one_line(piece)}”: a size is zero", HOW)
        found.append(Wanted(sort, body, count, piece))  # type: ignore[arg-type]
    if not found:
        raise BadInput("no part is named", HOW)
    return found


class DiscBox:
    """The parts of a logbook's box, and what is to be written to change them."""

    def __init__(self, logbook: Logbook) -> None:
        self._logbook = logbook

    def all(self) -> list[PartInBox]:
        """Every part: discs, clamp discs, spacers, bleed discs and the rest, the largest first."""
        stored = dict(self._logbook.all(KIND))
        parts = [
            PartInBox(entity, record, stored.get(entity, {}))
            for entity, record in self._logbook.records(BoxPart, KIND)
        ]
        return sorted(parts, key=_place)

    def moved(
        self, goes_in: Iterable[Wanted] = (), comes_out: Iterable[Wanted] = ()
    ) -> list[Write]:
        """So many more of each, then so many less. BadInput where the box has not so many."""
        parts, new = self.all(), dict[str, Write]()
        counts: dict[str, int] = {part.entity: part.record.count for part in parts}
        moved: list[str] = []
        for way, one in [*((1, one) for one in goes_in), *((-1, one) for one in comes_out)]:
            alike = [p.entity for p in parts if _same(p.record, one.record)]
            alike += [e for e, write in new.items() if _same(_made(write), one.record)]
            here = sum(counts[entity] for entity in alike)
            if way < 0 and here < one.pieces:
                have = "none" if not here else f"only {here}"
                raise BadInput(
                    f"“{one.typed}”: the box has {have} of it", "count again, or take out fewer"
                )
            if not alike:
                write = put(KIND, {"sort": one.sort, **one.body, "count": 0})
                new[write.entity], counts[write.entity] = write, 0
                alike = [write.entity]
            left = one.pieces
            for entity in alike:  # the same part may have been entered on two laptops
                step = left if way > 0 else min(left, counts[entity])
                counts[entity] += way * step
                left -= step
                moved.append(entity)
        writes = []
        for entity in dict.fromkeys(moved):
            if entity in new:
                body = dict(new[entity].body) | {"count": counts[entity]}
                writes.append(new[entity]._replace(body=body))
            else:
                writes.append(patch(KIND, entity, {"count": counts[entity]}))
        return writes

    def counted(self, text: str, source: str, preferences: Preferences) -> Counted:
        """What a count of the box on a spreadsheet comes to: each row is how many there are now.
        BadInput says what cannot be read, and then nothing is to be written."""
        try:
            columns, rows = _parted(clean(text), source)
        except csv.Error as error:
            raise BadInput(f"{source} is no table ({error})", "export it again, as CSV") from None
        parts, writes = self.all(), list[Write]()
        added, set_to, same, seen = 0, 0, 0, dict[tuple[Any, ...], int]()
        for line, row in rows:
            try:
                body, count = _row_body(columns, row, preferences)
                record = BoxPart.checked(body)
                key = (record.sort, record.sizes, (record.name or "").casefold())
                if key in seen:
                    raise BadInput(f"it is on line {seen[key]} already", "give each size once")
            except BadInput as error:
                raise BadInput(f"{source}, line {line}: {error.cause}", error.remedy) from None
            seen[key] = line
            alike = [p for p in parts if _same(p.record, record)]
            if not alike:
                writes.append(put(KIND, {**body, "count": count}, reason=f"from {source}"))
                added += 1
                continue
            told = {n: v for n, v in body.items() if n in ("name", "place", "words", "hole")}
            first, *twins = alike
            changes = {n: v for n, v in told.items() if first.stored.get(n) != v}
            if sum(p.record.count for p in alike) != count:
                changes["count"] = count
                writes += [patch(KIND, p.entity, {"count": 0}) for p in twins if p.record.count]
            if changes:
                writes.append(patch(KIND, first.entity, changes, reason=f"from {source}"))
                set_to += 1
            else:
                same += 1
        unknown = tuple(c.heading for c in columns if c.heading and not c.entries)
        return Counted(tuple(writes), added, set_to, same, unknown)


class Counted(NamedTuple):
    """What a spreadsheet comes to: what is to be written; how many sizes are new, how many have
    another count or place now, how many are the same; headings that nobody wants."""

    writes: tuple[Write, ...]
    added: int
    changed: int
    same: int
    unknown: tuple[str, ...]


def _place(part: PartInBox) -> tuple[Any, ...]:
    record = part.record
    thick, wide = record.thickness or 0.0, record.diameter or 0.0
    return BOX_SORTS.index(record.sort), -wide, thick, (record.name or "").casefold(), part.entity


def _same(a: BoxPart, b: BoxPart) -> bool:
    """Whether both are one size of one part; what has no sizes is known by its name."""
    if a.sort != b.sort or a.sizes != b.sizes:
        return False
    return a.sizes is not None or bool(a.name and b.name and a.name.casefold() == b.name.casefold())


def _made(write: Write) -> BoxPart:
    return BoxPart.checked(dict(write.body))


def _parted(text: str, source: str) -> tuple[list[Column], list[tuple[int, list[str]]]]:
    lines = text.split("\n")
    for at, line in enumerate(lines[:60]):
        for delimiter in delimiters(line) if line.strip() else ():
            names = [one_line(name) for name in cells(line, delimiter)]
            columns = columns_of(names, KIND, {}, ())
            paths = {entry.path for column in columns for entry in column.entries}
            if "count" in paths and paths & {"thickness", "diameter"}:
                rows = [
                    (n, [one_line(cell) for cell in row])
                    for n, row in every_cell(lines, at + 1, delimiter)
                    if any(map(str.strip, row))
                ]
                if len(rows) > MOST:
                    raise BadInput(f"{source} has {len(rows)} rows", f"part it: {MOST} at most")
                return columns, rows
    raise BadInput(
        f"{source} has no line of headings that is known",
        "name the columns: what, diameter (mm), thickness (mm), count",
    )


def _row_body(
    columns: Sequence[Column], row: Sequence[str], preferences: Preferences
) -> tuple[dict[str, Any], int]:
    if any(row[len(columns) :]):
        raise BadInput(
            f"{len(row)} cells under {len(columns)} headings: a decimal comma between commas?",
            "export it with semicolons or tabs between the cells",
        )
    body: dict[str, Any] = {}
    texts: dict[Entry, str] = {}
    for column, cell in zip(columns, row, strict=False):
        for entry in column.entries:
            if cell and cell not in ("–", "-"):
                bare = column.unit and set(cell) <= set("0123456789., ")
                texts[entry] = f"{cell} {column.unit}" if bare else cell
    known = entries(KIND)
    texts.setdefault(known[f"{KIND}.sort"], "disc")
    for entry, typed in sorted(texts.items(), key=lambda item: item[0].path != "sort"):
        body = patched(body, change(KIND, body or {"sort": "disc"}, {entry: typed}, preferences))
    if "count" not in body:
        raise BadInput("it has no count", "say how many there are; 0 for none")
    record = BoxPart.checked(body)
    if record.sort not in ("needle", "oil") and record.sizes is None:
        raise BadInput(f"a {record.sort} lacks a size", "give its diameter and thickness")
    return body, int(body.pop("count"))
