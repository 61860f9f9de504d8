"""The app: pages over one desk. One factory builds it, for the command line and for tests.

What is heavy (numpy, pydantic, the fits) is imported in a thread after the first paint.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import Any, ClassVar

from textual.app import App, SystemCommand
from textual.filter import LineFilter, Monochrome
from textual.screen import Screen

from trackside.errors import LogbookError, TracksideError
from trackside.preferences import THEMES as THEME_NAMES
from trackside.preferences import Preferences
from trackside.tui.commands import READING_ONLY, bind, commands_of, everywhere, writes
from trackside.tui.desk import SHED_KINDS, Desk
from trackside.tui.messages import DeskChanged, Failed, Kept, NotKept, ShedChanged, ShedReady
from trackside.tui.page import Page
from trackside.tui.screens.board import Board
from trackside.tui.terminal import Colourless, Plain
from trackside.tui.themes import THEMES

_PAGES: dict[str, tuple[str, str]] = {
    "sheet": ("trackside.tui.screens.sheet", "Sheet"),
    "clicks": ("trackside.tui.screens.clicks", "Clicks"),
    "trend": ("trackside.tui.screens.trend", "TrendPage"),
    "debrief": ("trackside.tui.screens.debrief", "DebriefPage"),
    "shelf": ("trackside.tui.screens.shelf", "Shelf"),
    "shed": ("trackside.tui.screens.shed", "ShedPage"),
    "handbook": ("trackside.tui.screens.handbook", "Handbook"),
    "record": ("trackside.tui.screens.record", "RecordPage"),
}
"""Imported when first opened: the pit board paints without them."""


AFTER_FIRST_PAINT = 0.12
"""Seconds that the heavy imports wait, so that the pit board is on the screen before them."""


class Trackside(App[None]):
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
        super().__init__()
        self._backup_due = backups and not read_only
        self.preferences = preferences or Preferences()
        self.keymap = bind(self.preferences.keys)
        for theme in THEMES:
            self.register_theme(theme)
        self.theme = self.preferences.theme
        self.desk = Desk(path, self.preferences, self.post_message, read_only=read_only)
        self._pages: dict[str, Page] = {}
        self.page_name = "board"
        self._asked = 0
        self._left = False

    # ── start and end ───────────────────────────────────────────────────────────────────────

    def on_mount(self) -> None:
        """Pit board first; the rest behind it."""
        self.set_keymap(self.keymap)
        self.install_screen(Board(), "board")
        self.push_screen("board")
        if self.desk.logbook.notice:
            self.notify(self.desk.logbook.notice, markup=False, severity="warning", timeout=10)
        self.set_timer(AFTER_FIRST_PAINT, self._make_ready)
        self.set_interval(1.0, self._tick)
        self._catch_signals()

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Textual's own; for a terminal without Unicode, or one that wants no colour, ours."""
        found = [f for f in super().get_line_filters() if not isinstance(f, Monochrome)]
        if self.preferences.ink != "braille":
            found.append(Plain(console=self.preferences.ink == "blocks"))
        return [*found, Colourless()] if self.no_color else found

    def _make_ready(self) -> None:
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
        except TracksideError as error:
            self.tell(error)
            return True

    def _read_shed(self, number: int) -> None:
        """In a thread: the heavy imports, the shed, the fits of the car in hand."""
        from trackside.review.shed import Shed, warm
        from trackside.tui.screens import sheet  # noqa: F401  (imported ahead of the first key)

        logbook = self.desk.logbook
        try:
            logbook.warm()
            shed = Shed.of(logbook)
            newest = logbook.session_lines(limit=1)
            in_hand = self.desk.entity or (newest[0].entity if newest else "")
            warm(shed, logbook.state(in_hand) if in_hand else None)
        except TracksideError as error:
            if self.is_running and not self._left:
                self.post_message(Failed(error))
            return
        self.post_message(ShedReady(shed, number))
        if self._backup_due:
            self._backup_due = False
            threading.Thread(target=self._back_up, name="backup", daemon=True).start()

    def _back_up(self) -> None:
        """In a thread that leaving does not wait for: one proved backup a start."""
        from trackside.logbook.rotation import keep_backups

        try:
            keep_backups(self.desk.logbook)
        except TracksideError as error:
            if self.is_running:
                self.post_message(Failed(error))

    def on_shed_ready(self, message: ShedReady) -> None:
        """Estimates can be drawn; an older reading that comes in late is passed over."""
        if message.number != self._asked:
            return
        self.desk.shed = message.shed
        if not self.desk.has_session:
            with suppress(TracksideError):
                self.desk.take_newest()
        self._redraw()

    def on_shed_changed(self, _: ShedChanged) -> None:
        """A car, damper, build or sheet was written."""
        self._make_ready()

    def _catch_signals(self) -> None:
        with suppress(ValueError, AttributeError):
            signal.signal(signal.SIGHUP, self._hung_up)
        with suppress(NotImplementedError, RuntimeError, ValueError):
            import asyncio

            loop = asyncio.get_running_loop()
            loop.add_signal_handler(signal.SIGTERM, partial(self._leave_now, 143))

    def _hung_up(self, *_: object) -> None:
        """The terminal is gone: keep everything, then go without drawing."""
        self._keep_all()
        os._exit(129)

    def _leave_now(self, code: int) -> None:
        self._keep_all()
        self.exit(return_code=code)

    def _keep_all(self) -> list[str]:
        """Everything that stands on the screens goes to the logbook; the paths it refused."""
        try:
            for page in self._pages.values():
                leave = getattr(page, "leave", None)
                if leave is not None:
                    leave()
            for form in self.screen_stack:
                unfinished = getattr(form, "unfinished", None)  # a form: imported only when used
                if unfinished is not None:
                    self.desk.hold_form(*unfinished())
            return self.desk.flush()
        except TracksideError as error:
            return [str(error)]

    def _tick(self) -> None:
        """Once a second: is the terminal still ours, has another window written?"""
        if sys.__stdin__ is not None and not self.is_headless and not self.is_web:
            try:
                os.tcgetpgrp(sys.__stdin__.fileno())
            except OSError:
                self._hung_up()
        try:
            if self.desk.changed_elsewhere():
                self.desk.again()
                self._make_ready()
                self._redraw()
        except TracksideError as error:
            self.tell(error)

    async def action_quit(self) -> None:
        """Leave; what is half typed is kept first. What the logbook refuses is told, and a second
        time leaves without it."""
        refused = self._keep_all()
        if refused and not self._left:
            self._left = True
            told = ", ".join(refused[:3])
            self.tell(LogbookError(f"not kept: {told}", "mend the cause, or leave once more"))
            return
        self._left = True
        with suppress(TracksideError):
            self.desk.close()
        self.exit()

    def on_exit_app(self) -> None:
        """Told to go, as by a browser's page that closed: keep while the pages still stand."""
        if not self._left:
            self._keep_all()

    def on_unmount(self) -> None:
        """Whatever way it ends, nothing stays unkept."""
        if not self._left:
            self._keep_all()
        with suppress(TracksideError):
            self.desk.close()

    # ── pages ───────────────────────────────────────────────────────────────────────────────

    def action_page(self, name: str) -> None:
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

    def _redraw(self) -> None:
        if isinstance(self.screen, Page):
            self.screen.redraw()

    def on_desk_changed(self, _: DeskChanged) -> None:
        """Draw what is on the table now."""
        self._redraw()

    # ── news ────────────────────────────────────────────────────────────────────────────────

    def on_kept(self, message: Kept) -> None:
        """The logbook has committed a value: its mark goes."""
        kept = getattr(self.screen, "kept", None)
        if kept is not None:
            kept(message.path)

    def on_not_kept(self, message: NotKept) -> None:
        """A write failed; the value stays on the table."""
        if not self._left:
            self.tell(message.error)

    def on_failed(self, message: Failed) -> None:
        """Something in the background failed."""
        self.tell(message.error)

    def tell(self, error: TracksideError) -> None:
        """An error as a sentence on the page."""
        if isinstance(self.screen, Page):
            self.screen.say(str(error), "error")
        else:
            self.notify(str(error), title=error.title, severity="error", markup=False)

    # ── actions that hold everywhere ────────────────────────────────────────────────────────

    def action_undo(self) -> None:
        """Take back the last change of this laptop."""
        self._take_back(self.desk.logbook.undo, "nothing to undo", "taken back")

    def action_redo(self) -> None:
        """Take back the undo."""
        self._take_back(self.desk.logbook.redo, "nothing to redo", "again")

    def _take_back(self, act: Callable[[], list[Any]], none: str, done: str) -> None:
        try:
            undone = act()
            if undone:
                self.desk.again()
            if any(item.kind in SHED_KINDS for item in undone):
                self._make_ready()
        except TracksideError as error:
            self.tell(error)
            return
        self._redraw()
        if isinstance(self.screen, Page):
            sentences = "; ".join(_undone(item, self.preferences) for item in undone)
            self.screen.announce(f"{done}: {sentences}" if undone else none)

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

    def get_system_commands(self, screen: Screen) -> Any:
        """The palette lists the commands of the page."""
        page = screen.PAGE if isinstance(screen, Page) else "board"
        for command in commands_of(page):
            yield SystemCommand(
                f"{command.words}",
                f"key {command.key_shown}",
                partial(self.run_action, command.action, screen),
            )


def _undone(item: Any, preferences: Preferences) -> str:
    from trackside.records.fields import words_for

    changed = []
    for path, (before, after) in item.changes.items():
        was, now = (_spoken(item.kind, path, value, preferences) for value in (before, after))
        changed.append(f"{words_for(path)}: {was} → {now}")
    text = ", ".join(changed[:2]) + (" …" if len(changed) > 2 else "")
    return f"{item.kind} {text}".strip()


def _spoken(kind: str, path: str, value: Any, preferences: Preferences) -> str:
    if isinstance(value, dict) and kind == "session":
        return str(value.get("typed", "…"))
    if value is None:
        return "empty"
    if kind == "session":
        return str(value)
    from trackside.tui.forms import told

    return told(kind, path, value, preferences)


def build(path: Path, preferences: Preferences | None = None) -> Trackside:
    """The app over the logbook at `path`; LogbookError when it cannot be opened."""
    return Trackside(path, preferences)


def run(
    path: Path, preferences: Preferences, *, backups: bool = False, read_only: bool = False
) -> None:
    """Open the app and stay until it is left; with `backups`, one is made behind the first page."""
    app = Trackside(path, preferences, backups=backups, read_only=read_only)
    app.run()
    if app.return_code:
        raise SystemExit(app.return_code)
