"""A sheet of cells with its own cursor: one widget, whatever the number of values.

One focusable widget draws every cell itself, line by line: a move repaints two lines.
What a cell is decides what a letter does in it: in words and in choices, and everywhere on a form,
it is text; in a number it is a command of the page. Leaving the cell keeps what was typed; a choice
takes only what Enter picks; Esc restores the cell.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from rich.segment import Segment
from textual import events
from textual.message import Message
from textual.strip import Strip

from trackside.tui.widgets import cell_lines
from trackside.tui.widgets.cell_view import CellView
from trackside.tui.widgets.cells import Block, Cell, Kind, Shown
from trackside.tui.widgets.picking import Offer, Picking
from trackside.tui.widgets.typed import Typed
from trackside.tui.widgets.writing import is_written
from trackside.units import one_line

BEGIN_NUMBER = frozenset("0123456789.,+-−–")
MOVES = {"up": (-1, 0), "down": (1, 0), "left": (0, -1), "right": (0, 1)}
NOTHING_OFFERED = Offer(())

Mode = Literal["commands", "text", "list", "typing", "picking", "armed"]
"""What keys do now: letters are commands; letters type, or open a list; something is being typed,
or picked; or Esc has made the next letter a command."""


class Grid(CellView, can_focus=True):
    """Blocks of cells in columns. `show` is asked for a cell's content whenever it is drawn,
    `offer` for the list of a choice when it opens."""

    @dataclass
    class Left(Message):
        """A cell was left after typing: `text` is to be kept at `path`."""

        path: str
        text: str

    @dataclass
    class Restored(Message):
        """A cell is as it was before it was typed in; `half` is what was typed into a choice and
        not taken, empty when it was thrown away."""

        path: str
        half: str = ""

    @dataclass
    class Walked(Message):
        """The walk along these cells is over: the last was left, or a key ended it."""

        walk: tuple[str, ...]

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
        offer: Callable[[str], Offer] = lambda path: NOTHING_OFFERED,
        commands: frozenset[str] = frozenset(),
        whole: Callable[[str, str], bool] = lambda path, text: False,
        pasted: Callable[[str, str], str] = lambda path, text: text,
        form: bool = False,
        arms: bool = False,
        id: str | None = None,
        classes: str | None = None,
    ) -> None:
        super().__init__(show, columns, form=form, id=id, classes=classes)
        self.commands = commands
        """Keys that stay commands on numbers, though a number could begin with them."""
        self.arms = arms
        """Whether Esc, where nothing is typed, makes the next letter a command."""
        self.armed = False
        self._offer = offer
        self.walk: tuple[str, ...] = ()
        """The order in which Enter moves on, to the next empty cell; empty: downwards."""
        self.passed: tuple[str, ...] = ()
        """Cells of the walk that were filled already, and so were passed in the last step."""
        self.locked = False
        """Whether it is only to be read."""
        self.pasted = pasted
        """What of a paste goes into the cell at a path, before it is put on one line."""
        self.whole = whole
        """Whether the text at a path cannot go on: on a walk the cursor then does, by itself."""
        self.typed: Typed | None = None
        """What is being typed in the cell under the cursor; a `Picking` in one with a list."""
        self._came_from: tuple[str, str] | None = None
        """The cell that the cursor has just left by itself, and what was typed there."""
        self.handing = False
        """Whether what was typed is on its way to the page, which takes the mark away."""

    # ── cells with what is typed in them ────────────────────────────────────────────────────

    def lay_out(self, blocks: Sequence[Block], cells: Sequence[Cell]) -> None:
        """What is being typed stays in its cell; where that goes, it is handed up first."""
        if self.path not in {cell.path for cell in cells}:
            self.leave()
        super().lay_out(blocks, cells)

    def render_line(self, y: int) -> Strip:
        """One line of the sheet, and over it of the list that is open."""
        strip, box = super().render_line(y), self._list()
        number = box.row_at(box.column, y) if box else None
        if box is None or number is None or self.picking is None:
            return strip
        row = cell_lines.list_row(self.picking, number, box.width, self._style)
        ends = strip.crop(0, box.column), strip.crop(box.column + box.width)
        return Strip.join([ends[0], Strip([row]), ends[1]])

    def _value(self, cell: Cell, room: int) -> list[Segment]:
        if cell.path == self.path and self.has_focus and self.typed is not None:
            return cell_lines.editor(self.typed, room, self._style)
        return super()._value(cell, room)

    def _list(self) -> cell_lines.OpenList | None:
        """Where the open list stands; None when there is none."""
        cell = self.cell(self.path)
        if self.picking is None or cell is None:
            return None
        column = self.places.column_of(cell) * (self._block_width() + self.gap)
        column += self.label_room(cell)
        line = self.places.line_of[self.path] - self._top
        return cell_lines.placed(self.picking, line, column, self.size.width, self.size.height)

    def go(self, path: str) -> None:
        """Put the cursor on that cell."""
        self._came_from, self.passed = None, ()
        self.armed = self.armed and (path == self.path or path not in self.places.line_of)
        super().go(path)

    def advance(self) -> None:
        """Down, and on a form from the last cell of a block to the block that follows; but on a
        walk to its next empty cell: what is filled is passed, never typed over. Where none is left
        the walk is over."""
        if self.path not in self.walk:
            if self.form:
                self.go(self.places.following(self.path))
            else:
                self.step(1, 0)
            return
        ahead = self.walk[self.walk.index(self.path) + 1 :]
        empty = next((path for path in ahead if not self._show(path).text), "")
        if empty:
            self.go(empty)
            self.passed = ahead[: ahead.index(empty)]
        else:
            self.end_walk()

    def end_walk(self) -> None:
        """The walk is over, wherever the cursor is."""
        walk, self.walk = self.walk, ()
        if walk:
            self.post_message(self.Walked(walk))

    def _along(self, cells: int) -> None:
        """So many cells on along the walk, filled or not; back below zero."""
        to = self.walk.index(self.path) + cells
        if 0 <= to < len(self.walk):
            self.go(self.walk[to])

    def _walks(self, key: str) -> bool:
        """Whether the key has a meaning of its own on a walk, where nothing is being typed."""
        if key in ("up", "backspace"):
            self._along(-1)
        elif key == "down":
            self._along(1)
        elif key == "escape":
            self.end_walk()
        else:
            return False
        return True

    # ── typing ──────────────────────────────────────────────────────────────────────────────

    @property
    def mode(self) -> Mode:
        """What keys do now."""
        if self.typed is not None:
            return "picking" if self.picking else "typing"
        if self.armed:
            return "armed"
        cell = self.cell(self.path)
        if cell is None or self.locked or (cell.kind is Kind.NUMBER and not self.form):
            return "commands"
        return "list" if cell.kind is Kind.CHOICE else "text"

    @property
    def picking(self) -> Picking | None:
        """The list that is open."""
        return self.typed if isinstance(self.typed, Picking) else None

    @property
    def buffer(self) -> str | None:
        """The text that is being typed; None when none is."""
        return self.typed.text if self.typed else None

    def edit(self, text: str | None = None) -> None:
        """Begin typing in the cell, from `text` or from what it holds."""
        cell = self.cell(self.path)
        if cell is None:
            return
        if self.locked:
            self.post_message(self.Locked())
            return
        shown = self._show(self.path)
        held = shown.taken_up
        marked = text is None and bool(held) and not shown.half_typed
        start = held if text is None else text
        self.armed = False
        self.typed = (
            Picking(self._offer(self.path), start, marked)
            if cell.kind is Kind.CHOICE
            else Typed(start, marked)
        )
        self._typed()
        self.post_message(self.KeysChanged())

    def end(self) -> Left | Restored | None:
        """End typing; what is to become of the text, for the page: kept, or in a choice held beside
        what stands there. None when nothing was being typed."""
        typed, picking = self.typed, self.picking
        self.typed = None
        if typed is None or not self.path:
            return None
        if picking is not None:
            return self.Restored(self.path, picking.half)
        text = one_line(typed.text)
        blank = bool(typed.text) and not text
        return self.Restored(self.path) if blank else self.Left(self.path, text)

    def leave(self) -> None:
        """End typing: what stands in the cell is handed up."""
        self._over(self.end())

    def _over(self, ended: Left | Restored | None) -> None:
        if ended is None:
            return
        self.refresh()
        self.handing = isinstance(ended, self.Left)
        self.post_message(ended)
        self.post_message(self.Typing(self.path, "", done=True))
        self.post_message(self.KeysChanged())

    def restore(self) -> None:
        """End typing: the cell is as it was."""
        if self.typed is not None:
            self.typed = None
            self._over(self.Restored(self.path))

    def _typed(self) -> None:
        if self.picking:
            self.refresh()
        else:
            self.repaint(self.path)
        self.post_message(self.Typing(self.path, self.buffer or ""))

    def on_blur(self) -> None:
        """Leaving the sheet leaves the cell."""
        self.leave()
        self.armed = False

    def on_paste(self, event: events.Paste) -> None:
        """Paste into the cell."""
        event.stop()
        text = one_line(self.pasted(self.path, event.text))
        if self.typed is None:
            self.edit(text)
        else:
            self.typed.insert(text)
            self._typed()

    def on_click(self, event: events.Click) -> None:
        """A click puts the cursor there; a second click begins typing. On a row of the list it
        takes that."""
        box = self._list()
        row = box.row_at(event.x, event.y) if box else None
        if row is not None and self.picking is not None:
            self.picking.move(row - self.picking.at)
            self._pick()
            return
        self.leave()
        column = event.x // (self._block_width() + self.gap)
        path = self.places.at(event.y + self._top, column)
        if path:
            if path == self.path and event.chain > 1:
                self.edit()
            self.go(path)

    def on_key(self, event: events.Key) -> None:
        """Type, move, or let the key pass on to the screen's commands."""
        if self.picking:
            handled = self._picking_key(event, self.picking)
        elif self.typed:
            handled = self._typing_key(event, self.typed)
        else:
            handled = self._moving_key(event)
        if handled:
            event.stop()
            event.prevent_default()

    def _moving_key(self, event: events.Key) -> bool:
        if self._takes_back(event):
            return True
        armed, self.armed = self.armed, False
        if self.path in self.walk and self._walks(event.key):
            return True
        if event.key == "escape" and self.arms and self.path:
            self.armed = not armed
        if armed or self.armed:
            self.post_message(self.KeysChanged())
        if self.armed:
            return True
        if event.key in MOVES:
            self.step(*MOVES[event.key])
        elif event.key == "enter":
            if self.path in self.walk:
                self.advance()
            else:
                self.edit()
        elif event.key in ("delete", "backspace"):
            if self.locked:
                self.post_message(self.Locked())
            elif self.cell(self.path):  # a sheet without a session has none
                self.handing = True
                self.post_message(self.Left(self.path, ""))
        elif not armed and self.begins(event):
            self.edit(event.character)
        else:
            return armed and event.key == "escape"
        return True

    def begins(self, event: events.Key) -> bool:
        """Whether a key begins typing in the cell under the cursor: what prints on a form and in
        words, what a number can begin with in a number."""
        cell, character = self.cell(self.path), event.character
        if cell is None or not character or not is_written(event):
            return False
        if self.mode in ("text", "list"):
            return True
        return (
            character in BEGIN_NUMBER
            and character not in self.commands
            and (cell.kind is Kind.NUMBER or character.isdigit())
        )

    def _typing_key(self, event: events.Key, typed: Typed) -> bool:
        self._came_from, key = None, event.key
        walks = self.path in self.walk
        if key == "escape" or (walks and key == "backspace" and not typed.text):
            self.restore()
            if key == "backspace":
                self._along(-1)
            return True
        if key in ("enter", "up", "down", "tab", "shift+tab"):
            self.leave()
            if key == "enter":
                self.advance()
            elif key in ("up", "down"):
                (self._along if walks else self.step)(-1 if key == "up" else 1)
            return key not in ("tab", "shift+tab")
        return self._types(event, typed)

    def _types(self, event: events.Key, typed: Typed) -> bool:
        """Whether the key changed the text or moved in it."""
        if typed.key(event.key):
            self._typed()
        elif event.character and is_written(event):
            typed.insert(event.character)
            self._typed()
            self._go_on_when_whole(typed)
        else:
            return False
        return True

    def _picking_key(self, event: events.Key, picking: Picking) -> bool:
        key = event.key
        if key == "escape":
            self.restore()
        elif key in ("up", "down"):
            picking.move(-1 if key == "up" else 1)
            self._typed()
        elif key == "enter":
            self._pick()
        elif key in ("tab", "shift+tab"):
            self.leave()
            return False
        else:
            return self._types(event, picking)
        return True

    def _pick(self) -> None:
        """Take the row that is lit, if it can be."""
        taken = self.picking.enter() if self.picking else None
        if taken is None:
            self._typed()
            return
        self.typed = None
        self._over(self.Left(self.path, taken))
        self.advance()

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
