"""A long list that draws only the lines in sight; its rows are fetched as they come into view."""

from __future__ import annotations

from collections.abc import Callable

from rich.segment import Segment
from rich.style import Style
from rich.text import Text
from textual import events
from textual.geometry import Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip


class Ledger(ScrollView, can_focus=True):
    """`row(index)` gives a row's text when it is drawn; the cursor moves over `count` rows."""

    COMPONENT_CLASSES = {"ledger--cursor"}

    class Chosen(Message):
        """Enter, or a second click, on a row."""

        def __init__(self, index: int) -> None:
            super().__init__()
            self.index = index

    class Moved(Message):
        """The cursor stands on another row."""

        def __init__(self, index: int) -> None:
            super().__init__()
            self.index = index

    def __init__(
        self, row: Callable[[int], Text], *, empty: str = "", id: str | None = None
    ) -> None:
        super().__init__(id=id)
        self._row = row
        self.empty = empty
        self.count = 0
        self.cursor = 0

    def fill(self, count: int, cursor: int | None = None) -> None:
        """Show so many rows, from the top unless told where the cursor is."""
        self.count = count
        self.cursor = max(0, min(count - 1, self.cursor if cursor is None else cursor))
        self._measure()
        self.call_after_refresh(self._in_sight)
        self.refresh()

    def _measure(self) -> None:
        self.virtual_size = Size(self.size.width, max(1, self.count))

    def on_resize(self) -> None:
        """Rows are as wide as the list."""
        self._measure()

    def render_line(self, y: int) -> Strip:
        """The row in sight at line `y`."""
        index, width, base = y + self.scroll_offset.y, self.size.width, self.rich_style
        if self.count == 0 and index < len(lines := self.empty.split("\n")):
            return Strip([Segment(lines[index], base)]).adjust_cell_length(width, base)
        if index >= self.count:
            return Strip.blank(width, base)
        text = self._row(index)
        style = base
        if index == self.cursor:
            style = base + self.get_component_rich_style("ledger--cursor")
            text = Text(text.plain)
        segments = [
            Segment(segment.text, style + (segment.style or Style()))
            for segment in text.render(self.app.console)
            if segment.text != "\n"
        ]
        return Strip(segments).adjust_cell_length(width, style)

    def row_text(self, index: int) -> Text:
        """What a row says, in sight or not."""
        return self._row(index)

    def move(self, to: int) -> None:
        """Put the cursor on that row."""
        to = max(0, min(self.count - 1, to))
        if to != self.cursor and self.count:
            self.cursor = to
            self._in_sight()
            self.refresh()
            self.post_message(self.Moved(to))

    def _in_sight(self) -> None:
        top, height = self.scroll_offset.y, max(1, self.size.height)
        if self.cursor < top:
            self.scroll_to(y=self.cursor, animate=False)
        elif self.cursor >= top + height:
            self.scroll_to(y=self.cursor - height + 1, animate=False)

    def on_key(self, event: events.Key) -> None:
        """Move, or choose the row."""
        page = max(1, self.size.height - 1)
        steps = {"up": -1, "down": 1, "pageup": -page, "pagedown": page}
        if event.key in steps:
            self.move(self.cursor + steps[event.key])
        elif event.key in ("home", "end"):
            self.move(0 if event.key == "home" else self.count - 1)
        elif event.key == "enter" and self.count:
            self.post_message(self.Chosen(self.cursor))
        else:
            return
        event.stop()
        event.prevent_default()

    def on_click(self, event: events.Click) -> None:
        """A click puts the cursor there, a second one chooses."""
        index = event.y + self.scroll_offset.y
        if index < self.count:
            if index == self.cursor and event.chain > 1:
                self.post_message(self.Chosen(index))
            self.move(index)
