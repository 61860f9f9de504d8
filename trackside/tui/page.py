"""What every screen shares: a heading, a body, one line of detail, two lines of keys."""

from __future__ import annotations

import time
from collections.abc import Iterable
from typing import TYPE_CHECKING, cast

from rich.text import Text
from textual.app import ComposeResult
from textual.message import Message
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Static

from trackside.errors import TracksideError
from trackside.tui.commands import PAGES, READING_ONLY, key_line, navigation

if TYPE_CHECKING:
    from trackside.tui.app import Trackside
    from trackside.tui.desk import Desk


NEWS_FOR = 1.0
"""How long (s) a page that just came up repeats what it was sent with, over its own detail."""


class Page(Screen[None]):
    """A screen of trackside. Subclasses give `PAGE`, `body()` and `show()`."""

    PAGE = "board"

    @property
    def desk(self) -> Desk:
        """What is on the table."""
        return cast("Trackside", self.app).desk

    def compose(self) -> ComposeResult:
        """Heading, body, detail, keys."""
        yield Static(self._heading(), id="heading", markup=False)
        yield from self.body()
        yield Static("", id="detail", markup=False)
        yield Static("", id="keys", markup=False)

    def body(self) -> Iterable[Widget]:
        """The widgets between heading and detail."""
        return ()

    def show(self) -> None:
        """Draw what is on the table; called when the page comes up and when the table changes."""

    def on_screen_resume(self) -> None:
        """The page comes up."""
        self.redraw()

    def redraw(self) -> None:
        """Heading, keys and body again; a failure becomes a sentence."""
        if not self.query("#heading"):
            return  # the page is coming down
        self.query_one("#heading", Static).update(self._heading(), layout=False)
        self.query_one("#keys", Static).update(self._keys(), layout=False)
        try:
            self.show()
        except TracksideError as error:
            self.say(str(error), "error")
        text, kind, until = self.desk.news
        if time.monotonic() < until:
            self.say(text, kind)

    async def _dispatch_message(self, message: Message) -> None:
        """A failure in a handler becomes a sentence and the page goes on. (Textual has no public
        hook for this: an exception that leaves a handler ends the program.)"""
        try:
            await super()._dispatch_message(message)
        except TracksideError as error:
            self.announce(str(error), "error")

    def go(self, page: str, text: str = "") -> None:
        """Go to that page, and say there what was done."""
        if text:
            self.desk.news = (text, "kept", time.monotonic() + NEWS_FOR)
        self.app.action_page(page)  # type: ignore[attr-defined]

    def say(self, text: str, kind: str = "") -> None:
        """One line of detail; kind may be `error`, `problem`, `kept`."""
        for line in self.query("#detail").results(Static):
            line.set_classes(kind)
            line.update(Text(text, no_wrap=True, overflow="ellipsis"), layout=False)

    def announce(self, text: str, kind: str = "kept") -> None:
        """Redraw, then say it: what is drawn on the page meanwhile does not wipe it away."""
        self.desk.news = (text, kind, time.monotonic() + NEWS_FOR)
        self.redraw()

    def on_resize(self) -> None:
        """Key lines are laid out for the width."""
        self.set_class(self.size.width >= 110 and self.size.height >= 34, "wide")
        self.query_one("#keys", Static).update(self._keys(), layout=False)
        self.call_after_refresh(self.redraw)

    def on_grid_locked(self) -> None:
        """Somebody typed where nothing is written."""
        self.say(READING_ONLY, "problem")

    def open_record(self, records: dict[str, str], begin: str = "", text: str = "") -> None:
        """Show these records (kind to entity), the main one first, and come back here after;
        typing begins at once in the cell `begin`; `text` is said there."""
        self.desk.form, self.desk.form_from = records, self.PAGE
        self.go("record", text)
        if begin:
            self.app.call_after_refresh(self.app.screen.begin, begin)  # type: ignore[attr-defined]

    def subject(self) -> str:
        """What the page is about, beside its name: the session in hand."""
        desk = self.desk
        if not desk.has_session:
            return "no session yet"
        line = desk.line()
        parts = (
            f"{line.kind} {line.number}".strip().capitalize(),
            line.venue,
            line.start[:16],
            line.car_name,
            line.driver,
        )
        return " · ".join(part for part in parts if part)

    def _heading(self) -> Text:
        name = PAGES[self.PAGE].upper()
        try:
            subject = self.subject()
        except TracksideError as error:
            subject = str(error)
        if self.desk.logbook.read_only:
            name += " · READING ONLY"
        return Text.assemble(
            (f" {name} ", "reverse bold"), f" {subject}", no_wrap=True, overflow="ellipsis"
        )

    def _keys(self) -> Text:
        width = max(20, self.size.width)
        cap = f"bold {self.app.theme_variables.get('board', '')}"
        keys = key_line(self.PAGE, reading=self.desk.logbook.read_only)
        own = _keys_line(((key, label, False) for key, label in keys), width, cap)
        pages = ((key, label, page == self.PAGE) for key, label, page in navigation())
        return Text("\n").join([own, _keys_line(pages, width, cap)])


def _keys_line(entries: Iterable[tuple[str, str, bool]], width: int, cap: str) -> Text:
    parts = [
        Text.assemble((key, cap), (f" {label}", "reverse bold" if here else ""))
        for key, label, here in entries
    ]
    room = width - sum(part.cell_len for part in parts)
    between = Text(" " * max(1, min(3, room // max(1, len(parts)))))
    line = between.join(parts)
    line.truncate(width)
    return line
