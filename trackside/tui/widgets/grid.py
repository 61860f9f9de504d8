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

from trackside.tui.widgets.cells import LABEL_WIDTH, Block, Cell, Shown, fit
from trackside.tui.widgets.places import Places
from trackside.tui.widgets.typed import Typed
from trackside.tui.widgets.writing import is_written
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
        whole: Callable[[str, str], bool] = lambda path, text: False,
        id: str | None = None,
        classes: str | None = None,
    ) -> None:
        super().__init__(id=id, classes=classes)
        self.commands = commands
        """Keys that stay commands; any other character begins typing in a cell of words."""
        self._show = show
        self.label_width = LABEL_WIDTH
        self.gap = 1
        self.columns = columns
        self.places = Places((), (), columns)
        self.path = ""
        self.walk: tuple[str, ...] = ()
        """The order in which Enter moves on; empty: downwards."""
        self.locked = False
        """Whether it is only to be read."""
        self.whole = whole
        """Whether the text at a path cannot go on: on a walk the cursor then does, by itself."""
        self.typed: Typed | None = None
        """What is being typed in the cell under the cursor."""
        self._came_from: tuple[str, str] | None = None
        """The cell that the cursor has just left by itself, and what was typed there."""
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
        if here and self.typed is not None:
            return [label, *self._editor(self.typed, room), Segment(" ", self._style("edit"))]
        shown = self._show(cell.path)
        text, style = shown.half_typed or shown.text, self._style("value")
        ending = cell.ending(room - cell_len(text)) if text else ""
        beside = min(room // 2, room - cell_len(text + ending) - 1)
        if not text:
            text, style, beside = shown.last or "·", self._style("last"), 0
        elif shown.last in ("", text) or room < 20 or beside < 6:
            beside = 0
        if here:
            style = self._style("cursor")
        if ending:
            quiet = style if here else self._style("last") + Style(italic=False)
            rest = room - beside - cell_len(text)
            value = [Segment(text, style), Segment(fit(ending, rest), quiet)]
        else:
            value = [Segment(fit(text, room - beside), style)]
        return [
            label,
            *value,
            Segment(fit(f" {shown.last}", beside), self._style("last")),
            Segment((shown.mark or " ")[:1], self._style("mark")),
        ]

    def _editor(self, typed: Typed, room: int) -> list[Segment]:
        style, caret = self._style("cursor" if typed.marked else "edit"), self._style("cursor")
        before, under, after = typed.window(room)
        after = set_cell_size(after, max(0, room - cell_len(before + under)))
        return [Segment(before, style), Segment(under, caret), Segment(after, style)]

    def repaint(self, path: str) -> None:
        """Draw the line of that cell again."""
        line = self.places.line_of.get(path)
        if line is not None:
            self.refresh(Region(0, line - self._top, self.size.width, 1))

    # ── moving ──────────────────────────────────────────────────────────────────────────────

    def go(self, path: str) -> None:
        """Put the cursor on that cell."""
        self._came_from = None
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

    @property
    def buffer(self) -> str | None:
        """The text that is being typed; None when none is."""
        return self.typed.text if self.typed else None

    def edit(self, text: str | None = None) -> None:
        """Begin typing in the cell, from `text` or from what it holds."""
        if not self.path:
            return
        if self.locked:
            self.post_message(self.Locked())
            return
        shown = self._show(self.path)
        held = shown.half_typed or shown.text
        marked = text is None and bool(held) and not shown.half_typed
        self.typed = Typed(held if text is None else text, marked)
        self._typed()

    def take(self) -> str:
        """End typing, and give what was typed."""
        typed, self.typed = self.typed, None
        return one_line(typed.text) if typed else ""

    def leave(self) -> None:
        """End typing: what stands in the cell is handed up to be kept."""
        if self.typed is None:
            return
        text = self.take()
        self.repaint(self.path)
        self._hand_up(text)
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
        if self.typed is None:
            self.edit(text)
        else:
            self.typed.insert(text)
            self._typed()

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
        typed = self.typed
        handled = self._typing_key(event, typed) if typed else self._moving_key(event)
        if handled:
            event.stop()
            event.prevent_default()

    def _moving_key(self, event: events.Key) -> bool:
        if self._takes_back(event):
            return True
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

    def _typing_key(self, event: events.Key, typed: Typed) -> bool:
        self._came_from, key = None, event.key
        if key in ("enter", "escape", "up", "down", "tab", "shift+tab"):
            self.leave()
            if key == "enter":
                self.advance()
            elif key in ("up", "down"):
                self.step(-1 if key == "up" else 1, 0)
            return key not in ("tab", "shift+tab")
        if typed.key(key):
            self._typed()
        elif event.character and is_written(event):
            typed.insert(event.character)
            self._typed()
            self._go_on_when_whole(typed)
        else:
            return False
        return True

    def _go_on_when_whole(self, typed: Typed) -> None:
        here = self.path
        if here in self.walk and typed.caret == len(typed.text) and self.whole(here, typed.text):
            self.leave()
            self.advance()
            self._came_from = (here, typed.text)

    def _takes_back(self, event: events.Key) -> bool:
        """Just after the cursor went on by itself, a key that belongs to the value before: back
        into that; a decimal sign or a unit goes on with it. Its Enter leaves no cell out."""
        came_from, self._came_from = self._came_from, None
        if came_from is None or event.key == "enter":
            return came_from is not None
        sign = event.character if event.character and is_written(event) else ""
        belongs = (sign or event.key in ("backspace", "up")) and came_from[0] in self.paths
        if not belongs or sign in self.commands | BEGIN_NUMBER - {".", ","}:
            return False
        self.go(came_from[0])
        self.edit(came_from[1] + sign)
        return True
