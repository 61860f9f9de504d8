"""The handbook: method, sources, cautions, keys."""

from __future__ import annotations

from collections.abc import Iterable

from rich.text import Text
from textual.binding import Binding
from textual.containers import Horizontal, VerticalScroll
from textual.widget import Widget
from textual.widgets import Static

from trackside.tui.chapter import Chapter
from trackside.tui.commands import bindings_of
from trackside.tui.manual import chapters
from trackside.tui.page import Page


class Handbook(Page):
    """Chapters above, or at the left where there is room; the text scrolls."""

    PAGE = "handbook"
    BINDINGS = [
        *bindings_of("handbook"),
        Binding("left", "previous_part", show=False),
        Binding("right", "next_part", show=False),
        Binding("space", "down", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.chapters = chapters()
        self.chapter = 0
        self.shown = (-1, "")
        """The number of the chapter that is drawn, and the theme."""

    def body(self) -> Iterable[Widget]:
        """Chapter names and the text."""
        yield Static("", id="parts", markup=False)
        with Horizontal(classes="fill"):
            yield Static("", id="chapters", markup=False)
            with VerticalScroll(id="page"):
                yield Static("", id="text", markup=False)

    def subject(self) -> str:
        """The chapter."""
        return self.chapters[self.chapter].name

    def on_mount(self) -> None:
        """The text has the keys."""
        self.query_one("#page").focus()

    def show(self) -> None:
        """The chapter's text, from its top when it is another one."""
        wide = self.has_class("wide")
        names = Text("" if wide else " ")
        first = 0 if wide else self._first_in_sight()
        for number, chapter in enumerate(self.chapters):
            if number < first:
                continue
            style = "reverse bold" if number == self.chapter else ""
            names.append(f" {chapter.name} ", style)
            names.append("\n" if wide else "")
        line, column = self.query_one("#parts", Static), self.query_one("#chapters", Static)
        line.display, column.display = not wide, wide
        (column if wide else line).update(names)
        shown, self.shown = self.shown, (self.chapter, self.app.theme)
        if shown != self.shown:
            text = self.chapters[self.chapter].text
            self.query_one("#text", Static).update(Chapter(text, self.app.theme_variables))
        if shown[0] != self.chapter:
            self.query_one("#page", VerticalScroll).scroll_home(animate=False)
            self.say("↑ ↓ PgUp PgDn scroll · Tab or → next chapter · Shift-Tab or ← the one before")

    def _first_in_sight(self) -> int:
        """The first name on the line of names, with which the chapter's own still fits on it."""
        ends, end = [], 1
        for chapter in self.chapters:
            end += len(chapter.name) + 2
            ends.append(end)
        over = ends[self.chapter] - self.size.width
        return next((n + 1 for n, end in enumerate(ends) if end > over), 0) if over > 0 else 0

    def turn_part(self, by: int) -> None:
        """Another chapter."""
        self.chapter = (self.chapter + by) % len(self.chapters)
        self.redraw()

    def action_down(self) -> None:
        """A page further."""
        self.query_one("#page", VerticalScroll).scroll_page_down(animate=False)
