"""Reading a dyno sheet from the table of a machine, or from the program's own.

The program's own header is `position,direction,speed_mm_s,force_N` and optionally `oil_C` and
`preload_position`; other units go by its suffix. Its forces are free of gas force unless a remark
says `# gas force still in it`. Of any other table nobody knows that until a remark or a person says
so (`gas_in` None). Where a direction has no word for it, the sign of speed or force decides it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby, pairwise
from pathlib import PurePath
from typing import Literal, NamedTuple

from trackside.errors import BadNumber, BadSheet
from trackside.records.dyno import DynoRow, DynoSheet
from trackside.records.headings import DIRECTIONS, HARD, SOFT, factor
from trackside.records.numerals import group_mark, looks_like_a_number, number
from trackside.records.sheet_lines import Line, Said, Table, read_table
from trackside.records.sheet_slips import refuse_slips
from trackside.records.sheet_warning import SheetWarning

Direction = Literal["bump", "rebound"]
MOST_SPEEDS = 200
"""A run of more points, its direction told by a sign, is a trace over the stroke."""
_COUNT = re.compile(r"([-+\d.,' ]+?)\s*(?:clicks?|clk|out)?", re.IGNORECASE)
_WARNING = re.compile(r"#\s*(serious )?warning (\w+)(?: at ([\d.]+))?: (.*)")
_GAS_FREE = re.compile(r"not (?:been )?included|excluded|gas[- ]?free|without gas")
_GAS_STAYS = re.compile(
    r"not (?:been )?(?:taken out|removed|subtracted|compensated)|still in|included|with gas"
)
_GAS_GONE = re.compile(r"taken out|removed|subtracted|compensated")


def gas_remark(line: str) -> bool | None:
    """Whether a line says that the gas force is still in the forces; None where it says nothing."""
    low = line.casefold()
    if "gas" not in low:
        return None
    if _GAS_FREE.search(low):
        return False
    if _GAS_STAYS.search(low):
        return True
    return False if _GAS_GONE.search(low) else None


def read_sheet(text: str, source: str = "sheet", said: Said | None = None) -> DynoSheet:
    """The sheet of a text. BadSheet names `source`, the line and the remedy."""
    return together([(text, source)], said or Said())


def together(files: Sequence[tuple[str, str]], said: Said) -> DynoSheet:
    """One sheet of several texts with their names: a file for each direction, or each position."""
    parts = [_part(text, source, said) for text, source in files]
    source = " + ".join(part.source for part in parts)
    gas = {part.gas_in for part in parts}
    if len(gas) > 1:
        told = {True: "holds the gas force", False: "does not", None: "does not say"}
        raise BadSheet(
            f"{parts[0].source} {told[parts[0].gas_in]}, and another file otherwise",
            "give files that are alike",
        )
    ends = {part.counted_from for part in parts}
    signs = [part.rebound_sign for part in parts if part.of_direction("rebound")]
    return parts[0].model_copy(update={
        "source": source,
        "rows": tuple(row for part in parts for row in part.rows),
        "warnings": tuple(dict.fromkeys(w for part in parts for w in part.warnings)),
        "rebound_sign": min(signs, default=1),
        "counted_from": ends.pop() if len(ends) == 1 else None,
    })  # fmt: skip


class _Point(NamedTuple):
    line: int
    row: DynoRow


def _part(text: str, source: str, said: Said) -> DynoSheet:
    table = read_table(text, source, said)
    directed = _with_directions(table, source, said)
    read = _Numbers(table, source)
    places = _Places(directed.lines, source, said, read.group)
    signed = [read.point(line, places) for line in directed.lines]
    points, sign = _resisting(signed, source, directed.flips)
    first = table.rows[0]
    refuse_slips(points, first.speed_unit, first.force_unit, source)
    gas = next((g for _, words in table.words if (g := gas_remark(words)) is not None), None)
    warnings = [*_remarks(table), *_cut_off(text, table), *directed.warnings, *places.warnings]
    return DynoSheet(
        source=source,
        rebound_sign=sign,
        rows=tuple(point.row for point in points),
        counted_from=places.counted_from,
        gas_in=False if gas is None and table.own else gas,
        warnings=tuple(warnings),
    )


def warning_remark(warning: SheetWarning) -> str:
    """A warning as a remark in a table of the program's own, which reading finds again."""
    serious = "serious " if warning.serious else ""
    at = "" if warning.position is None else f" at {warning.position:g}"
    return f"# {serious}warning {warning.name}{at}: {warning.words}"


def _remarks(table: Table) -> Iterator[SheetWarning]:
    """The warnings that a table of the program's own carries in its remarks."""
    for _, words in table.words:
        if match := _WARNING.fullmatch(words.strip()):
            serious, name, position, told = match.groups()
            yield SheetWarning(
                name=name,
                serious=bool(serious),
                position=float(position) if position else None,
                words=told,
            )


def _cut_off(text: str, table: Table) -> Iterator[SheetWarning]:
    """The last line of a file that ends in it, when it lacks a cell or a decimal that every other
    line has: the number it ends with may be half of one."""
    end, last = text[-1:], table.rows[-1]
    others = [row for row in table.rows if row.line != last.line]
    if end in ("\n", "\r") or last.line != len(text.splitlines()) or not others:
        return
    for kind in ("position", "speed", "force", "oil", "preload"):
        written = getattr(last, kind)
        each = [getattr(row, kind) for row in others]
        decimals = min(map(_decimals, each))
        if (not written and all(each)) or (
            written and text.endswith(written) and _decimals(written) < decimals
        ):
            words = text.splitlines()[-1].strip()[:40]
            yield SheetWarning(name="last_line_short", serious=True, words=words)
            return


def _decimals(figure: str) -> int:
    return len(figure.replace(",", ".").partition(".")[2])


# ── directions ──────────────────────────────────────────────────────────────────────────────────


class _Directed(NamedTuple):
    """Lines that all have a direction; `flips` where a sign decided it, and force may then be
    negative in bump."""

    lines: list[Line]
    flips: bool
    warnings: tuple[SheetWarning, ...]


def _with_directions(table: Table, source: str, said: Said) -> _Directed:
    """Every line with its direction: by its column or cell, a title above it, the sign of speed or
    force, the file's name."""
    for line in table.rows:
        if (line.direction or table.own) and line.direction not in ("bump", "rebound"):
            raise BadSheet(
                f"{source} line {line.line}: direction “{line.direction}”", "write bump or rebound"
            )
    signed = [line for line in table.rows if not line.direction and not line.context]
    way = _by_sign(signed, source, said, table) if signed else None
    lines = [
        line._replace(
            direction=line.direction or line.context or (way.direction(line) if way else "")
        )
        for line in table.rows
    ]
    if way is None:
        return _Directed(lines, False, ())
    _refuse_trace(lines, source)
    return _Directed(lines, bool(way.column), way.warnings)


class _Way(NamedTuple):
    """Which column's sign parts the directions, which of them is positive, and what is said of it.
    `column` is empty where the file's name says the one direction of all."""

    column: str
    positive: str
    warnings: tuple[SheetWarning, ...]

    def direction(self, line: Line) -> str:
        """The direction of one line."""
        if not self.column:
            return self.positive
        negative = getattr(line, self.column).lstrip().startswith(("-", "−", "–"))
        other = "rebound" if self.positive == "bump" else "bump"
        return other if negative else self.positive


def _by_sign(lines: Sequence[Line], source: str, said: Said, table: Table) -> _Way:
    for column in ("speed", "force"):
        down = sum(getattr(line, column).lstrip().startswith(("-", "−", "–")) for line in lines)
        if 0 < down < len(lines):
            positive = said.positive or "bump"
            doubt = SheetWarning(name="direction_by_sign", words=f"{column} {positive}")
            return _Way(column, positive, () if said.positive else (doubt,))
    words = re.findall(r"[a-z]+", PurePath(source).stem.casefold())
    named = {DIRECTIONS[word] for word in words if word in DIRECTIONS and len(word) > 1}
    if len(named) == 1:
        direction = named.pop()
        return _Way("", direction, (SheetWarning(name="direction_by_name", direction=direction),))
    raise BadSheet(
        f"{source} line {table.header_line} has no column direction, and neither its speeds nor "
        "its forces change sign",
        "write bump or rebound in a line above the table, or in the file's name",
    )


def _refuse_trace(lines: Iterable[Line], source: str) -> None:
    runs: dict[tuple[str, str, str], int] = {}
    for line in lines:
        run = line.position, line.direction, line.preload
        runs[run] = runs.get(run, 0) + 1
    if max(runs.values(), default=0) > MOST_SPEEDS:
        raise BadSheet(
            f"{source} has more than {MOST_SPEEDS} points of one run: it is a recording over the "
            "stroke, not a table of peak speeds",
            f"trackside dyno runs {source} --position P reduces it, from "
            "time_s,displacement_mm,force_N",
        )


# ── numbers ─────────────────────────────────────────────────────────────────────────────────────


class _Numbers:
    """How this file writes its numbers."""

    def __init__(self, table: Table, source: str) -> None:
        self.source = source
        columns = [
            [getattr(line, name) for line in table.rows]
            for name in ("speed", "force", "oil", "position", "preload")
        ]
        try:
            self.group = group_mark(columns)
        except BadNumber as error:
            raise BadSheet(f"{source}: {error.cause}", error.remedy) from None

    def point(self, line: Line, places: _Places) -> _Point:
        """One line in SI, its force as it was signed."""
        speed, _ = factor("speed", line.speed_unit)
        force, _ = factor("force", line.force_unit)
        oil = None
        if line.oil:
            times, offset = factor("oil", line.oil_unit or "°C")
            oil = self._number(line, line.oil, "oil temperature") * times + offset
        return _Point(
            line.line,
            DynoRow(
                position=places.of(line),
                direction="bump" if line.direction == "bump" else "rebound",
                speed=abs(self._number(line, line.speed, "speed")) * speed,
                force=self._number(line, line.force, "force") * force,
                oil_C=oil,
                preload_position=(
                    self._number(line, line.preload, "preload position") if line.preload else None
                ),
            ),
        )

    def _number(self, line: Line, cell: str, name: str) -> float:
        return _number(self.source, line.line, cell, name, self.group)


def _number(source: str, line: int, cell: str, name: str, group: str) -> float:
    try:
        value = number(cell, group)
    except BadNumber as error:
        raise BadSheet(f"{source} line {line}: {name} {error.cause}", "correct that cell") from None
    if not math.isfinite(value):
        raise BadSheet(f"{source} line {line}: {name} is not finite", "correct that cell")
    return value


class _Places:
    """The positions of a file, its words for the ends of an adjuster among them."""

    def __init__(self, lines: Sequence[Line], source: str, said: Said, group: str) -> None:
        self.source, self.said, self.group = source, said, group
        self.counted_from: Literal["hard", "soft"] | None = None
        self.warnings: tuple[SheetWarning, ...] = ()
        words = {_end(line.position) for line in lines} - {""}
        counts = {line.position.strip() for line in lines if not _end(line.position)}
        stated = {counted for counted, _ in said.ends.values()} - {None}
        self._assumed: Literal["hard", "soft"] = "hard"
        if "hard" in words and any(looks_like_a_number(c) and not _zero(c) for c in counts):
            self._assumed = "soft" if any(map(_zero, counts)) else "hard"
        if words and not stated:
            self.counted_from = self._assumed
            self.warnings = (SheetWarning(name="counting_by_words", words=self._assumed),)

    def of(self, line: Line) -> float:
        """The position of one line as counted."""
        text = line.position or self.said.position
        if not text.strip():
            raise BadSheet(
                f"{self.source} line {line.line} has no position",
                "write Position: 8 in a line above the table; on the command line, --position 8",
            )
        if end := _end(text):
            return self._of_end(line, text, end)
        match = _COUNT.fullmatch(text.strip())
        return _number(
            self.source, line.line, match[1].strip() if match else text, "position", self.group
        )

    def _of_end(self, line: Line, text: str, end: str) -> float:
        counted, clicks = self.said.ends.get(line.direction, (None, None))
        if end == (counted or self._assumed):
            return 0.0
        if clicks is None:
            raise BadSheet(
                f"{self.source} line {line.line}: position “{text.strip()}” is at the far end, and "
                "how many clicks the adjuster has is not known",
                "write the count; on the command line, --clicks N",
            )
        return float(clicks)


def _end(text: str) -> str:
    word = " ".join(text.casefold().split())
    return "hard" if word in HARD else "soft" if word in SOFT else ""


def _zero(count: str) -> bool:
    return bool(re.fullmatch(r"0+(?:[.,]0*)?(?:\s*clicks?)?", count))


# ── signs ───────────────────────────────────────────────────────────────────────────────────────


def _resisting(
    points: Sequence[_Point], source: str, flips: bool
) -> tuple[list[_Point], Literal[1, -1]]:
    """The points with force positive where the damper resists, and the sign of rebound: −1 where it
    was negative in the file. With gas in them the slow rows may push: they stay, below zero.

    BadSheet for a row of the other sign that is not slow, and for bump that is negative, unless a
    sign said which direction is bump (`flips`).
    """
    found, signs = list(points), dict[str, int]()
    for direction in ("bump", "rebound"):
        mine = [point for point in points if point.row.direction == direction]
        signs[direction] = sign = _sign_of(mine)
        if sign < 0 and direction == "bump" and not flips:
            down = next(point for point in mine if point.row.force < 0)
            raise BadSheet(
                f"{source} line {down.line}: bump forces are negative",
                "bump is positive; rebound may be negative. Are the directions swapped?",
            )
        _refuse_odd(mine, sign, direction, source)
    for n, (line, row) in enumerate(found):
        found[n] = _Point(line, row._replace(force=row.force * signs[row.direction]))
    bump = signs["bump"] if any(p.row.direction == "bump" for p in points) else 1
    return found, -1 if signs["rebound"] * bump < 0 else 1


def _sign_of(points: Sequence[_Point]) -> int:
    """The sign that all forces have; of both, that in which force grows with speed."""
    signs = {-1 if point.row.force < 0.0 else 1 for point in points if point.row.force}
    if len(signs) == 1:
        return signs.pop()
    grown = sum(run[-1].row.force - run[0].row.force for run in _runs(points))
    if not grown:
        grown = sum(point.row.force for point in points)
    return -1 if grown < 0 else 1


def _runs(points: Sequence[_Point]) -> Iterator[list[_Point]]:
    """The points of each position, by speed."""

    def run(point: _Point) -> tuple[float, float]:
        preload = point.row.preload_position
        return point.row.position, -1.0 if preload is None else preload

    ordered = sorted(points, key=lambda point: (*run(point), point.row.speed))
    for _, found in groupby(ordered, run):
        yield list(found)


def _refuse_odd(points: Sequence[_Point], sign: int, direction: str, source: str) -> None:
    """Rows that push are the slowest of their run; a faster one has the wrong sign."""
    for run in _runs(points):
        for slower, point in pairwise(run):
            if sign * point.row.force < 0 < sign * slower.row.force and slower.row.speed > 0:
                raise BadSheet(
                    f"{source} line {point.line}: this {direction} force has the other sign",
                    f"give all {direction} forces one sign",
                )
