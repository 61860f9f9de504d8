"""An app that goes on when something in it fails: a line on the page, the rest in a log file.

Textual ends the program at any exception that leaves a handler, and has no public hook for it. The
two private names that take its place are used in this file alone.
"""

from __future__ import annotations

from collections import Counter
from functools import wraps
from typing import Any

from textual.app import App, ScreenStackError
from textual.errors import NoWidget
from textual.events import Event, MouseEvent, Resize
from textual.message import Message
from textual.message_pump import MessagePump
from textual.screen import Screen
from textual.worker import WorkerFailed

from trackside.crew import error_log
from trackside.errors import TracksideError
from trackside.tui.page import Page

_LOGGED = 20
"""Times that one place of the program is logged in full: what fails at each frame fills no disk."""


class Unbroken(App[None]):
    """What fails in one handler, action, timer or thread is reported and ends nothing."""

    def __init__(self) -> None:
        super().__init__()
        self._failed: Counter[tuple[str, str, int]] = Counter()
        self._logged_at = ""
        self.is_over = False
        """Whether the program is ending: its pages go, and what still asks is told nothing."""

    async def on_event(self, event: Event) -> None:
        """Textual's own; a mouse on what has just gone, and is still drawn, is on nothing; nor is
        one that comes in as the program ends and its pages are gone."""
        if not isinstance(event, MouseEvent) or not self._has_gone(event):
            await super().on_event(event)

    def _has_gone(self, event: MouseEvent) -> bool:
        try:
            widget, _ = self.screen.get_widget_at(event.x, event.y)
        except NoWidget:
            return False
        except ScreenStackError:
            return True
        return not widget.is_attached

    def survive(self, error: Exception) -> bool:
        """Report the error and go on; False while there is no page yet that could say it."""
        if self.is_over:
            if not isinstance(error, TracksideError):
                error_log.note(error)
            return True
        page = next((s for s in reversed(self.screen_stack) if isinstance(s, Page)), None)
        if page is None or not self.is_running:
            return False
        if isinstance(error, TracksideError):
            if page is self.screen:
                page.announce(str(error), "error")
            else:
                self.notify(str(error), title=error.title, severity="error", markup=False)
        else:
            self._report(page, error)
        return True

    def _report(self, page: Page, error: Exception) -> None:
        """Nothing is drawn again here: what failed may be the drawing."""
        place = error_log.place_of(error)
        self._failed[place] += 1
        if self._failed[place] <= _LOGGED:
            path = error_log.note(error)
            self._logged_at = f"details in {path}" if path else "no log file could be written"
        told = f"a fault in the program ({place[0]}), {self._logged_at} · what was saved is safe"
        try:
            page.view.tell(told, "error")
            page.say(told, "error")
            if page is not self.screen and self._failed[place] == 1:
                self.notify(told, severity="error", markup=False)
        except Exception as further:  # the line itself cannot be drawn: the log has both
            error_log.note(further)
        self.call_later(self._take_away)

    def _take_away(self) -> None:
        """A box that could not be laid out has nothing to be left by."""
        box = self.screen
        if not isinstance(box, Page) and len(self.screen_stack) > 1 and not box.children:
            self.pop_screen()

    async def run_action(self, *arguments: Any, **named: Any) -> bool:
        """Textual's own; an action that fails is done with, as if its key had been let go. What it
        refuses goes on to the app, which knows what was to be done and can do it once more."""
        try:
            return await super().run_action(*arguments, **named)
        except TracksideError:
            raise
        except Exception as error:
            if not self.survive(error):
                raise
            return True

    def _handle_exception(self, error: Exception) -> None:
        """What Textual caught in a timer, a thread, a layout or a drawing."""
        cause = error.error if isinstance(error, WorkerFailed) else error
        if not isinstance(cause, Exception) or not self.survive(cause):
            super()._handle_exception(error)


def _is_outdated(pump: MessagePump, message: Message) -> bool:
    """Whether a screen is to take a size that the terminal has no longer. Textual's screens send
    themselves each new size again, so two that come in a row answered each other for ever."""
    return (
        isinstance(message, Resize) and isinstance(pump, Screen) and message.size != pump.app.size
    )


def _goes_on(dispatch: Any) -> Any:
    @wraps(dispatch)
    async def dispatching(pump: MessagePump, message: Message) -> None:
        if _is_outdated(pump, message):
            return
        try:
            await dispatch(pump, message)
        except Exception as error:
            app = pump if isinstance(pump, App) else pump.app
            if not isinstance(app, Unbroken) or not app.survive(error):
                raise

    return dispatching


MessagePump._dispatch_message = _goes_on(MessagePump._dispatch_message)  # type: ignore[method-assign]
