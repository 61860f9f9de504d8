"""The app: pages over one desk. One factory builds it, for the command line and for tests.

What is heavy (numpy, pydantic, the fits) is imported in a thread after the first paint.
"""

from __future__ import annotations

import gc
import os
import sys
import threading
import time
from collections.abc import Sequence
from contextlib import suppress
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import Any, ClassVar

from textual.app import SystemCommand
from textual.driver import Driver
from textual.filter import LineFilter
from textual.screen import Screen

from trackside.crew.backups import BackupRunner
from trackside.crew.corrections import ReasonWanted
from trackside.crew.workspace import TELLS_WHICH, Workspace
from trackside.errors import NotEntered, TracksideError
from trackside.logbook.samples import holds_samples
from trackside.preferences import THEMES as THEME_NAMES
from trackside.preferences import Preferences, data_folder
from trackside.reports.cautions import INVENTED
from trackside.tui.browsed import Browsed
from trackside.tui.commands import READING_ONLY, bind, commands_of, everywhere, key_of, writes
from trackside.tui.leaving import Leaving
from trackside.tui.messages import (
    Failed,
    FirstPaint,
    Kept,
    News,
    NoticesChanged,
    NotKept,
    Printed,
    ShedChanged,
    ShedReady,
)
from trackside.tui.notices import about_keeping, conflicts_said
from trackside.tui.page import Page
from trackside.tui.screens.board import Board
from trackside.tui.terminal import filters
from trackside.tui.terminal_input import read_any_bytes
from trackside.tui.themes import THEMES
from trackside.tui.unbroken import Unbroken
from trackside.tui.undo_actions import UndoActions
from trackside.tui.view import NEWS_FOR, View

_PAGES: dict[str, tuple[str, str]] = {
    "sheet": ("trackside.tui.screens.sheet", "Sheet"),
    "clicks": ("trackside.tui.screens.clicks", "Clicks"),
    "trend": ("trackside.tui.screens.trend", "TrendPage"),
    "debrief": ("trackside.tui.screens.debrief", "DebriefPage"),
    "shelf": ("trackside.tui.screens.shelf", "Shelf"),
    "shed": ("trackside.tui.screens.shed", "ShedPage"),
    "handbook": ("trackside.tui.screens.handbook", "Handbook"),
    "record": ("trackside.tui.screens.record", "RecordPage"),
    "conflicts": ("trackside.tui.screens.conflicts", "Conflicts"),
}
"""Imported when first opened: the pit board paints without them."""


TICK_S = 0.7
"""Seconds between looks for what another window has written."""


AGAIN_S = 2.0
"""Seconds between tries of what the file did not take."""

REFUSED_S = 5.0
"""Seconds for which it is said why the file did not take a value."""

HELD_S = 0.3
"""Seconds that a save waits for another program before it is said."""

HELD = (
    "another program is writing in the logbook: what has • is not in it yet, and goes in by itself"
)
NO_LONGER_HELD = "the logbook is free again: what waited is in it"


class Trackside(Leaving, UndoActions, Browsed, Unbroken):
    """trackside on a terminal."""

    CSS_PATH = "trackside.tcss"
    TITLE = "trackside"
    BINDINGS = everywhere()
    ENABLE_COMMAND_PALETTE = True
    COMMAND_PALETTE_BINDING = "ctrl+p"
    NOTIFICATION_TIMEOUT: ClassVar[float] = 4

    def __init__(
        self,
        path: Path,
        preferences: Preferences | None = None,
        *,
        backups: bool = False,
        read_only: bool = False,
    ) -> None:
        if os.environ.get("NO_COLOR") == "":  # no-color.org (from memory): only text in it counts
            del os.environ["NO_COLOR"]
        super().__init__()
        self._backup_due = backups and not read_only
        self._backs_up = self._backup_due
        self._look_due = True
        self._looked = False
        self._displaced = self._held = False
        self._again_at = 0.0
        self.preferences = preferences or Preferences()
        self.keymap = bind(self.preferences.keys)
        for theme in THEMES:
            self.register_theme(theme)
        self.theme = self.preferences.theme
        self.view = View()
        news = News(self.post_message, self.view, self.preferences)
        self.desk = Workspace(path, self.preferences, news, read_only=read_only)
        self.backing = BackupRunner(
            self.desk.logbook, lambda: self.is_running and self.post_message(NoticesChanged())
        )
        self._pages: dict[str, Page] = {}
        self.page_name = "board"
        self._asked = 0

    # ── start and end ───────────────────────────────────────────────────────────────────────

    def on_mount(self) -> None:
        """Pit board first; the rest behind it."""
        self.desk.logbook.hurry_in(threading.get_ident())
        self.set_keymap(self.keymap)
        self.install_screen(Board(), "board")
        self.push_screen("board")
        if self.desk.logbook.notice:
            self.notify(self.desk.logbook.notice, markup=False, severity="warning", timeout=10)
        self.set_interval(TICK_S, self._tick)
        self.catch_signals()

    def on_first_paint(self, _: FirstPaint) -> None:
        """What waited for the pit board: the dress of the other pages, a browser's last place, the
        shed."""
        self.stylesheet.read(Path(__file__).with_name("pages.tcss"))
        self.refresh_css(animate=False)
        self.come_back()
        self.make_ready()

    def refresh_css(self, animate: bool = True) -> None:
        """Textual's own; before the first screen stands there is nothing to lay out again."""
        if self.screen_stack:
            super().refresh_css(animate)
        else:
            self.stylesheet.set_variables(self.get_css_variables())

    def get_driver_class(self) -> type[Driver]:
        """Textual's own, no byte from the terminal too strange for it."""
        return self.hearing(read_any_bytes(super().get_driver_class()))

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Textual's own; for a terminal without Unicode, or one that wants no colour, ours."""
        own, ink = super().get_line_filters(), self.preferences.ink
        return filters(own, ink, bare=self.no_color, colours=self.console.color_system)

    def make_ready(self) -> None:
        """Read the damper shed in a thread."""
        self._asked += 1
        work = partial(self._read_shed, self._asked)
        self.run_worker(work, thread=True, exclusive=True, group="shed")

    async def run_action(self, *arguments: Any, **named: Any) -> bool:
        """An action that fails says so on the page; one that writes is off where nothing may be."""
        if self.desk.logbook.read_only and writes(arguments[0]):
            if isinstance(self.screen, Page):
                self.screen.say(READING_ONLY, "problem")
            else:
                self.notify(READING_ONLY, severity="warning", markup=False)
            return True
        try:
            return await super().run_action(*arguments, **named)
        except ReasonWanted as wanted:
            self.ask_why(wanted, wanted.again or partial(self.run_action, *arguments, **named))
            return True
        except TracksideError as error:
            self.tell(error, REFUSED_S)
            return True

    def _read_shed(self, number: int) -> None:
        """In a thread: the heavy imports, the shed, the fits of the car in hand."""
        from trackside.analysis.shed import Shed, warm
        from trackside.tui.screens import sheet  # noqa: F401  (imported ahead of the first key)

        logbook, conflicts = self.desk.logbook, 0
        try:
            logbook.warm()
            shed = Shed.of(logbook)
            newest = logbook.session_lines(limit=1)
            in_hand = self.desk.entity or (newest[0].entity if newest else "")
            warm(shed, logbook.session_record(in_hand))
            clock_is_wrong = self.desk.look_at_clock()
            if not self._looked:  # the first look reads every history
                conflicts = len(self.desk.look_for_conflicts())
                self._looked = True
        except TracksideError as error:
            if self.is_running and not self._left:
                self.post_message(Failed(error))
            return
        finally:
            _collect_from_here()
        self.post_message(ShedReady(shed, number, conflicts))
        if clock_is_wrong:
            self.post_message(NoticesChanged())
        if self._backup_due:
            self.backing.begin()
        elif not self._backs_up and self._look_due:
            self.backing.look_through()
        self._backup_due = self._look_due = False

    def on_shed_ready(self, message: ShedReady) -> None:
        """Estimates can be drawn; an older reading that comes in late is passed over."""
        if message.number != self._asked or not self.screen_stack:
            return  # asked for again meanwhile, or the program is ending
        self.desk.shed = message.shed
        if not self.desk.has_session:
            with suppress(TracksideError):
                self.desk.take_newest()
        self._say_conflicts(message.conflicts)
        self.draw_again()

    def on_notices_changed(self, _: NoticesChanged) -> None:
        """Something about the keeping of the logbook changed: the pit board says it."""
        if isinstance(self.page_shown, Board):
            self.draw_again()

    @property
    def page_shown(self) -> Page | None:
        """The page on top; None under a box, and once the program is ending: what comes from a
        thread or a timer may find that no screen is left."""
        top = self.screen_stack[-1] if self.screen_stack else None
        return top if isinstance(top, Page) else None

    def notices(self) -> list[str]:
        """What is said on the pit board until it is dealt with, a sentence each."""
        sample = INVENTED if holds_samples(self.desk.logbook) else ""
        told = (sample, *about_keeping(self.desk), self.backing.sentence())
        return [sentence for sentence in told if sentence]

    def on_shed_changed(self, _: ShedChanged) -> None:
        """A car, damper, build or sheet was written."""
        self.make_ready()

    def _tick(self) -> None:
        """Every TICK_S: is the terminal still ours, has another window written?"""
        self.tell_place()
        if sys.__stdin__ is not None and not self.is_headless and not self.is_web:
            try:
                os.tcgetpgrp(sys.__stdin__.fileno())
            except OSError:
                self.hung_up()
        self._say_held()
        self.desk.drafts.again()
        if not self.desk.is_settled:
            return  # a read would wait behind the saves, and every key with it
        try:
            if self._again_at < time.monotonic():
                self._again_at = time.monotonic() + AGAIN_S
                self._once_again()
            if not self._is_typing() and self.desk.catch_up():
                self.make_ready()
                self.draw_again()
                if self._looked:
                    self._say_conflicts(len(self.desk.look_for_conflicts()))
            if self._backs_up:
                self.backing.look(self.desk.newest_event(), self.desk.event_is_over)
            self._say_displaced()
        except TracksideError as error:
            self.tell(error)

    def _say_held(self) -> None:
        """Whether another program holds the file: said for as long as something waits for it, but
        not over what a key was just refused for. That it no longer does is said once."""
        held = self.desk.logbook.held_for > HELD_S
        self._held = self._held or held
        _, kind, until = self.view.news
        if kind == "error" and time.monotonic() < until:
            return
        if held:
            self.view.tell(HELD, "problem", 2 * TICK_S)
        if self._held and (page := self.page_shown) and not self._is_typing():
            if not held:
                self.view.tell(NO_LONGER_HELD, "kept")
            page.repeat_news()
            self._held = held

    def _once_again(self) -> None:
        """What the file did not take is tried once more, that of a record's page too. Why it is
        refused again is said where that is new, and over nothing that is being typed."""
        self.desk.outbox.again(silent=self._is_typing())
        again = getattr(self.page_shown, "again", None)
        if again is not None:
            again()

    def _say_displaced(self) -> None:
        """Another file took the logbook's place: said at once, and it stays on the pit board."""
        why = self.desk.logbook.displaced
        if why and not self._displaced and (page := self.page_shown):
            self._displaced = True
            page.announce(why, "error")

    def _is_typing(self) -> bool:
        """Whether a cell is being typed in, or a question stands over the page: what the answer
        was given over must not change unseen."""
        top = self.screen_stack[-1] if self.screen_stack else None
        grids = [page.grid for page in self._pages.values() if hasattr(page, "grid")]
        typed = any(grid.buffer is not None or grid.handing for grid in grids)
        return typed or self.asking or not isinstance(top, Page)

    def _say_conflicts(self, new: int) -> None:
        """Say on the page that there are so many new ones."""
        if new and (page := self.page_shown):
            page.announce(conflicts_said(new), "problem")

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
        while len(self.screen_stack) > 2:
            self.pop_screen()
        if name == "board":
            if len(self.screen_stack) == 2 and not isinstance(self.screen, Board):
                self.pop_screen()
        elif len(self.screen_stack) == 2 and not isinstance(self.screen, Board):
            self.switch_screen(page)
        else:
            self.push_screen(page)

    def _page(self, name: str) -> Page | None:
        if name == "board":
            return self.get_screen("board")  # type: ignore[return-value]
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

    # ── news ────────────────────────────────────────────────────────────────────────────────

    def on_kept(self, message: Kept) -> None:
        """The logbook has committed a value: its mark goes."""
        self.desk.signing.written()
        if not self.screen_stack:
            return  # the program is ending: there is no page left to mark
        kept = getattr(self.page_shown, "kept", None)
        if kept is not None:
            kept(message.path)
        if message.path in TELLS_WHICH:  # only now does the logbook have the new order
            self.desk.compare_again()
            self.draw_again()

    def on_not_kept(self, message: NotKept) -> None:
        """A write failed; the value stays on the table, and why is not drawn over at once."""
        if not self._left:
            self.tell(message.error, REFUSED_S)

    def on_failed(self, message: Failed) -> None:
        """Something in the background failed."""
        self.tell(message.error)

    def on_printed(self, message: Printed) -> None:
        """A page is in a file: where."""
        where = f"{self.served}open in a browser and print: {message.path}"
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

    # ── actions that hold everywhere ────────────────────────────────────────────────────────

    def action_help(self) -> None:
        """The keys of what has the focus; the handbook when they are asked for once more."""
        from trackside.tui.screens.help import HelpCard

        if isinstance(self.screen, Page):
            card = HelpCard(self.screen.PAGE, self.screen.focused)
            self.push_screen(card, self._helped)

    def _helped(self, book: bool | None) -> None:
        if book:
            self.call_later(self.show_page, "handbook")

    def action_copy(self) -> None:
        """The table of the page to the clipboard of the terminal, and to a file: not every
        terminal hands it on."""
        from trackside.tui.copying import beside, table_of

        if isinstance(self.screen, Page):
            text = table_of(self.screen)
            if holds_samples(self.desk.logbook) and INVENTED not in text:
                text += f"{INVENTED}\n"
            self.copy_to_clipboard(text)
            told = f"copied: {len(text.splitlines())} lines, to the terminal's clipboard"
            if not self.desk.logbook.read_only:
                file = beside(data_folder(), self.screen.PAGE, text)
                told += f" and {self.served}to {file}"
            self.screen.say(told, "place")

    def action_press(self, key: str) -> None:
        """A key of the key lines was clicked."""
        self.simulate_key(key)

    def action_theme(self) -> None:
        """The next theme."""
        names = list(THEME_NAMES)
        self.theme = names[(names.index(self.theme) + 1) % len(names)]
        self.call_after_refresh(self._redraw_all)

    def _redraw_all(self) -> None:
        """The page, and those that a form lets be seen under it."""
        for screen in self.screen_stack:
            if isinstance(screen, Page):
                screen.redraw()

    def action_command_palette(self) -> None:
        """Textual's own list of commands, mended."""
        from trackside.tui.command_list import Palette

        if not isinstance(self.screen, Palette):
            self.push_screen(Palette(id="--command-palette"))

    def get_system_commands(self, screen: Screen) -> Any:
        """The palette lists the commands of the page."""
        page = screen.PAGE if isinstance(screen, Page) else "board"
        for command in commands_of(page):
            yield SystemCommand(
                f"{command.words}",
                f"key {command.key_shown}",
                partial(self.run_action, command.action, screen if command.pages else self),
            )


def build(path: Path, preferences: Preferences | None = None) -> Trackside:
    """The app over the logbook at `path`; LogbookError when it cannot be opened."""
    return Trackside(path, preferences)


def _collect_from_here() -> None:
    """A start that went without the collector of rubbish (`cli`) has it back. What is imported by
    now stays for good: to look through it again and again would hold up keys."""
    if not gc.isenabled():
        gc.freeze()
        gc.enable()


def run(
    path: Path, preferences: Preferences, *, backups: bool = False, read_only: bool = False
) -> None:
    """Open the app and stay until it is left; with `backups`, one is made behind the first page."""
    app = Trackside(path, preferences, backups=backups, read_only=read_only)
    app.run()
    if app.return_code:
        raise SystemExit(app.return_code)
