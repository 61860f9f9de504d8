"""An app of pages over one desk: which one is on top, and what it is told to say."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import partial
from importlib import import_module
from inspect import isawaitable
from pathlib import Path
from typing import cast

from trackside.crew.corrections import ReasonWanted
from trackside.crew.workspace import Workspace
from trackside.errors import NotEntered, TracksideError
from trackside.preferences import Preferences
from trackside.tui.commands import key_of
from trackside.tui.key_queue import KeyQueue
from trackside.tui.messages import Failed, News, Printed
from trackside.tui.page import Page
from trackside.tui.unbroken import Unbroken
from trackside.tui.view import NEWS_FOR, View
from trackside.units import one_line

_PAGES: dict[str, tuple[str, str]] = {
    "sheet": ("trackside.tui.screens.sheet", "Sheet"),
    "clicks": ("trackside.tui.screens.clicks", "Clicks"),
    "trend": ("trackside.tui.screens.trend", "TrendPage"),
    "debrief": ("trackside.tui.screens.debrief", "DebriefPage"),
    "shelf": ("trackside.tui.screens.shelf", "Shelf"),
    "shed": ("trackside.tui.screens.shed", "ShedPage"),
    "book": ("trackside.tui.screens.book", "BookPage"),
    "handbook": ("trackside.tui.screens.handbook", "Handbook"),
    "record": ("trackside.tui.screens.record", "RecordPage"),
    "conflicts": ("trackside.tui.screens.conflicts", "Conflicts"),
}
"""Imported when first opened: the pit board paints without them."""


class Pages(KeyQueue, Unbroken):
    """An app that shows one page at a time, of one logbook."""

    def __init__(self, path: Path, preferences: Preferences, *, read_only: bool) -> None:
        super().__init__()
        self.preferences = preferences
        self.view = View()
        news = News(self.post_message, self.view, preferences)
        self.desk = Workspace(path, preferences, news, read_only=read_only)
        self._pages: dict[str, Page] = {}
        self.page_name = "board"
        self.asking = False
        """Whether a reason is asked for, or what was asked is being done."""

    @property
    def page_shown(self) -> Page | None:
        """The page on top; None under a box, and once the program is ending: what comes from a
        thread or a timer may find that no screen is left."""
        top = self.screen_stack[-1] if self.screen_stack else None
        return top if isinstance(top, Page) else None

    @property
    def opened(self) -> Iterable[Page]:
        """The pages that were opened, but the pit board."""
        return self._pages.values()

    def pressed(self) -> None:
        """What was said has been read."""
        self.view.pressed()

    # ── pages ───────────────────────────────────────────────────────────────────────────────

    def action_page(self, name: str) -> None:
        """The key of a page: it speaks of what is under the cursor of this one."""
        if isinstance(self.screen, Page) and not self.screen.hand_over(name):
            return
        self.show_page(name)

    def show_page(self, name: str) -> None:
        """Go to a page; the pit board lies under all of them."""
        page = self._page(name)
        if page is None or self.screen is page:
            return
        self.page_name = name
        while len(self.screen_stack) > 1:
            self.pop_screen()
        if name != "board":
            self.push_screen(page)

    def _page(self, name: str) -> Page | None:
        if name == "board":
            return cast(Page, self.get_screen("board"))
        if name not in self._pages:
            module, kind = _PAGES[name]
            page: Page = getattr(import_module(module), kind)()
            self.install_screen(page, name)
            self._pages[name] = page
        return self._pages[name]

    def draw_again(self) -> None:
        """Draw the page again, while there is one."""
        if page := self.page_shown:
            page.redraw()

    # ── what a page says ────────────────────────────────────────────────────────────────────

    def on_failed(self, message: Failed) -> None:
        """Something in the background failed."""
        self.tell(message.error)

    def on_printed(self, message: Printed) -> None:
        """A page is in a file: where."""
        where = f"{self.served}open in a browser and print: {message.path}"
        if message.to_do is not None:
            where += f", and what to do: {message.to_do.name} beside it"
        if page := self.page_shown:
            page.announce(where, "place")
        elif self.screen_stack:
            self.notify(where, markup=False)

    @property
    def served(self) -> str:
        """Begins a sentence about a file: a browser may be another machine than the one with the
        file."""
        return "on the machine that serves these pages, " if self.is_web else ""

    def not_taken(self, keys: list[str]) -> None:
        """Say which keys the page that came up did not take."""
        if keys and (page := self.page_shown):
            told = " ".join(keys)
            page.announce(f"pressed before this page was there: {told} · not taken", "problem")

    def tell(self, error: TracksideError, seconds: float = NEWS_FOR) -> None:
        """An error as a sentence on the page, said again where that is drawn anew meanwhile."""
        if isinstance(error, NotEntered):
            key = key_of(f"new_{error.kind}")
            error = NotEntered(error.kind, f"{key} on the pit board enters one")
        if page := self.page_shown:
            self.view.tell(str(error), "error", seconds)
            page.say(str(error), "error")
        elif self.screen_stack:
            self.notify(str(error), title=error.title, severity="error", markup=False)

    def repeat_news(self) -> None:
        """What was just announced, over what the page on top says of itself."""
        if page := self.page_shown:
            page.repeat_news()

    # ── corrections after the event ─────────────────────────────────────────────────────────

    def survive(self, error: Exception) -> bool:
        """A correction that wants its reason asks for it, from wherever it was tried."""
        if not isinstance(error, ReasonWanted) or not self.screen_stack or not self.is_running:
            return super().survive(error)
        self.ask_why(error, error.again)
        return True

    def ask_why(self, wanted: ReasonWanted, again: Callable[[], object] | None) -> None:
        """Ask for the reason of a correction after the event, then do what was asked."""
        from trackside.reports.naming import place_in_words
        from trackside.tui.widgets.ask import Ask, Question

        desk, page = self.desk, self.screen
        place = place_in_words(wanted.path)
        question = Question("why", "Why", hint="one reason for this session's corrections")
        caution = f"This event is over: say why {place} is corrected."

        def answered(answers: dict[str, str] | None) -> None:
            reason = one_line((answers or {}).get("why", ""))
            if reason:
                hold({"why": ""})
            if reason and again is not None:
                desk.corrections.give(wanted.session or desk.entity, reason)
                self.call_next(self._once_more, again)
                return
            self.asking = False
            if isinstance(page, Page):
                page.announce(str(wanted), "problem")

        self.asking = True
        form = "Correction after the event"
        question = replace(question, text=desk.held(form).get("why", ""))
        hold = partial(desk.hold_form, form)
        self.push_screen(Ask(form, (question,), caution, hold=hold), answered)

    async def _once_more(self, again: Callable[[], object]) -> None:
        try:
            found = again()
            if isawaitable(found):
                await found
        except TracksideError as error:
            self.tell(error)
        finally:
            self.asking = False
        self.draw_again()
