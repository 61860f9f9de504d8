"""An app behind a browser: buttons that are touched, a terminal that comes back, its last place."""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import partial
from typing import Any, Final

from textual.driver import Driver
from textual.events import Resize
from textual.geometry import Size

from trackside.crew.workspace import Workspace
from trackside.errors import TracksideError
from trackside.records.fields import CORNERS
from trackside.tui.commands import PAGES
from trackside.tui.key_queue import KeyQueue
from trackside.tui.page import Page
from trackside.tui.touch import (
    KEEP,
    NAMES,
    PLACE,
    DrawAgain,
    Touched,
    command_of,
    where_it_works,
)
from trackside.tui.view import View

_CLOSES = 0.1
"""Seconds that a form has to go before the next look."""
_NO_RETURN: Final = ("record", "build", "conflicts")
"""Pages that are opened from another one, for what was in hand there."""


class Browsed(KeyQueue):
    """The part of the app that a browser speaks to."""

    desk: Workspace
    view: View
    page_name: str
    _tell: Callable[[dict[str, object]], None] | None = None
    _told = ""
    _window: Size | None = None
    """The size that the browser asked for last, in cells."""

    def show_page(self, name: str) -> None:
        """Go to a page."""
        raise NotImplementedError

    def hearing(self, driver: type[Driver]) -> type[Driver]:
        """The same driver; one that serves a browser hands on what its buttons ask for."""
        if not hasattr(driver, "on_meta"):
            return driver
        app, base = self, driver

        class Hearing(base):  # type: ignore[misc, valid-type]
            def __init__(self, *arguments: Any, **named: Any) -> None:
                super().__init__(*arguments, **named)
                app._tell = self.write_meta

            def on_meta(self, packet_type: str, payload: dict[str, object]) -> None:
                if packet_type == "act":
                    app.post_message(Touched(str(payload.get("name", ""))))
                elif packet_type == "draw":
                    app.post_message(DrawAgain())
                else:
                    if packet_type == "resize":
                        app._window = Size(int(str(payload["width"])), int(str(payload["height"])))
                    super().on_meta(packet_type, payload)

        return Hearing

    def on_resize(self, event: Resize) -> None:
        """A window that was turned while the program started has its new size, though the size
        that the program started with comes last."""
        if self._window is not None and event.size != self._window:
            self.post_message(Resize(self._window, self._window))

    # ── buttons ─────────────────────────────────────────────────────────────────────────────

    def on_touched(self, message: Touched) -> None:
        """A button waits for the keys that came before it."""
        if message.name in NAMES:
            self.after_typed(partial(self._do, message.name))

    async def _do(self, name: str, forms: int = 3) -> None:
        """Do it; of the forms that are open on the way, at most so many are left first."""
        screen = self.screen
        if name == KEEP:
            self._keep()
        elif not isinstance(screen, Page):
            if getattr(screen, "step", "") == name:  # undo, shown: once more does it
                screen.action_do()  # type: ignore[attr-defined]
            elif forms:
                self.simulate_key("escape")
                self.set_timer(_CLOSES, partial(self._do, name, forms - 1))
        else:
            leave = getattr(screen, "leave", None)
            if leave is not None:
                leave()
            command = command_of(name, screen.PAGE)
            if command is None:
                pages = " and ".join(PAGES[page].lower() for page in where_it_works(name))
                screen.say(f"that works on {pages}", "problem")
            else:
                own = hasattr(screen, f"action_{command.action.partition('(')[0]}")
                await self.run_action(command.action, screen if own else self)

    def _keep(self) -> None:
        screen = self.screen
        grid = getattr(screen, "grid", None)
        if finish := getattr(screen, "finish", None):
            finish()
        elif grid is not None and grid.typed is not None:
            self.simulate_key("enter")
        elif isinstance(screen, Page):
            screen.say("nothing is half typed: everything is kept", "kept")

    # ── where it is ─────────────────────────────────────────────────────────────────────────

    def on_draw_again(self, _: DrawAgain) -> None:
        """Draw all of it."""
        self.refresh(layout=True)
        self.screen.refresh(layout=True)

    def tell_place(self) -> None:
        """Tell the browser where it is, when that has changed; not before it went where the
        browser's last program was, which would be forgotten if the line broke again."""
        if self._tell is None or PLACE in os.environ:
            return
        page = "board" if self.page_name in _NO_RETURN else self.page_name
        grid = getattr(self.screen, "grid", None)
        path = grid.path if grid is not None and page == "sheet" else ""
        view, session = self.view, self.desk.entity or "-"
        place = f"{page} {session} {view.corner} {view.direction} {path}".strip()
        if place != self._told:
            self._told = place
            self._tell({"type": "place", "place": place})

    def come_back(self) -> None:
        """Go where the browser's last program was; what is no place is passed over."""
        page, session, corner, direction, path = [
            *os.environ.pop(PLACE, "").split(" ", 4), "", "", "", "", ""
        ][:5]  # fmt: skip
        if page not in PAGES or page in _NO_RETURN or self.page_name != "board":
            return
        try:
            if session != "-":
                self.desk.take(session)
        except TracksideError:
            return
        if corner in CORNERS:
            self.view.corner = corner
        if direction in ("bump", "rebound"):
            self.view.direction = direction
        self.view.cell = path
        self.show_page(page)
