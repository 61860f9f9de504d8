"""A sheet of cells with its own cursor: one widget, whatever the number of values.

One focusable widget draws every cell itself, line by line: a move repaints two lines.
A key that types begins in the cell under the cursor; leaving the cell keeps what was typed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.geometry import Region, Size
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from trackside.tui.widgets.cells import Block, Cell, Shown, fit
from trackside.tui.widgets.places import Places
from trackside.units import one_line

BEGIN_NUMBER = frozenset("0123456789.,+-−–")


class Grid(Widget, can_focus=True):
    """Blocks of cells in columns. `show` is asked for a cell's content whenever it is drawn."""

    COMPONENT_CLASSES = {
        "grid--label",
        "grid--value",
        "grid--cursor",
        "grid--edit",
        "grid--mark",
        "grid--last",
        "grid--title",
        "grid--FL",
        "grid--FR",
        "grid--RL",
        "grid--RR",
    }

    @dataclass
    class Left(Message):
        """A cell was left after typing: `text` is to be kept at `path`."""

        path: str
        text: str

    @dataclass
    class Moved(Message):
        """The cursor stands on another cell."""

        path: str

    class Locked(Message):
        """A key would have typed, but the sheet is only to be read."""

    @dataclass
    class Typing(Message):
        """The text under the caret changed; empty `text` with `done` when typing ended."""

        path: str
        text: str
        done: bool = False

    def __init__(
        self,
        show: Callable[[str], Shown],
        columns: int = 2,
        *,
        commands: frozenset[str] = frozenset(),
        id: str | None = None,
        classes: str | None = None,
    ) -> None:
        super().__init__(id=id, classes=classes)
        self.commands = commands
        """Keys that stay commands; any other character begins typing in a cell of words."""
        self._show = show
        self.label_width = 12
        self.gap = 1
        self.columns = columns
        self.places = Places((), (), columns)
        self.path = ""
        self.walk: tuple[str, ...] = ()
        """The order in which Enter moves on; empty: downwards."""
        self.locked = False
        """Whether it is only to be read."""
        self.buffer: str | None = None
        self.caret = 0
        self.marked = False
        """Whether the text that stood in the cell is marked: the first character typed takes its
        place, a movement goes on from it."""
        self.handing = False
        """Whether what was typed is on its way to the page, which takes the mark away."""
        self._top = 0

    # ── what is laid out ────────────────────────────────────────────────────────────────────

    def lay_out(self, blocks: Sequence[Block], cells: Sequence[Cell]) -> None:
        """Show these blocks, `columns` side by side; the cursor stays on its cell if it can, and
        so does what is being typed there, else it is handed up first."""
        if self.path not in {cell.path for cell in cells}:
            self.leave()
        self.places = Places(blocks, cells, self.columns)
        if self.path not in self.places.line_of:
            self.path = next(iter(self.paths), "")
        self._scroll_to_cursor()
        self.refresh()

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As many lines as the blocks take."""
        return self.places.lines if self.paths else 1

    def as_table(self) -> str:
        """Block, label and value of every cell, parted by tabs."""
        rows = []
        for cell in self.places.cells:
            shown = self._show(cell.path)
            rows.append(f"{self.places.blocks[cell.block].title}\t{cell.label}\t{shown.text}")
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
                self._title(self.places.blocks[entry], width)
                if isinstance(entry, int)
                else self._value(entry, width)
            )
            at = x + width
        return Strip(parts).adjust_cell_length(self.size.width, base)

    def _style(self, name: str) -> Style:
        return self.get_component_rich_style(f"grid--{name}")

    def _title(self, block: Block, width: int) -> list[Segment]:
        style = self._style(block.role) if block.role else self._style("title")
        text = set_cell_size(f" {block.title} ", min(width, cell_len(block.title) + 2))
        rule = "─" * (width - cell_len(text))
        return [Segment(text, style), Segment(rule, self._style("label"))]

    def _value(self, cell: Cell, width: int) -> list[Segment]:
        room = width - self.label_width - 1
        label = Segment(set_cell_size(cell.label, self.label_width), self._style("label"))
        here = cell.path == self.path and self.has_focus
        if here and self.buffer is not None:
            return [label, *self._editor(room), Segment(" ", self._style("edit"))]
        shown = self._show(cell.path)
        text, style = shown.half_typed or shown.text, self._style("value")
        beside = min(room // 2, room - cell_len(text) - 1)
        if not text:
            text, style, beside = shown.last or "·", self._style("last"), 0
        elif shown.last in ("", text) or room < 20 or beside < 6:
            beside = 0
        return [
            label,
            Segment(fit(text, room - beside), self._style("cursor") if here else style),
            Segment(fit(f" {shown.last}", beside), self._style("last")),
            Segment((shown.mark or " ")[:1], self._style("mark")),
        ]

    def _editor(self, room: int) -> list[Segment]:
        text = self.buffer or ""
        start = max(0, self.caret - room + 1)
        visible = text[start:]
        while cell_len(visible[: self.caret - start]) > room - 1:
            start += 1
            visible = text[start:]
        style, caret = self._style("cursor" if self.marked else "edit"), self._style("cursor")
        before = visible[: self.caret - start]
        under = visible[self.caret - start : self.caret - start + 1] or " "
        after = visible[self.caret - start + 1 :]
        rest = max(0, room - cell_len(before) - cell_len(under))
        return [
            Segment(before, style),
            Segment(under, caret),
            Segment(set_cell_size(after, rest), style),
        ]

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

    def step(self, lines: int, columns: int) -> None:
        """Move by lines within a column of blocks, or to the block beside."""
        self.go(self.places.beside(self.path, lines, columns))

    def advance(self) -> None:
        """To the next cell: along the walk-round when there is one, else down."""
        if self.path in self.walk:
            after = self.walk.index(self.path) + 1
            if after < len(self.walk):
                self.go(self.walk[after])
                return
            self.walk = ()
        self.step(1, 0)

    # ── typing ──────────────────────────────────────────────────────────────────────────────

    def edit(self, text: str | None = None) -> None:
        """Begin typing in the cell, from `text` or from what it holds."""
        if not self.path:
            return
        if self.locked:
            self.post_message(self.Locked())
            return
        shown = self._show(self.path)
        self.buffer = (shown.half_typed or shown.text) if text is None else text
        self.caret = len(self.buffer)
        self.marked = text is None and bool(self.buffer) and not shown.half_typed
        self._typed()

    def leave(self) -> None:
        """End typing: what stands in the cell is handed up to be kept."""
        if self.buffer is None:
            return
        text, self.buffer = self.buffer, None
        self.repaint(self.path)
        self._hand_up(one_line(text))
        self.post_message(self.Typing(self.path, "", done=True))

    def _hand_up(self, text: str) -> None:
        self.handing = True
        self.post_message(self.Left(self.path, text))

    def _typed(self) -> None:
        self.repaint(self.path)
        self.post_message(self.Typing(self.path, self.buffer or ""))

    def on_blur(self) -> None:
        """Leaving the sheet leaves the cell."""
        self.leave()

    def on_paste(self, event: events.Paste) -> None:
        """Paste into the cell."""
        event.stop()
        text = one_line(event.text)
        if self.buffer is None:
            self.edit(text)
        else:
            self._insert(text)

    def on_click(self, event: events.Click) -> None:
        """A click puts the cursor there; a second click begins typing."""
        self.leave()
        column = event.x // (self._block_width() + self.gap)
        path = self.places.at(event.y + self._top, column)
        if path:
            if path == self.path and event.chain > 1:
                self.edit()
            self.go(path)

    def on_key(self, event: events.Key) -> None:
        """Type, move, or let the key pass on to the screen's commands."""
        handled = self._typing_key(event) if self.buffer is not None else self._moving_key(event)
        if handled:
            event.stop()
            event.prevent_default()

    def _moving_key(self, event: events.Key) -> bool:
        moves = {"up": (-1, 0), "down": (1, 0), "left": (0, -1), "right": (0, 1)}
        if event.key in moves:
            self.step(*moves[event.key])
        elif event.key == "enter":
            if self.path in self.walk:
                self.advance()
            else:
                self.edit()
        elif event.key in ("delete", "backspace"):
            if self.locked:
                self.post_message(self.Locked())
            else:
                self._hand_up("")
        elif event.character and event.is_printable and self._begins(event.character):
            self.edit(event.character)
        else:
            return False
        return True

    def _begins(self, character: str) -> bool:
        """Whether a key begins typing in the cell: what can begin a number in any, what is no
        command in one of words."""
        cell = self.cell(self.path)
        if cell is None or character in self.commands:
            return False
        if character in BEGIN_NUMBER:
            return cell.numeric or character.isdigit()
        return not cell.numeric

    def _typing_key(self, event: events.Key) -> bool:
        key, text = event.key, self.buffer or ""
        marked, self.marked = self.marked, False
        if marked and key in ("backspace", "delete"):
            self.buffer, self.caret = "", 0
            self._typed()
        elif key == "enter":
            self.leave()
            self.advance()
        elif key == "escape":
            self.leave()
        elif key in ("up", "down"):
            self.leave()
            self.step(-1 if key == "up" else 1, 0)
        elif key in ("tab", "shift+tab"):
            self.leave()
            return False
        elif key == "left":
            self.caret = max(0, self.caret - 1)
            self._typed()
        elif key == "right":
            self.caret = min(len(text), self.caret + 1)
            self._typed()
        elif key in ("home", "end"):
            self.caret = 0 if key == "home" else len(text)
            self._typed()
        elif key == "backspace" and self.caret:
            self.buffer = text[: self.caret - 1] + text[self.caret :]
            self.caret -= 1
            self._typed()
        elif key == "delete":
            self.buffer = text[: self.caret] + text[self.caret + 1 :]
            self._typed()
        elif event.is_printable and event.character:
            if marked:
                self.buffer, self.caret = "", 0
            self._insert(event.character)
        else:
            return key == "backspace"
        return True

    def _insert(self, text: str) -> None:
        held = self.buffer or ""
        self.buffer = held[: self.caret] + text + held[self.caret :]
        self.caret += len(text)
        self._typed()
