"""The app: pages over one desk. One factory builds it, for the command line and for tests.

What is heavy (numpy, pydantic, the fits) is imported in a thread after the first paint.
"""

from __future__ import annotations

import gc
import os
import sys
import threading
from collections.abc import Sequence
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import Any, ClassVar

from textual.app import SystemCommand
from textual.driver import Driver
from textual.events import Resize
from textual.filter import LineFilter
from textual.screen import Screen

from trackside.crew.backups import BackupRunner
from trackside.crew.corrections import ReasonWanted
from trackside.crew.workspace import TELLS_WHICH
from trackside.errors import TracksideError
from trackside.logbook.samples import holds_samples
from trackside.preferences import THEMES as THEME_NAMES
from trackside.preferences import Preferences, data_folder
from trackside.reports.cautions import INVENTED
from trackside.tui.browser import Browser
from trackside.tui.commands import READING_ONLY, bind, commands_of, everywhere, writes
from trackside.tui.ending import Ending
from trackside.tui.messages import (
    Failed,
    FirstPaint,
    Kept,
    NoticesChanged,
    NotKept,
    ShedChanged,
    ShedReady,
)
from trackside.tui.notices import about_keeping
from trackside.tui.page import Page
from trackside.tui.pages import Pages
from trackside.tui.screens.board import Board
from trackside.tui.taking_back import set_again, take_back
from trackside.tui.terminal import filters
from trackside.tui.terminal_input import read_any_bytes
from trackside.tui.themes import THEMES
from trackside.tui.touch import DrawAgain, Touched
from trackside.tui.watching import TICK_S, Watch

REFUSED_S = 5.0
"""Seconds for which it is said why the file did not take a value."""


class Trackside(Pages):
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
        self.browser = Browser(self)  # before Textual asks for the driver that hears it
        super().__init__(path, preferences or Preferences(), read_only=read_only)
        self._backup_due = backups and not read_only
        self._backs_up = self._backup_due
        self._look_due = True
        self.keymap = bind(self.preferences.keys)
        for theme in THEMES:
            self.register_theme(theme)
        self.theme = self.preferences.theme
        self.backing = BackupRunner(
            self.desk.logbook, lambda: self.is_running and self.post_message(NoticesChanged())
        )
        self.watching = Watch(self, self.backing if self._backs_up else None)
        self.ending = Ending(self)
        self._asked = 0
        self._invented = False
        """Whether a sample weekend was seen in the logbook: it never leaves it."""

    # ── start and end ───────────────────────────────────────────────────────────────────────

    def get_default_screen(self) -> Screen:
        """The pit board, which lies under all pages. Nothing is laid out before it."""
        self.desk.logbook.hurry_in(threading.get_ident())
        board = Board()
        self.install_screen(board, "board")
        return board

    def on_mount(self) -> None:
        """The pit board is on its way; the rest behind it."""
        self.set_keymap(self.keymap)
        if self.desk.logbook.notice:
            self.notify(self.desk.logbook.notice, markup=False, severity="warning", timeout=10)
        self.set_interval(TICK_S, self._tick)
        self.ending.catch_signals()

    def _tick(self) -> None:
        """Every TICK_S: where are we, is the terminal still ours, what became of the logbook?"""
        self.browser.tell_place()
        if sys.__stdin__ is not None and not self.is_headless and not self.is_web:
            try:
                os.tcgetpgrp(sys.__stdin__.fileno())
            except OSError:
                self.ending.hung_up()
        self.watching.look()

    async def action_quit(self) -> None:
        """Leave, everything kept."""
        await self.ending.quit()

    def on_exit_app(self) -> None:
        """Told to go by another than the person here."""
        self.ending.told_to_go()

    def on_unmount(self) -> None:
        """The program is over."""
        self.ending.over()

    def on_first_paint(self, _: FirstPaint) -> None:
        """What waited for the pit board: the dress of the other pages, a browser's last place, the
        shed."""
        self.stylesheet.read(Path(__file__).with_name("pages.tcss"))
        self.refresh_css(animate=False)
        self.browser.come_back()
        self.make_ready()

    def refresh_css(self, animate: bool = True) -> None:
        """Textual's own; before the first screen stands there is nothing to lay out again."""
        if self.screen_stack:
            super().refresh_css(animate)
        else:
            self.stylesheet.set_variables(self.get_css_variables())

    def get_driver_class(self) -> type[Driver]:
        """Textual's own, no byte from the terminal too strange for it."""
        return self.browser.hearing(read_any_bytes(super().get_driver_class()))

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
            if not self.watching.knows_conflicts:  # the first look reads every history
                conflicts = len(self.desk.disputes.look())
                self.watching.knows_conflicts = True
        except TracksideError as error:
            if self.is_running and not self.ending.kept:
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
        self.view.keep_news()
        self.watching.say_conflicts(message.conflicts)
        self.draw_again()

    def on_notices_changed(self, _: NoticesChanged) -> None:
        """Something about the keeping of the logbook changed: the pit board says it."""
        if isinstance(self.page_shown, Board):
            self.draw_again()

    def notices(self) -> list[str]:
        """What is said on the pit board until it is dealt with, a sentence each."""
        sample = INVENTED if self._is_invented() else ""
        told = (sample, *about_keeping(self.desk), self.backing.sentence())
        return [sentence for sentence in told if sentence]

    def _is_invented(self) -> bool:
        self._invented = self._invented or holds_samples(self.desk.logbook)
        return self._invented

    def on_shed_changed(self, _: ShedChanged) -> None:
        """A car, damper, build or sheet was written."""
        self.make_ready()

    # ── news ────────────────────────────────────────────────────────────────────────────────

    def on_kept(self, message: Kept) -> None:
        """The logbook has committed a value: its mark goes."""
        self.desk.signing.written()
        if not self.screen_stack:
            return  # the program is ending: there is no page left to mark
        if page := self.page_shown:
            page.kept(message.path)
        if message.path in TELLS_WHICH:  # only now does the logbook have the new order
            self.desk.compare_again()
            self.draw_again()

    def on_not_kept(self, message: NotKept) -> None:
        """A write failed; the value stays on the table, and why is not drawn over at once."""
        if not self.ending.kept:
            self.tell(message.error, REFUSED_S)

    # ── a browser ───────────────────────────────────────────────────────────────────────────

    def on_resize(self, event: Resize) -> None:
        """Another size."""
        self.browser.resized(event)

    def on_touched(self, message: Touched) -> None:
        """A button was touched."""
        self.browser.touched(message.name)

    def on_draw_again(self, _: DrawAgain) -> None:
        """The browser's terminal is empty."""
        self.browser.draw_again()

    # ── actions that hold everywhere ────────────────────────────────────────────────────────

    def action_undo(self) -> None:
        """Show what the last change of this laptop was, and take it back."""
        take_back(self)

    def action_redo(self) -> None:
        """Show what the last undo took back, and set it again."""
        set_again(self)

    def action_conflicts(self) -> None:
        """Where windows or laptops differ."""
        self.show_page("conflicts")

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
            if self._is_invented() and INVENTED not in text:
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
