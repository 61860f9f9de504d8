"""How the program ends: whatever way it does, what stands on the screens is kept first."""

from __future__ import annotations

import asyncio
import os
import signal
from contextlib import suppress
from functools import partial

from trackside.errors import LogbookError, TracksideError
from trackside.tui.layer import Layer
from trackside.tui.pages import Pages

_LAST_S = 0.5
"""Seconds that a second exit waits for another program."""


class Ending:
    """Ends the app, when it is asked to and when it is not."""

    def __init__(self, app: Pages) -> None:
        self._app = app
        self._hanging_up = False
        self.kept = False
        """Whether everything was kept, or what was refused was told once."""

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
        self.kept = True
        self._app.exit(return_code=code)

    def _keep_all(self) -> list[str]:
        """Everything that stands on the screens goes to the logbook; the paths it refused."""
        return [*self._hand_up(), *self._flushed()]

    def _flushed(self) -> list[str]:
        try:
            return self._app.desk.flush()
        except TracksideError as error:
            return [str(error)]

    def _hand_up(self) -> list[str]:
        """Everything that stands on the screens is handed to the logbook; what cannot be."""
        told: list[str] = []
        for page in self._app.opened:
            try:
                page.leave()
            except TracksideError as error:  # its text is held; the rest is kept all the same
                told.append(str(error))
        try:
            for layer in self._app.screen_stack:
                if isinstance(layer, Layer):
                    self._app.desk.hold_form(*layer.unfinished())
        except TracksideError as error:
            told.append(str(error))
        return told

    async def quit(self) -> None:
        """Leave; what is half typed is kept first. What the logbook refuses is told, and a second
        time leaves without it; it is in a file of its own by then, and is offered again."""
        refused = self._hand_up()
        if not self.kept:
            refused += await asyncio.to_thread(self._flushed)
        if refused and not self.kept:
            self.kept = True
            told = ", ".join(refused[:3])
            remedy = "fix the cause, or leave again without it"
            self._app.tell(LogbookError(f"not saved: {told}", remedy))
            return
        self._close()
        self.kept = True
        self._app.exit()

    def told_to_go(self) -> None:
        """As by a browser's page that closed: keep while the pages still stand."""
        if not self.kept:
            self._keep_all()

    def over(self) -> None:
        """Whatever way it ends, nothing stays unkept."""
        self.told_to_go()
        self._close()

    def _close(self) -> None:
        self._app.is_over = True
        with suppress(TracksideError):
            self._app.desk.close(_LAST_S if self.kept else None)
