"""What every screen shares: a heading, a body, one line of detail, two lines of keys."""

from __future__ import annotations

import time
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, cast

from rich.cells import cell_len
from rich.style import Style
from rich.text import Text
from textual.app import ComposeResult
from textual.events import Click, Key
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Input, Static

from trackside.errors import TracksideError
from trackside.reports.when_words import when_in_heading
from trackside.tui.commands import PAGES, READING_ONLY, Command
from trackside.tui.footer import Foot, drawn, works_on
from trackside.tui.layer import Layer
from trackside.tui.mouse import part_clicked
from trackside.tui.notices import unread_said

if TYPE_CHECKING:
    from trackside.tui.view import View
    from trackside.tui.widgets.grid import Grid


LEAST = (60, 20)
"""Columns and rows without which a page only says so."""
NARROW = 80
"""Columns below which pages leave out what help, detail or another page tells too."""
_TO_THE_END = ("error", "problem", "kept", "place", "caution")
OF_A_SESSION = ("sheet", "clicks", "trend", "debrief", "shelf")
"""The pages that are about the current session."""
_NEED_SESSION = ("sheet", "clicks", "trend", "debrief")
"""Those on which nothing but `new_session` can be done without one."""


class KeyLines(Static):
    """Keys and what they do, to be clicked: the keys stand out, the words are quiet."""

    @property
    def link_style(self) -> Style:
        """Every part keeps the style it came with, though it can be clicked."""
        return Style.null()


class Page(Layer[None]):
    """A screen of trackside. Subclasses give `PAGE`, `body()` and `show()`, and of what a page can
    be asked (`leave` to `turn_part`) whatever there is on them to answer with."""

    PAGE = "board"
    grid: Grid | None = None
    """The cells, on a page that has any."""
    _shown_foot: Foot | None = None
    """What the lines of keys were last drawn for."""
    coming = True
    """Whether it is not drawn yet for what is on the table: keys wait for it."""
    _left = False
    """Whether it was left for another page."""
    seen = False
    """Whether something of it has been painted since it came: keys pressed now are meant for it."""

    @property
    def view(self) -> View:
        """What all pages have in common beside the desk."""
        return self.host.view

    def compose(self) -> ComposeResult:
        """Heading, body, detail, keys; laid out for the terminal at once, not a second time."""
        self._dress()
        self.call_after_refresh(self._is_seen)
        yield Static(self._heading(), id="heading", markup=False)
        yield Static("", id="unread", markup=False)
        yield from self.body()
        if self.PAGE == "board":
            yield Static("", id="notices", markup=False)
        yield Static("", id="detail", markup=False)
        yield KeyLines("", id="keys", markup=False)
        yield Static("", id="small", markup=False)

    def _is_seen(self) -> None:
        self.seen = True

    def body(self) -> Iterable[Widget]:
        """The widgets between heading and detail."""
        return ()

    def show(self) -> None:
        """Draw what is on the table; called when the page comes up and when the table changes."""

    def on_screen_suspend(self) -> None:
        """Another page, or a box, is on top."""
        self.coming, self.seen = True, False
        self._left = isinstance(self.app.screen, Page)
        if not self._left:
            self.query_one("#keys", Static).update(self._keys(), layout=False)

    def on_screen_resume(self) -> None:
        """The page comes up."""
        self.seen = True
        if self._left:
            self.say("")  # what was said before it was left need not hold any more
            self.come_afresh()
        self.redraw()
        self.arrived()
        self.coming = False

    def come_afresh(self) -> None:
        """What is other when the page comes up after another page, and not from under a box."""

    def arrived(self) -> None:
        """What the page does once, when it has come up."""

    # ── what a page can be asked ────────────────────────────────────────────────────────────

    def leave(self) -> None:
        """Hand up what is half typed."""

    def on_key(self, event: Key) -> None:
        """Ctrl+S saves here too, as in a form."""
        if event.key == "ctrl+s":
            event.stop()
            event.prevent_default()
            self.finish()

    def finish(self) -> None:
        """Save what is being typed, as Enter does; a sentence where nothing is."""
        if self.grid is not None and self.grid.typed is not None:
            self.app.simulate_key("enter")
        else:
            self.say("nothing is half typed: everything is saved", "kept")

    def kept(self, path: str) -> None:
        """The logbook has committed that value: its mark goes."""

    def again(self) -> None:
        """What the logbook did not take goes to it once more."""

    def stand_on(self, path: str) -> None:
        """Put the cursor on that value of the current session."""

    def turn_part(self, by: int) -> None:
        """Go so many tabs on, back below zero; a page without tabs stays as it is."""

    def action_next_part(self) -> None:
        """The next tab."""
        self.turn_part(1)

    def action_previous_part(self) -> None:
        """The tab before."""
        self.turn_part(-1)

    # ── drawing ─────────────────────────────────────────────────────────────────────────────

    def redraw(self) -> None:
        """Heading, keys and body again; a failure becomes a sentence."""
        if not self.query("#heading"):
            return  # the page is coming down
        self.query_one("#heading", Static).update(self._heading(), layout=False)
        self._notices()
        try:
            self.show()
        except TracksideError as error:
            self.say(str(error), "error")
        self.query_one("#keys", Static).update(self._keys(), layout=False)
        self.name_unread()
        self.repeat_news()

    def name_unread(self) -> None:
        """Under the heading, what stands in the logbook and could not be read."""
        for place in self.query("#unread").results(Static):
            sentence = unread_said(self.desk)
            place.display = bool(sentence)
            place.update(Text(sentence, no_wrap=True, overflow="ellipsis"))

    def repeat_news(self) -> None:
        """What was just announced, over what the page says of itself."""
        text, kind, until = self.view.news
        if time.monotonic() < until:
            self.say(text, kind)

    def notices(self) -> list[str]:
        """What waits there until it is dealt with, a sentence each."""
        return self.host.notices()

    def _notices(self) -> None:
        """On the pit board, what waits there until it is dealt with."""
        for place in self.query("#notices").results(Static):
            notices = self.notices()
            place.display = bool(notices)
            place.update(Text("\n".join(notices)))

    async def _dispatch_message(self, message: Message) -> None:
        """After a cell was left, whatever became of its text, the hand is free."""
        await super()._dispatch_message(message)
        if self.grid is not None and isinstance(message, self.grid.Left):
            self.grid.handing = False

    def hand_over(self, page: str) -> bool:
        """Before a key leads to that page: take in hand what is under the cursor, where the page is
        about it. False, and a sentence, when there is nothing for it to be about."""
        return True

    def take_in_hand(self, session: str) -> None:
        """Take that session in hand, unless it is already."""
        if session and session != self.desk.entity:
            self.desk.take(session)

    def go(self, page: str, text: str = "") -> None:
        """Go to that page, and say there what was done."""
        if text:
            self.view.tell(text, "kept")
        self.host.show_page(page)

    def say(self, text: str, kind: str = "") -> None:
        """One line of detail; kind may be `error`, `problem`, `kept`. A wider one has as many as it
        needs, and so has a caution, or where a file is (`place`): each is read to its end; `long`
        is plain, and has two."""
        rows = {"long": "two"} | dict.fromkeys(_TO_THE_END, "many")
        wide = kind in rows and cell_len(text) > max(1, self.size.width)
        grows = wide and rows[kind] == "many"
        for line in self.query("#detail").results(Static):
            line.set_classes(f"{kind} {rows[kind]}" if wide else kind)
            line.update(Text(text, no_wrap=not wide, overflow="ellipsis"), layout=grows)

    def announce(self, text: str, kind: str = "kept") -> None:
        """Redraw, then say it: what is drawn on the page meanwhile does not wipe it away."""
        self.view.tell(text, kind)
        self.redraw()

    def _dress(self) -> tuple[int, int]:
        """The terminal's width and height; the page is dressed for them."""
        width, height = self.app.size
        self.update_classes(
            {
                "wide": width >= 110 and height >= 34,
                "narrow": width < NARROW,
                "small": width < LEAST[0] or height < LEAST[1],
            }
        )
        return width, height

    def on_resize(self) -> None:
        """Key lines are laid out for the width."""
        width, height = self._dress()
        told = f"{width}×{height} is too small: {LEAST[0]}×{LEAST[1]} at least"
        self.query_one("#small", Static).update(told, layout=False)
        self.call_after_refresh(self.redraw)

    def on_grid_locked(self) -> None:
        """Somebody typed where nothing is written."""
        self.say(READING_ONLY, "problem")

    def open_record(self, records: dict[str, str], begin: str = "", text: str = "") -> None:
        """Show these records (kind to entity), the main one first, and come back here after;
        typing begins at once in the cell `begin`; `text` is said there."""
        self.view.form, self.view.form_from, self.view.begin = records, self.PAGE, begin
        self.go("record", text)

    def subject(self) -> str:
        """What the page is about, beside its name: the current session, and its car before what a
        narrow screen cuts."""
        desk = self.desk
        if not desk.has_session:
            return "no session yet" if desk.shed else "reading the logbook …"
        line = desk.line()
        parts = (
            line.title.capitalize(),
            line.car_name,
            line.venue,
            when_in_heading(line),
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

    def works(self, command: Command) -> bool:
        """Whether that action of the page does something where the cursor stands."""
        if self.PAGE in _NEED_SESSION and command.pages and command.action != "new_session":
            return self.desk.has_session
        if command.action == "undo":
            return self.desk.has_session or not self.desk.logbook.is_empty
        return True

    def _foot(self) -> Foot:
        grid = self.grid
        mode: Any = grid.mode if grid is not None else "commands"
        if isinstance(self.focused, Input):
            mode = "searching"
        arms = grid is not None and grid.arms
        reading = self.desk.logbook.read_only
        return Foot(self.PAGE, mode, reading, arms, works_on(self.PAGE, self.works))

    def _keys(self) -> Text:
        if self.app.screen is not self:
            self._shown_foot = None  # a box is open: its own keys work, and none of the page's
            return Text()
        self._shown_foot = self._foot()
        face = f"bold {self.app.theme_variables.get('foreground', '')}"
        return drawn(self._shown_foot, max(20, self.size.width), face)

    def on_descendant_focus(self) -> None:
        """A line to search in has the keys, or the list again."""
        self.on_grid_keys_changed()

    def on_grid_keys_changed(self) -> None:
        """The cursor, or what is being typed, is elsewhere: the keys that work now."""
        if self._foot() != self._shown_foot:
            self.query_one("#keys", Static).update(self._keys(), layout=False)

    def on_click(self, event: Click) -> None:
        """A click on the name of a part goes there."""
        if event.widget is None or event.widget.id != "parts":
            return
        names = cast(Static, event.widget).content
        steps = part_clicked(names, event.x) if isinstance(names, Text) else 0
        if steps:
            self.turn_part(steps)
