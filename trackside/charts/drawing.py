"""A drawing: lines of spans, each span with the role that a screen gives a style to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from trackside.charts.ink import INKS
from trackside.charts.words import fit

MARKERS: Final[dict[str, str]] = {
    "FL": "●", "FR": "○", "RL": "■", "RR": "□", "before": "◇", "after": "◆",
    "bump": "▲", "rebound": "▼", "band": "·", "other": "×",
}  # fmt: skip
ASCII_MARKERS: Final[dict[str, str]] = {
    "FL": "o", "FR": "x", "RL": "#", "RR": "+", "before": "s", "after": "*",
    "bump": "^", "rebound": "v", "band": ".", "other": "%",
}  # fmt: skip
SERIES_ROLES: Final = tuple(MARKERS)
ROLES: Final = (*SERIES_ROLES, "grid", "axis", "text", "zero", "mark")


@dataclass(frozen=True)
class Span:
    """Neighbouring cells of one role (one of ROLES)."""

    text: str
    role: str


@dataclass(frozen=True)
class Drawing:
    """Lines of spans; every line fills the same number of cells."""

    lines: tuple[tuple[Span, ...], ...]

    def plain(self) -> str:
        """The drawing as text, one line each."""
        return "\n".join("".join(span.text for span in line) for line in self.lines)


class Grid:
    """Cells to write on: a rectangle of characters and the role of each."""

    def __init__(self, width: int, height: int, ink: str = "braille") -> None:
        self.width, self.height = max(width, 0), max(height, 0)
        self.ink = INKS[ink]
        self.cells = [[" "] * self.width for _ in range(self.height)]
        self.roles = [["text"] * self.width for _ in range(self.height)]

    def put(self, row: int, column: int, written: Sequence[str], role: str) -> None:
        """Write cells from `column` on; what would stand outside is left out."""
        if not 0 <= row < self.height:
            return
        written = written[max(-column, 0) : max(self.width - column, 0)]
        column = max(column, 0)
        self.cells[row][column : column + len(written)] = written
        self.roles[row][column : column + len(written)] = [role] * len(written)

    def say(self, row: int, column: int, text: str, role: str = "text", room: int = 9999) -> int:
        """Write `text` from `column` on, cut to `room` cells; returns the cells it took."""
        written = fit(text, min(room, self.width - column), self.ink.plain)
        self.put(row, column, written, role)
        return len(written)

    def drawing(self) -> Drawing:
        """What was written, neighbours of one role joined."""
        lines = []
        for cells, roles in zip(self.cells, self.roles, strict=True):
            spans, start = [], 0
            for role, run in groupby(roles):
                end = start + len(list(run))
                spans.append(Span("".join(cells[start:end]), role))
                start = end
            lines.append(tuple(spans))
        return Drawing(tuple(lines))


def empty(width: int, height: int, sentence: str, ink: str = "braille") -> Drawing:
    """A bare frame of that size with a sentence in its middle, for when nothing can be drawn."""
    grid = Grid(width, height, ink)
    if width >= 2 and height >= 2:
        across, down, corners = ("-", "|", "++++") if grid.ink.plain else ("─", "│", "┌┐└┘")
        for row, left, right in ((0, *corners[:2]), (height - 1, *corners[2:])):
            grid.put(row, 0, [left, *across * (width - 2), right], "axis")
        for row in range(1, height - 1):
            grid.put(row, 0, down, "axis")
            grid.put(row, width - 1, down, "axis")
    if height >= 3 or height == 1:
        margin = 1 if height >= 3 else 0
        written = fit(sentence, width - 2 * margin, grid.ink.plain)
        grid.put(height // 2, (width - len(written)) // 2, written, "text")
    return grid.drawing()
