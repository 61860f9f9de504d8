"""The file of a bench recording: its columns in SI, read by numpy's own reader.

Header `time_s,displacement_mm,force_N` and optionally `temperature_C` and `run` (a number).
Other units go by the suffix of the header (`displacement_in`, `force_lbf`, `temperature_F`).
Commas, semicolons or tabs; with semicolons or tabs a decimal comma is read too. Lines above the
header are passed over: stroke and speed are found from the motion, never from what is said there.
A temperature may be blank where the logger was slower.
"""

from __future__ import annotations

import csv
import io
import os
import stat
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trackside.errors import BadSheet
from trackside.units import QUANTITIES

MOST_BYTES = 250_000_000
"""A larger file (some 10 million rows) is refused before it is read."""
HEADER = "time_s,displacement_mm,force_N[,temperature_C][,run]"

Floats = NDArray[np.float64]

_UNITS = {
    "time": ("s", "ms"),
    "displacement": ("mm", "in", "cm", "m"),
    "force": ("N", "lbf", "kgf", "kN"),
    "temperature": ("C", "F", "K"),
}
_NEEDED = ("time_s", "displacement_mm", "force_N")
_PREAMBLE = 100  # lines in which the header must come


@dataclass(frozen=True)
class Columns:
    """n samples: s, m, N, °C; temperature and run are None where the file has none."""

    source: str
    time: Floats
    displacement: Floats
    force: Floats
    temperature: Floats | None
    run: Floats | None
    first_line: int = 2

    def line_of(self, sample: int) -> int:
        """The line of that sample (from 0), if no line below the header was left blank."""
        return self.first_line + sample


@dataclass(frozen=True)
class _Layout:
    line: int
    delimiter: str
    decimal_comma: bool
    at: dict[str, int]
    scale: dict[str, tuple[float, float]]


def read_columns(path: Path) -> Columns:
    """The columns of a recording. BadSheet names the file, the line and the remedy."""
    layout = _layout(path.name, _head(path))
    try:
        table = _numbers(path, layout)
    except (ValueError, OverflowError) as reason:
        raise _culprit(path, layout) or _unreadable(path.name, reason) from None
    except OSError as reason:
        raise _unreadable(path.name, reason.strerror or reason) from None
    if not table.size:
        raise BadSheet(f"{path.name} has a header and no rows", "export the recording again")
    found = dict(zip(layout.at, np.ascontiguousarray(table.T), strict=True))
    for name, column in found.items():
        if name != "temperature" and not np.all(np.isfinite(column)):
            raise _culprit(path, layout) or _unreadable(path.name, f"{name} is not finite")
    for name, (factor, offset) in layout.scale.items():
        found[name] = found[name] * factor + offset
    return Columns(
        path.name, found["time"], found["displacement"], found["force"],
        found.get("temperature"), found.get("run"), layout.line + 1,
    )  # fmt: skip


def _numbers(path: Path, layout: _Layout) -> Floats:
    """The table of the layout's columns, in their order; a blank temperature is not a number."""

    def read(**more: Any) -> Floats:
        return np.loadtxt(
            _stream(path) if layout.decimal_comma else path,
            delimiter=layout.delimiter,
            skiprows=layout.line,
            usecols=list(layout.at.values()),
            encoding="utf-8-sig",
            ndmin=2,
            **more,
        )

    try:
        return read()
    except ValueError:
        if "temperature" not in layout.at:
            raise
    warmth = layout.at["temperature"]
    return read(converters={warmth: lambda cell: float(cell) if cell.strip() else np.nan})


def _unreadable(name: str, why: object) -> BadSheet:
    return BadSheet(f"{name} cannot be read ({why})", "export the recording again")


def _head(path: Path) -> str:
    """The first lines, once the file is known to be text of a size that can be read."""
    try:
        found = os.stat(path)
        if stat.S_ISDIR(found.st_mode):
            raise BadSheet(f"{path.name} is a folder", "name a file in it")
        if not stat.S_ISREG(found.st_mode):
            raise BadSheet(f"{path.name} is no file", "name a CSV file")
        if found.st_size > MOST_BYTES:
            raise BadSheet(
                f"{path.name} has {found.st_size / 1e6:.0f} MB, too much to be read at once",
                f"export fewer samples a second, or fewer runs: at most {MOST_BYTES / 1e6:.0f} MB",
            )
        with open(path, "rb") as file:
            head = file.read(65_536)
    except FileNotFoundError:
        raise BadSheet(f"there is no file {path}", "check its name and folder") from None
    except (OSError, ValueError) as reason:
        raise _unreadable(path.name, getattr(reason, "strerror", None) or reason) from None
    if head[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise BadSheet(f"{path.name} is UTF-16 text", "save it again as UTF-8")
    if b"\0" in head:
        raise BadSheet(f"{path.name} is not text", "export it as a text file")
    return head.decode("utf-8-sig", errors="replace")


def _layout(source: str, head: str) -> _Layout:
    lines = head.splitlines()
    filled = [n for n, line in enumerate(lines) if line.strip()]
    if not filled:
        raise BadSheet(f"{source} is empty", "export the recording again")
    first = next((n for n in filled if n < _PREAMBLE and _is_header(lines[n])), filled[0])
    delimiter = _delimiter(lines[first])
    names = _cells(lines[first], delimiter)
    at: dict[str, int] = {}
    scale: dict[str, tuple[float, float]] = {}
    for n, name in enumerate(names):
        quantity, unit = _column(name)
        if unit is None and quantity != "run":
            continue
        if quantity in at:
            raise BadSheet(
                f"{source} line {first + 1} names {quantity} twice", "keep one column of it"
            )
        at[quantity] = n
        if unit is not None:
            scale[quantity] = unit
    missing = [name for name in _NEEDED if name.partition("_")[0] not in at]
    if missing:
        raise BadSheet(
            f"{source} line {first + 1} has no column {', '.join(missing)}",
            f"the header is {HEADER}; units by suffix: displacement_in, force_lbf, temperature_F",
        )
    number = next((n for n in range(first + 1, len(lines)) if lines[n].strip()), None)
    if number is None:
        raise BadSheet(f"{source} has a header and no rows", "export the recording again")
    row = lines[number]
    cells = _cells(row, delimiter)
    if any(cell.strip() for cell in cells[len(names) :]):
        raise BadSheet(
            f"{source} line {number + 1} has {len(cells)} cells where the header has {len(names)}",
            "decimal commas in a comma-separated file? Save it with semicolons",
        )
    return _Layout(first + 1, delimiter, delimiter != "," and "," in row, at, scale)


def _delimiter(line: str) -> str:
    return max(";\t,", key=line.count)


def _cells(line: str, delimiter: str) -> list[str]:
    return next(csv.reader([line], delimiter=delimiter))


def _is_header(line: str) -> bool:
    """Whether the line names every column that is needed."""
    named = {quantity for quantity, unit in map(_column, _cells(line, _delimiter(line))) if unit}
    return {name.partition("_")[0] for name in _NEEDED} <= named


def _column(name: str) -> tuple[str, tuple[float, float] | None]:
    """The quantity that a header names, and its unit as `_unit` has it."""
    quantity, _, suffix = name.strip().partition("_")
    return quantity.casefold(), _unit(quantity.casefold(), suffix)


def _unit(quantity: str, suffix: str) -> tuple[float, float] | None:
    """(factor, offset) to SI of a unit written as the header writes it."""
    wanted = suffix.strip().casefold()
    known = next((u for u in _UNITS.get(quantity, ()) if u.casefold() == wanted), None)
    if known is None:
        return None
    if quantity == "time":
        return (1.0 if known == "s" else 1e-3), 0.0
    unit = QUANTITIES["length" if quantity == "displacement" else quantity].unit(known)
    return unit.factor, unit.offset


def _stream(path: Path) -> io.StringIO:
    """The text with decimal points for its decimal commas."""
    return io.StringIO(path.read_bytes().replace(b",", b".").decode("utf-8-sig"))


def _culprit(path: Path, layout: _Layout) -> BadSheet | None:
    """The first line that cannot be used, found by reading line by line."""
    with open(path, "rb") as file:
        for number, content in enumerate(file, start=1):
            if number <= layout.line:
                continue
            try:
                line = content.decode().partition("#")[0].strip("\r\n")
            except UnicodeDecodeError:
                return BadSheet(
                    f"{path.name} line {number} is not UTF-8 text", "save it again as UTF-8"
                )
            if not line.strip():
                continue
            cells = line.split(layout.delimiter)
            for name, column in layout.at.items():
                if column >= len(cells):
                    return BadSheet(
                        f"{path.name} line {number} has {len(cells)} cells where the header has "
                        "more",
                        "the recording may have been cut off: export it again",
                    )
                if why := _why_not(cells[column].strip(), name, layout):
                    remedy = "correct that cell, or leave the sample out"
                    if number == layout.line + 1:
                        remedy = "below the header come numbers; units go by its suffix"
                    return BadSheet(f"{path.name} line {number}: {name} {why}", remedy)
    return None


def _why_not(cell: str, name: str, layout: _Layout) -> str:
    if not cell:
        return "" if name == "temperature" else "is missing"
    try:
        value = float(cell.replace(",", ".") if layout.decimal_comma else cell)
    except ValueError:
        return f"“{cell[:40]}” is not a number"
    if name != "temperature" and not np.isfinite(value):
        return f"“{cell[:40]}” is not finite"
    return ""
