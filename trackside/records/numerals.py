"""How a file writes its numbers: which mark is the decimal one, and which groups by thousands.

One file has one way. A cell with both marks, with a digit count that no thousand has, or with a
zero in front says which; a file in which none does may say it as a whole, or is refused.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from trackside.errors import BadNumber
from trackside.units import clean, read_number

_SPACES = str.maketrans("", "", " '\u00a0\u2009\u202f’")
_PLAIN = re.compile(r"[+\-−–]?[\d.,]*\d[\d.,]*(?:[eE][+-]?\d+)?")
_GROUPED = re.compile(r"[+\-−–]?\d{1,3}(?:([.,])\d{3})(?:\1\d{3})*")
_LARGEST_BARE = 100.0


def looks_like_a_number(cell: str) -> bool:
    """Whether a cell holds digits the way a number does."""
    return bool(_PLAIN.fullmatch(cell.translate(_SPACES)))


def group_mark(columns: Iterable[Iterable[str]]) -> str:
    """The mark that groups by thousands in the columns of a file, "." or ","; empty where there is
    none. BadNumber, with the cell, where that can be read in two ways.
    """
    decimal: set[str] = set()
    mixed: list[tuple[str, list[str], float]] = []
    for column in columns:
        bare, grouped = 0.0, dict[str, list[str]]()
        for raw in column:
            cell = raw.translate(_SPACES).lstrip("+-−–")
            if not _PLAIN.fullmatch(cell):
                continue
            mark = max(",.", key=cell.rfind) if "," in cell or "." in cell else ""
            if not mark:
                bare = max(bare, abs(float(cell)))
            elif cell.count(mark) > 1:
                decimal.add("." if mark == "," else ",")
            elif _GROUPED.fullmatch(cell) and not cell.startswith("0"):
                grouped.setdefault(mark, []).append(cell)
            else:
                decimal.add(mark)
        mixed += [(mark, found, bare) for mark, found in grouped.items()]
    if len(decimal) > 1:
        raise BadNumber("both . and , are decimal marks in it", "use one of them")
    if decimal:
        return "." if decimal == {","} else ","
    for mark, found, bare in mixed:
        if bare and (group := _by_size(mark, found, bare)):
            return group
    marks = {mark: found[0] for mark, found, _ in mixed}
    if len(marks) > 1:
        raise BadNumber(
            f"“{clean(marks[','])}” and “{clean(marks['.'])}” can be read in two ways",
            "use one decimal mark, no grouping",
        )
    return ""


def _by_size(mark: str, found: list[str], bare: float) -> str:
    """A column with bare numbers beside 1.250, which is a thousand where the others are hundreds;
    with three digits in front it is a decimal. (Fixed decimals would mark every cell.)"""
    fronts = [len(cell.split(mark)[0]) for cell in found]
    if max(fronts) > 2:
        return "." if mark == "," else ","
    if bare >= _LARGEST_BARE:
        return mark
    raise BadNumber(
        f"“{clean(found[0])}” can be read in two ways", "use one decimal mark, no grouping"
    )


def number(cell: str, group: str) -> float:
    """The number in a cell of a file that groups by that mark; BadNumber if there is none."""
    text = cell.strip()
    if group and group in text:
        compact = text.translate(_SPACES)
        whole = re.split(r"[eE]" if "e" in compact.casefold() else r"$^", compact)[0]
        front = whole.split("." if group == "," else ",")[0]
        if not _GROUPED.fullmatch(front):
            raise BadNumber(f"“{clean(cell)}” is not a number", "type it like 12.5 or 12,5")
        text = compact.replace(group, "")
    return read_number(text)
