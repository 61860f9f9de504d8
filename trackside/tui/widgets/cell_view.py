"""Blocks of cells in columns, and a cursor on one of them: drawn line by line, so that a move
repaints two lines. What is typed in a cell is the business of `grid.Grid`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from rich.cells import cell_len
from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region, Size
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from trackside.tui.widgets import cell_lines
from trackside.tui.widgets.cells import LABEL_WIDTH, Block, Cell, Kind, Shown
from trackside.tui.widgets.places import Places


class CellView(Widget, can_focus=True):
    """The cells of a sheet. `show` is asked for a cell's content whenever it is drawn."""

    COMPONENT_CLASSES = {
        "grid--label",
        "grid--value",
        "grid--cursor",
        "grid--edit",
        "grid--list",
        "grid--mark",
        "grid--last",
        "grid--title",
        "grid--FL",
        "grid--FR",
        "grid--RL",
        "grid--RR",
    }

    @dataclass
    class Moved(Message, namespace="grid"):
        """The cursor stands on another cell."""

        path: str

    class KeysChanged(Message, namespace="grid"):
        """Other keys work now than before."""

    def __init__(
        self,
        show: Callable[[str], Shown],
        columns: int,
        *,
        form: bool,
        id: str | None,
        classes: str | None,
    ) -> None:
        super().__init__(id=id, classes=classes)
        self.form = form
        """Whether every key that prints is text, on numbers too."""
        self._show = show
        self.label_width = LABEL_WIDTH
        self.gap = 1
        self.columns = columns
        self.places = Places((), (), columns)
        self.path = ""
        self._top = 0

    # ── what is laid out ────────────────────────────────────────────────────────────────────

    def lay_out(self, blocks: Sequence[Block], cells: Sequence[Cell]) -> None:
        """Show these blocks, `columns` side by side; the cursor stays on its cell if it can."""
        self.places = Places(blocks, cells, self.columns)
        if self.path not in self.places.line_of:
            self.path = self.first(cells)
        self._scroll_to_cursor()
        self.refresh()
        self.post_message(self.KeysChanged())

    def first(self, cells: Sequence[Cell]) -> str:
        """Where the cursor comes to stand among these cells: on a form at the top, else on the
        first number, where the page's letters are commands. Empty when there is none."""
        numbers = [cell.path for cell in cells if cell.kind is Kind.NUMBER and not self.form]
        return next(iter([*numbers, *(cell.path for cell in cells)]), "")

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As many lines as the blocks take."""
        return self.places.lines if self.paths else 1

    def as_table(self) -> str:
        """Block, label and value of every cell, parted by tabs."""
        rows = []
        for cell in self.places.cells:
            shown = self._show(cell.path)
            text = shown.text + (cell.ending(len(cell.end) + 6) if shown.text else "")
            rows.append(f"{self.places.blocks[cell.block].title}\t{cell.label}\t{text}")
        return "\n".join(rows)

    def cell(self, path: str) -> Cell | None:
        """The cell of that path on the present sheet."""
        return self.places.by_path.get(path)

    @property
    def paths(self) -> tuple[str, ...]:
        """The paths of the cells on the sheet."""
        return tuple(self.places.by_path)

    # ── drawing ─────────────────────────────────────────────────────────────────────────────

    def _block_width(self) -> int:
        return max(12, (self.size.width - self.gap * (self.columns - 1)) // self.columns)

    def render_line(self, y: int) -> Strip:
        """One line of the sheet."""
        width = self._block_width()
        base = self.rich_style
        parts: list[Segment] = []
        at = 0
        for entry in self.places.on_line(y + self._top):
            x = self.places.column_of(entry) * (width + self.gap)
            if x > at:
                parts.append(Segment(" " * (x - at), base))
            parts += (
                cell_lines.title(self.places.blocks[entry], width, self._style)
                if isinstance(entry, int)
                else self._label_and_value(entry, width)
            )
            at = x + width
        return Strip(parts).adjust_cell_length(self.size.width, base)

    def _style(self, name: str) -> Style:
        return self.get_component_rich_style(f"grid--{name}")

    def _label_and_value(self, cell: Cell, width: int) -> list[Segment]:
        room = self.label_room(cell)
        label = Segment(cell_lines.fit(cell.label, room), self._style("label"))
        return [label, *self._value(cell, width - room - 1)]

    def label_room(self, cell: Cell) -> int:
        """Cells that the label of that cell takes: a longer one more, where its value has no use
        for them."""
        shown = self._show(cell.path)
        text = shown.half_typed or shown.text
        value = max(LABEL_WIDTH, cell_len(text + cell.ending(len(cell.end) + 6)))
        free = self._block_width() - value - 2
        return max(self.label_width, min(cell_len(cell.label) + 1, free))

    def _value(self, cell: Cell, room: int) -> list[Segment]:
        here = cell.path == self.path and self.has_focus
        return cell_lines.value(cell, self._show(cell.path), room, self._style, here=here)

    def repaint(self, path: str) -> None:
        """Draw the line of that cell again."""
        line = self.places.line_of.get(path)
        if line is not None:
            self.refresh(Region(0, line - self._top, self.size.width, 1))

    # ── moving ──────────────────────────────────────────────────────────────────────────────

    def go(self, path: str) -> None:
        """Put the cursor on that cell."""
        if path == self.path or path not in self.places.line_of:
            return
        old, self.path = self.path, path
        if not self._scroll_to_cursor():
            self.repaint(old)
            self.repaint(path)
        self.post_message(self.Moved(path))
        self.post_message(self.KeysChanged())

    def _scroll_to_cursor(self) -> bool:
        line, height = self.places.line_of.get(self.path, 0), max(1, self.size.height)
        top = min(self._top, max(0, line - 1))
        if line >= top + height:
            top = line - height + 1
        if top == self._top:
            return False
        self._top = top
        self.refresh()
        return True

    def on_resize(self) -> None:
        """Keep the cursor's cell in sight."""
        self._top = 0
        self._scroll_to_cursor()

    def step(self, lines: int, columns: int = 0) -> None:
        """Move by lines within a column of blocks, or to the block beside."""
        self.go(self.places.beside(self.path, lines, columns))
