"""Lap times from a timing sheet: a table whose columns are known by their headings (see
`records.lap_columns`), or what was pasted from one."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Final, NamedTuple

from trackside.errors import BadInput
from trackside.records.lap_columns import SURE, LapsSaid, key_of, kinds_of, plain
from trackside.records.laps import MARKS, Kept, lap_of, read_laps
from trackside.records.sheet_text import cells, delimiters, every_cell
from trackside.units import clean, one_line, show_lap

MOST: Final = 1000
"""Laps of one session, as many as its number of laps may say."""

DEEPEST: Final = 60
"""The heading is looked for on so many lines: a timing sheet says first which session it is."""


class LapTable(NamedTuple):
    """The laps of a timing sheet, the heading of their column, and how many rows had no time."""

    laps: tuple[Kept, ...]
    column: str
    left_out: int


class _Head(NamedTuple):
    line: int
    delimiter: str
    names: list[str]
    kinds: list[str]


def read_lap_table(text: str, source: str, said: LapsSaid) -> LapTable:
    """The laps of that timing sheet, in its order. BadInput says what is wrong with it, and what to
    do."""
    try:
        return _read(text, source, said)
    except csv.Error as error:
        raise BadInput(f"{source} is no table ({error})", "export it again, as CSV") from None


def _read(text: str, source: str, said: LapsSaid) -> LapTable:
    lines = clean(text).split("\n")
    if not any(map(str.strip, lines)):
        raise BadInput(f"{source} is empty", "export the timing sheet again")
    head = _head(lines, said, source)
    _must_be_whole(text, head, source)
    rows = [
        (n, row)
        for n, row in every_cell(lines, head.line + 1, head.delimiter)
        if any(map(str.strip, row))
    ]
    _must_part(rows, head, source)
    rows = _wanted(rows, head, said, source)
    at, mark_at = head.kinds.index("lap_time"), _place(head, "mark")
    of_laps = [row for _, row in _counted(rows, head) if at < len(row)]
    found = [_lap(row[at], _mark(row, mark_at)) for row in of_laps]
    laps = tuple(lap for lap in found if lap is not None)
    if not any(lap_of(lap).seconds for lap in laps):
        raise _no_lap_under(head.names[at], source)
    _must_be_of_one_car(rows, head, said, source)
    if len(laps) > MOST:
        raise BadInput(f"{source} has {len(laps)} laps", "name the sheet of one session")
    return LapTable(laps, head.names[at], len(rows) - len(laps))


def _no_lap_under(name: str, source: str) -> BadInput:
    return BadInput(
        f"{source} has no lap time under “{name}”",
        "say which column has them, as in --columns “Zeit=lap_time”",
    )


def _must_part(rows: Sequence[tuple[int, list[str]]], head: _Head, source: str) -> None:
    """BadInput where a decimal comma parts a lap time into two cells."""
    at = head.kinds.index("lap_time")
    for number, row in rows:
        if any(cell.strip() for cell in row[len(head.names) :]):
            raise BadInput(
                f"{source} line {number} has {len(row)} cells under {len(head.names)} headings: "
                "a decimal comma between commas?",
                "export it with semicolons or tabs between the cells",
            )
    pairs = [(row[at].strip(), row[at + 1].strip()) for _, row in rows if at + 1 < len(row)]
    timed = [(time, behind) for time, behind in pairs if _is_time(time)]
    if (
        head.delimiter == ","
        and timed
        and all(
            ":" in time and not _decimals(time) and re.fullmatch(r"\d{1,3}", behind)
            for time, behind in timed
        )
    ):
        raise BadInput(
            f"{source} has lap times without decimals, and figures in the cell behind: a decimal "
            "comma between commas?",
            "export it with semicolons or tabs between the cells",
        )


def _counted(rows: Sequence[tuple[int, list[str]]], head: _Head) -> Sequence[tuple[int, list[str]]]:
    """The rows of laps: where laps are numbered, not those without a number, as an average."""
    at = _place(head, "lap")
    if at is None:
        return rows
    numbered = [(n, row) for n, row in rows if at < len(row) and row[at].strip().isdigit()]
    return numbered if 2 * len(numbered) > len(rows) else rows


def pasted_laps(text: str) -> str:
    """What was pasted into a cell of lap times, as laps are typed: one lap a line, its number
    before it left out; of a table with headings the column of lap times."""
    lines = [one_line(line.replace("\t", " ")) for line in clean(text).split("\n")]
    lines = [line for line in lines if line]
    if len(lines) < 2:
        return " ".join(lines)
    try:
        table = read_lap_table(text, "what was pasted", LapsSaid())
        return "; ".join(lap if isinstance(lap, str) else show_lap(lap) for lap in table.laps)
    except BadInput:
        return "; ".join(_without_numbers(lines))


_NUMBERED: Final = re.compile(r"(\d{1,3})(?:[.:)]? |;) ?(\S.*)")


def _without_numbers(lines: list[str]) -> list[str]:
    """The lines without the numbers that count them, where each begins with the next number."""
    parted = [_NUMBERED.fullmatch(line) for line in lines]
    found = [(int(part[1]), part[2]) for part in parted if part and _is_time(part[2])]
    numbers = [number for number, _ in found]
    counted = numbers == list(range(min(numbers, default=0), min(numbers, default=0) + len(lines)))
    return [lap for _, lap in found] if counted else lines


def _head(lines: Sequence[str], said: LapsSaid, source: str) -> _Head:
    """The line of headings: the first with a lap-time column, and surer words before others."""
    found = []
    for n, line in enumerate(lines[:DEEPEST]):
        for delimiter in delimiters(line):
            names = [one_line(name) for name in cells(line, delimiter)]
            kinds = kinds_of(names, said)
            if "lap_time" in kinds or "lap" in kinds:
                found.append(_Head(n, delimiter, names, kinds))
    for head in sorted(found, key=lambda head: not _is_sure(head, said)):
        if "lap_time" in head.kinds and _has_times(lines, head, "lap_time"):
            return head
    for head in found:
        if _has_times(lines, head, "lap"):  # the column of times is called Lap
            others = ["" if kind == "lap_time" else kind for kind in head.kinds]
            return head._replace(kinds=["lap_time" if k == "lap" else k for k in others])
    known = [head for head in found if "lap_time" in head.kinds]
    if known:
        name = known[0].names[known[0].kinds.index("lap_time")]
        raise _no_lap_under(name, source)
    first = next(line for line in lines if line.strip())
    raise BadInput(
        f"{source} has no column of lap times that is known; its first line is “{_short(first)}”",
        "say which column has them, as in --columns “Zeit=lap_time”",
    )


def _short(line: str) -> str:
    text = one_line(line)
    return text if len(text) <= 60 else f"{text[:59]}…"


def _is_sure(head: _Head, said: LapsSaid) -> bool:
    name = head.names[head.kinds.index("lap_time")] if "lap_time" in head.kinds else ""
    return plain(name) in SURE or key_of(name) in said.columns


def _has_times(lines: Sequence[str], head: _Head, kind: str) -> bool:
    """Whether a lap time is under that heading. Whole numbers under `Lap` only count laps."""
    if kind not in head.kinds:
        return False
    at = head.kinds.index(kind)
    for _, row in every_cell(lines, head.line + 1, head.delimiter):
        lap = _lap(row[at], "") if at < len(row) else None
        if lap is not None and lap_of(lap).seconds and (kind != "lap" or not row[at].isdigit()):
            return True
    return False


def _lap(cell: str, mark: str) -> Kept | None:
    """The lap in that cell; None where it is empty. What cannot be read stays as it was written."""
    text = one_line(cell)
    if text in ("", "-", "–"):
        return None
    laps = read_laps(text)
    lap = laps[0] if len(laps) == 1 else text
    return lap if isinstance(lap, str) or not mark else f"{text} {mark}"


def _mark(row: Sequence[str], at: int | None) -> str:
    """The mark that a cell says: `In`, `pit out` …; "" for any other words."""
    if at is None or at >= len(row):
        return ""
    words = re.findall(r"[a-z]+", row[at].casefold())
    said = [word for word in words if word in MARKS]
    return said[0] if len(said) == 1 else ""


def _place(head: _Head, kind: str) -> int | None:
    return head.kinds.index(kind) if kind in head.kinds else None


def _wanted(
    rows: Iterable[tuple[int, list[str]]], head: _Head, said: LapsSaid, source: str
) -> list[tuple[int, list[str]]]:
    """The rows that a person wants; all of them where nothing was said."""
    key, value = said.only
    if not key:
        return list(rows)
    keys = [key_of(name) for name in head.names]
    if key not in keys:
        raise BadInput(
            f"{source} has no column “{key}”", f"its columns are {', '.join(head.names)}"
        )
    at = keys.index(key)
    found = [(n, row) for n, row in rows if at < len(row) and key_of(row[at]) == value]
    if not found:
        raise BadInput(f"{source} has no row with {head.names[at]} “{value}”", "check that value")
    return found


def _must_be_of_one_car(
    rows: Sequence[tuple[int, list[str]]], head: _Head, said: LapsSaid, source: str
) -> None:
    """BadInput where it has the laps of several cars or drivers and nobody said whose to take."""
    at = _place(head, "driver")
    if at is not None and not said.only[0]:
        who = list(dict.fromkeys(row[at].strip() for _, row in rows if at < len(row)))
        who = [name for name in who if name]
        if len(who) > 1:
            raise BadInput(
                f"{source} has the laps of {', '.join(who[:4])}{' …' if len(who) > 4 else ''}",
                f"say whose to take, as in --only “{head.names[at]}={who[0]}”",
            )
    at = _place(head, "lap")
    numbers = Counter(row[at].strip() for _, row in rows if at is not None and at < len(row))
    twice = next((n for n, times in numbers.items() if n.isdigit() and times > 1), "")
    is_lap = at is not None and "lap" in plain(head.names[at]).split()
    if twice and (is_lap or len(numbers) > 1):  # one `No` alone is that of the car
        raise BadInput(
            f"{source} has lap {twice} more than once: the laps of several cars?",
            "say whose to take, as in --only “No=27”",
        )


def _must_be_whole(text: str, head: _Head, source: str) -> None:
    """BadInput for half a file: a quotation mark that is not closed, a last line that breaks
    off."""
    if text.endswith(("\n", "\r")):
        return
    remedy = "export it again, whole"
    lines = clean(text).split("\n")
    try:
        if len(head.delimiter) == 1:
            list(csv.reader(lines[-1:], delimiter=head.delimiter, strict=True))
    except csv.Error:
        raise BadInput(f"{source} breaks off within a quotation mark", remedy) from None
    rows = [row for _, row in every_cell(lines, head.line + 1, head.delimiter)]
    at = head.kinds.index("lap_time")
    *before, last = [row[at].strip() if at < len(row) else "" for row in rows] or [""]
    decimals = {_decimals(cell) for cell in before if _is_time(cell)}
    if not last and rows and any(map(str.strip, rows[-1])) and len(rows[-1]) <= at:
        raise BadInput(f"{source} breaks off on its last line", remedy)
    if _is_time(last) and decimals and _decimals(last) < min(decimals):
        raise BadInput(f"{source} breaks off: its last lap is “{last}”", remedy)


def _is_time(cell: str) -> bool:
    laps = read_laps(cell)
    return len(laps) == 1 and lap_of(laps[0]).seconds is not None


def _decimals(cell: str) -> int:
    _, point, digits = cell.replace(",", ".").rpartition(".")
    return len(digits) if point else 0
