"""Dampers or cars from a spreadsheet, a row each: all of them are entered, or none.

What is on record already stays as it is unless that is asked for, so that the same table read twice
adds nothing.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from trackside.crew.cell_text import change, spread, text_of
from trackside.crew.forms import Entry, entries
from trackside.crew.record_columns import NAMED_BY, Column, called, columns_of
from trackside.errors import BadInput, BadNumber, TracksideError
from trackside.logbook import Logbook, Write, patch, put
from trackside.logbook.column_names import keep_columns, known_columns
from trackside.logbook.fold import patched
from trackside.logbook.rows import text as words_of
from trackside.preferences import Preferences
from trackside.records.files import read_bytes
from trackside.records.lap_columns import key_of
from trackside.records.limits import limits_of
from trackside.records.reading import Reading
from trackside.records.sheet_text import cells, decoded, delimiters, every_cell
from trackside.units import clean, one_line, read

MOST_BYTES: Final = 8 * 1024 * 1024
MOST: Final = 1000
"""Rows of one spreadsheet."""
DEEPEST: Final = 60
"""The headings are looked for on so many lines."""
COLUMNS: Final = {"damper": "damper-columns", "car": "car-columns"}
"""Where the names of their columns are remembered."""
_EMPTY: Final = ("", "–", "-")
_BARE: Final = frozenset("0123456789.,+-−– '")


@dataclass(frozen=True)
class Refused:
    """A row that cannot be used: its line in the table, what it names, and why not."""

    line: int
    name: str
    why: str


@dataclass(frozen=True)
class Differs:
    """A value that is on record otherwise: what it is called, as it is here, as in the table."""

    label: str
    here: str
    there: str


@dataclass
class TakenRows:
    """What a spreadsheet comes to. `writes` are to be written in one step of undo, and there are
    none where a row is refused. By name: what is new (a damper, or the first build of one
    that had none), what is here just so already, what is here otherwise: it is left, or put right
    where that was asked for, but for another build. `unknown` are the headings of columns that
    nobody wants."""

    form: str
    writes: list[Write] = field(default_factory=list)
    added: list[str] = field(default_factory=list)
    same: list[str] = field(default_factory=list)
    differs: dict[str, list[Differs]] = field(default_factory=dict)
    put_right: set[str] = field(default_factory=set)
    """Those of them of which something is written over what is here."""
    refused: list[Refused] = field(default_factory=list)
    unknown: tuple[str, ...] = ()
    headings: dict[Entry, str] = field(default_factory=dict)
    """Under which heading each value is."""
    as_diameter: str = ""
    """The heading of a column that could be the piston's name and was taken for its diameter."""


def table_in_file(name: str) -> tuple[str, str]:
    """The text of that file, and what it is called. BadInput says why it cannot be read."""
    return decoded(read_bytes(name, BadInput, MOST_BYTES), Path(name).name), Path(name).name


def take_rows(
    logbook: Logbook,
    form: str,
    text: str,
    source: str,
    preferences: Preferences,
    *,
    columns: Mapping[str, str] | None = None,
    instead: bool = False,
) -> TakenRows:
    """What entering those dampers, or cars, would write. `columns` says what columns with names of
    their own are, and is remembered once the table could be read. BadInput says what is wrong with
    it as a whole."""
    try:
        known, rows = _parted(text, form, source, columns or {})
    except csv.Error as error:
        raise BadInput(f"{source} is no table ({error})", "export it again, as CSV") from None
    known, measured = _pistons_measured(known, rows, form, columns or {}, preferences)
    taken = TakenRows(
        form,
        unknown=tuple(c.heading for c in known if c.heading and not c.entries),
        headings={entry: column.heading for column in known for entry in column.entries},
        as_diameter=measured,
    )
    here, seen = _here(logbook, form), dict[str, int]()
    for line, row in rows:
        texts = _texts(known, row)
        name = texts.get(entries(form)[NAMED_BY[form]], "")
        try:
            _must_be_whole(row, known, name, seen, line)
            _take(here, taken, name, texts, preferences, f"from {source}", instead)
        except TracksideError as error:
            taken.refused.append(Refused(line, name, str(error)))
    if taken.refused:
        taken.writes.clear()
    else:
        keep_columns(columns or {}, COLUMNS[form])
    return taken


def _parted(
    text: str, form: str, source: str, said: Mapping[str, str]
) -> tuple[list[Column], list[tuple[int, list[str]]]]:
    lines = clean(text).split("\n")
    if not any(map(str.strip, lines)):
        raise BadInput(f"{source} is empty", "export the table again")
    known = known_columns(COLUMNS[form])
    for at, line in enumerate(lines[:DEEPEST]):
        for delimiter in delimiters(line) if line.strip() else ():
            names = [one_line(name) for name in cells(line, delimiter)]
            columns = columns_of(names, form, said, known)
            if any(entry.key == NAMED_BY[form] for c in columns for entry in c.entries):
                rows = [
                    (n, [one_line(cell) for cell in row])
                    for n, row in every_cell(lines, at + 1, delimiter)
                    if any(map(str.strip, row))
                ]
                if len(rows) > MOST:
                    raise BadInput(f"{source} has {len(rows)} rows", f"part it: {MOST} at most")
                return columns, rows
    first = one_line(next(line for line in lines if line.strip()))
    own = NAMED_BY[form].partition(".")[2]
    raise BadInput(
        f"{source} has no column of the {own} that is known; its first line is “{first[:60]}”",
        f"say which it is, as in --columns “Nr={own}”",
    )


def _pistons_measured(
    columns: list[Column],
    rows: Sequence[tuple[int, list[str]]],
    form: str,
    said: Mapping[str, str],
    preferences: Preferences,
) -> tuple[list[Column], str]:
    """The columns, with one that is headed as the piston's name, and holds nothing but lengths that
    a piston can have, as its diameter; and the heading of that one. What a person said a column is,
    it stays."""
    name, diameter = (entries(form).get(f"build.piston{end}") for end in ("", "_diameter"))
    filled = [entry for column in columns for entry in column.entries]
    if name is None or diameter is None or diameter in filled:
        return columns, ""
    for at, column in enumerate(columns):
        there = [row[at] for _, row in rows if at < len(row) and row[at] not in _EMPTY]
        is_said = key_of(column.heading) in said or column.entries != (name,)
        if is_said or not there or not all(_is_piston(c, diameter, preferences) for c in there):
            continue
        measured = replace(column, entries=(diameter,))
        return [*columns[:at], measured, *columns[at + 1 :]], column.heading
    return columns, ""


def _is_piston(cell: str, diameter: Entry, preferences: Preferences) -> bool:
    """Whether that is a length that a piston's diameter can be."""
    low, high = limits_of("piston_diameter")
    try:
        si = read(cell, "length", diameter.unit_in(preferences)).si
    except BadNumber:
        return False
    return (low is None or low <= si) and (high is None or si <= high)


def _texts(columns: Sequence[Column], row: Sequence[str]) -> dict[Entry, str]:
    """What the row says, by entry; a bare number gets the unit of its heading."""
    found = {}
    for column, cell in zip(columns, row, strict=False):
        if cell in _EMPTY:
            continue
        bare = column.unit and set(cell) <= _BARE
        for entry in column.entries:
            found[entry] = f"{cell} {column.unit}" if bare else cell
    return found


def _must_be_whole(
    row: Sequence[str], columns: Sequence[Column], name: str, seen: dict[str, int], line: int
) -> None:
    if any(cell for cell in row[len(columns) :]):
        raise BadInput(
            f"{len(row)} cells under {len(columns)} headings: a decimal comma between commas?",
            "export it with semicolons or tabs between the cells",
        )
    if not name:
        raise BadInput("it names nothing", "give each row its serial or name")
    if before := seen.get(name.casefold()):
        raise BadInput(f"{name} is on line {before} already", "give each once")
    seen[name.casefold()] = line


def _take(
    every: Mapping[str, Here],
    taken: TakenRows,
    name: str,
    texts: dict[Entry, str],
    preferences: Preferences,
    reason: str,
    instead: bool,
) -> None:
    """Add what that row comes to."""
    here = every.get(name.casefold(), {})
    new = {
        kind: dict(body)
        for kind, body in _begun(taken.form, name).items()
        if not here or (kind not in here and any(entry.kind == kind for entry in texts))
    }
    for kind in new:
        mine = {entry: text for entry, text in texts.items() if entry.kind == kind}
        new[kind] = patched(new[kind], _patch(kind, new[kind], mine, preferences, taken.headings))
    if new:
        taken.writes += [put(kind, body, reason=reason) for kind, body in new.items()]
        taken.added.append(name)
    differs: list[Differs] = []
    for kind, (entity, body) in here.items():
        mine = {entry: text for entry, text in texts.items() if entry.kind == kind}
        mine.pop(entries(taken.form)[NAMED_BY[taken.form]], None)
        version = next((entry for entry in mine if entry.key == "build.version"), None)
        if version and not _is(body.get("version"), mine[version]):
            there = words_of(body.get("version"))
            differs.append(Differs(called(version), there, mine[version]))
            continue  # the row is about another build than the present one
        after = patched(body, _patch(kind, body, mine, preferences, taken.headings))
        other = [entry for entry in mine if not _same(entry, body, after)]
        differs += [Differs(called(e), text_of(e, body, preferences), mine[e]) for e in other]
        if other and instead:
            groups = {entry.group for entry in other}
            told = {entry: text for entry, text in mine.items() if entry.group in groups}
            values = _patch(kind, body, told, preferences, taken.headings)
            taken.writes.append(patch(kind, entity, values, reason=reason))
            taken.put_right.add(name)
    if differs:
        taken.differs[name] = differs
    elif not new:
        taken.same.append(name)


def _begun(form: str, name: str) -> dict[str, dict[str, Any]]:
    """What a new one begins with, by kind."""
    if form == "car":
        return {"car": {"name": name}}
    build = {"damper": name, "version": "A"}
    return {"damper": {"serial": name}, "build": build}


Here = dict[str, tuple[str, dict[str, Any]]]
"""What is on record of one name, by kind: entity and body."""


def _here(logbook: Logbook, form: str) -> dict[str, Here]:
    """What is on record, by name, casefolded; a damper with its present build."""
    named_by = NAMED_BY[form].partition(".")[2]
    found: dict[str, Here] = {}
    for entity, body in logbook.once(form):
        found.setdefault(words_of(body.get(named_by)).casefold(), {form: (entity, body)})
    if form == "damper":
        builds = sorted(
            logbook.once("build"),
            key=lambda one: (words_of(one[1].get("date")), words_of(one[1].get("version"))),
        )
        for entity, body in builds:
            if mine := found.get(words_of(body.get("damper")).casefold()):
                mine["build"] = (entity, body)
    return found


def _is(value: Any, name: str) -> bool:
    return words_of(value).casefold() == name.casefold()


def _patch(
    kind: str,
    body: dict[str, Any],
    texts: Mapping[Entry, str],
    preferences: Preferences,
    headings: Mapping[Entry, str],
) -> dict[str, Any]:
    """What these texts set, knobs and rules whole. BadInput names the column, and where a rod is
    held against its piston from where that is."""
    groups: dict[str, dict[Entry, str]] = {}
    for entry, text in texts.items():
        groups.setdefault(entry.group, {})[entry] = text
    values: dict[str, Any] = {}
    for group in groups.values():
        try:
            values |= change(kind, patched(body, values), group, preferences)
        except TracksideError as error:
            labels = ", ".join(f"{called(entry)} “{text}”" for entry, text in group.items())
            why = f"{labels}: {getattr(error, 'cause', error)}"
            why += _beside(group, texts, headings)
            raise BadInput(why, getattr(error, "remedy", "")) from None
    return values


_HELD_AGAINST: Final = {"rod_diameter": "piston_diameter", "piston_diameter": "rod_diameter"}


def _beside(
    group: Mapping[Entry, str], texts: Mapping[Entry, str], headings: Mapping[Entry, str]
) -> str:
    """From where the other of rod and piston is, where one of them was refused."""
    other = next((_HELD_AGAINST[one.path] for one in group if one.path in _HELD_AGAINST), "")
    if not other:
        return ""
    what = other.partition("_")[0]
    found = next((entry for entry in texts if entry.path == other), None)
    where = f"“{texts[found]}” under “{headings[found]}”" if found else "on record already"
    return f"; the {what} is {where}"


def _same(entry: Entry, before: Mapping[str, Any], after: Mapping[str, Any]) -> bool:
    """Whether both say the same there, however they were typed."""
    was, now = (_value(entry, body) for body in (before, after))
    if isinstance(was, float) and isinstance(now, float):
        return abs(was - now) <= 1e-9 * max(abs(was), abs(now), 1e-9)
    return was == now


def _value(entry: Entry, body: Mapping[str, Any]) -> Any:
    value = spread(body).get(entry.path)
    if isinstance(value, dict):
        value = Reading.checked(value).si if value.get("si") is not None else value.get("typed")
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return float(value)
    return one_line(value) if isinstance(value, str) else value
