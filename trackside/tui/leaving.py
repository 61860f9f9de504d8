"""How the program ends: whatever way it does, what stands on the screens is kept first."""

from __future__ import annotations

import asyncio
import os
import signal
from contextlib import suppress
from functools import partial

from textual.app import App

from trackside.crew.workspace import Workspace
from trackside.errors import LogbookError, TracksideError
from trackside.tui.page import Page

_LAST_S = 0.5
"""Seconds that a second exit waits for another program."""


class Leaving(App[None]):
    """The part of the app that leaves, when it is asked to and when it is not."""

    desk: Workspace
    _pages: dict[str, Page]
    _hanging_up = False
    _left = False
    """Whether everything was kept, or what was refused was told once."""

    def tell(self, error: TracksideError) -> None:
        """An error as a sentence on the page."""
        raise NotImplementedError

    def catch_signals(self) -> None:
        """A terminal that closes, and whoever ends the program, let it keep everything first."""
        with suppress(ValueError, AttributeError):
            signal.signal(signal.SIGHUP, self.hung_up)
        with suppress(NotImplementedError, RuntimeError, ValueError):
            loop = asyncio.get_running_loop()
            loop.add_signal_handler(signal.SIGTERM, partial(self._leave_now, 143))

    def hung_up(self, *_: object) -> None:
        """The terminal is gone: keep everything, then go without drawing. Told again meanwhile (by
        the kernel, by the watch over a server), what is under way goes on."""
        if self._hanging_up:
            return
        self._hanging_up = True
        self._keep_all()
        os._exit(129)

    def _leave_now(self, code: int) -> None:
        self._keep_all()
        self._left = True
        self.exit(return_code=code)

    def _keep_all(self) -> list[str]:
        """Everything that stands on the screens goes to the logbook; the paths it refused."""
        return [*self._hand_up(), *self._flushed()]

    def _flushed(self) -> list[str]:
        try:
            return self.desk.flush()
        except TracksideError as error:
            return [str(error)]

    def _hand_up(self) -> list[str]:
        """Everything that stands on the screens is handed to the logbook; what cannot be."""
        told: list[str] = []
        for page in self._pages.values():
            leave = getattr(page, "leave", None)
            if leave is not None:
                try:
                    leave()
                except TracksideError as error:  # its text is held; the rest is kept all the same
                    told.append(str(error))
        try:
            for form in self.screen_stack:
                unfinished = getattr(form, "unfinished", None)  # a form: imported only when used
                if unfinished is not None:
                    self.desk.hold_form(*unfinished())
        except TracksideError as error:
            told.append(str(error))
        return told

    async def action_quit(self) -> None:
        """Leave; what is half typed is kept first. What the logbook refuses is told, and a second
        time leaves without it; it is in a file of its own by then, and is offered again."""
        refused = self._hand_up()
        if not self._left:
            refused += await asyncio.to_thread(self._flushed)
        if refused and not self._left:
            self._left = True
            told = ", ".join(refused[:3])
            self.tell(LogbookError(f"not kept: {told}", "fix the cause, or leave again without it"))
            return
        with suppress(TracksideError):
            self.desk.close(_LAST_S if self._left else None)
        self._left = True
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
            self.desk.close(_LAST_S if self._left else None)
