"""How a line of a sheet of cells is drawn: titles, labels, values, the caret, and a list at a cell.

Plain functions from what is to be seen to segments; `style` gives the style of a part by its name.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from rich.style import Style

from trackside.tui.widgets.cells import UNKNOWN, Block, Cell, Kind, Shown, fit
from trackside.tui.widgets.picking import Picking
from trackside.tui.widgets.typed import Typed

Styles = Callable[[str], Style]
LIST_HEIGHT = 8
"""Rows of a list that are seen at once, where there is room."""
LIST_WIDTH = 30
"""Cells that a list is wide, where its words need them and there is room."""


def title(block: Block, width: int, style: Styles) -> list[Segment]:
    """A block's title, in its colour, and a rule behind it."""
    text = set_cell_size(f" {block.title} ", min(width, cell_len(block.title) + 2))
    rule = "─" * (width - cell_len(text))
    return [Segment(text, style(block.role or "title")), Segment(rule, style("label"))]


def value(cell: Cell, shown: Shown, room: int, style: Styles, *, here: bool) -> list[Segment]:
    """What the cell shows in `room` cells, and its mark; `here` under the cursor. A choice keeps
    showing what holds while something else is half typed."""
    half = "" if cell.kind is Kind.CHOICE else shown.half_typed
    text, face = half or shown.text, style("value")
    ending = cell.ending(room - cell_len(text)) if text else ""
    if not text:
        text, face = UNKNOWN, style("last") + Style(italic=False)
    last = shown.beside(room - cell_len(text + ending) - 1)
    beside = cell_len(last) + 1 if last else 0
    if here:
        face = style("cursor")
    if ending:
        quiet = face if here else style("last") + Style(italic=False)
        rest = room - beside - cell_len(text)
        parts = [Segment(text, face), Segment(fit(ending, rest), quiet)]
    else:
        parts = [Segment(fit(text, room - beside), face)]
    dim = Segment(f" {last}" if last else "", style("last"))
    return [*parts, dim, Segment((shown.mark or " ")[:1], style("mark"))]


def editor(typed: Typed, room: int, style: Styles) -> list[Segment]:
    """What is being typed, with its caret."""
    face = style("cursor" if typed.marked else "edit")
    before, under, after = typed.window(room)
    after = set_cell_size(after, max(0, room - cell_len(before + under)))
    return [
        Segment(before, face),
        Segment(under, style("cursor")),
        Segment(after, face),
        Segment(" ", style("edit")),
    ]


@dataclass(frozen=True)
class OpenList:
    """Where a list stands on a sheet: its first line and column, its size, its first row."""

    line: int
    column: int
    width: int
    height: int
    first: int

    def row_at(self, x: int, y: int) -> int | None:
        """The number of the row there; None beside the list."""
        inside = 0 <= y - self.line < self.height and 0 <= x - self.column < self.width
        return self.first + y - self.line if inside else None


def placed(picking: Picking, line: int, column: int, width: int, height: int) -> OpenList | None:
    """The list of a cell whose value stands at `line` and `column` of a sheet of that size: below
    it, or above where there is more room. None where there is nothing to list."""
    if not picking.rows:
        return None
    wide = min(width, max(12, min(LIST_WIDTH, picking.widest + 2)))
    below, above = height - line - 1, line
    wanted = min(len(picking.rows), LIST_HEIGHT)
    high = min(wanted, max(below, above))
    if high < 1:
        return None
    first = max(0, min(picking.at - high // 2, len(picking.rows) - high))
    start = line + 1 if below >= min(wanted, above) else line - high
    return OpenList(start, max(0, min(column, width - wide)), wide, high, first)


def list_row(picking: Picking, number: int, width: int, style: Styles) -> Segment:
    """One row of the list; bars part it from the sheet, and a sign marks the row that is lit, so
    that both are seen without colour."""
    lit = number == picking.at
    text = fit(picking.label(picking.rows[number]), width - 2)
    return Segment(f"{'▸' if lit else '│'}{text}│", style("cursor" if lit else "list"))
