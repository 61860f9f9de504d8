"""An app behind a browser: buttons that are touched, a terminal that comes back, its last place."""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import partial
from typing import Any, Final

from textual.driver import Driver
from textual.events import Resize
from textual.geometry import Size

from trackside.errors import TracksideError
from trackside.records.fields import CORNERS
from trackside.tui.commands import PAGES
from trackside.tui.layer import Layer
from trackside.tui.page import Page
from trackside.tui.pages import Pages
from trackside.tui.touch import (
    KEEP,
    NAMES,
    PLACE,
    DrawAgain,
    Touched,
    command_of,
    where_it_works,
)

_CLOSES = 0.1
"""Seconds that a form has to go before the next look."""
_NO_RETURN: Final = ("record", "build", "conflicts")
"""Pages that are opened from another one, for what was in hand there."""


class Browser:
    """What a browser asks of the app, and is told of it."""

    def __init__(self, app: Pages) -> None:
        self.app = app
        self.tell: Callable[[dict[str, object]], None] | None = None
        """Tells the browser; None where there is none."""
        self._told = ""
        self.window: Size | None = None
        """The size that the browser asked for last, in cells."""

    def hearing(self, driver: type[Driver]) -> type[Driver]:
        """The same driver; one that serves a browser hands on what its buttons ask for."""
        if not hasattr(driver, "on_meta"):
            return driver
        browser, base = self, driver

        class Hearing(base):  # type: ignore[misc, valid-type]
            def __init__(self, *arguments: Any, **named: Any) -> None:
                super().__init__(*arguments, **named)
                browser.tell = self.write_meta

            def on_meta(self, packet_type: str, payload: dict[str, object]) -> None:
                if packet_type == "act":
                    browser.app.post_message(Touched(str(payload.get("name", ""))))
                elif packet_type == "draw":
                    browser.app.post_message(DrawAgain())
                else:
                    if packet_type == "resize":
                        width, height = int(str(payload["width"])), int(str(payload["height"]))
                        browser.window = Size(width, height)
                    super().on_meta(packet_type, payload)

        return Hearing

    def resized(self, event: Resize) -> None:
        """A window that was turned while the program started has its new size, though the size
        that the program started with comes last."""
        if self.window is not None and event.size != self.window:
            self.app.post_message(Resize(self.window, self.window))

    # ── buttons ─────────────────────────────────────────────────────────────────────────────

    def touched(self, name: str) -> None:
        """A button waits for the keys that came before it."""
        if name in NAMES:
            self.app.after_typed(partial(self._do, name))

    async def _do(self, name: str, forms: int = 3) -> None:
        """Do it; of the forms that are open on the way, at most so many are left first."""
        app, screen = self.app, self.app.screen
        if name == KEEP:
            if isinstance(screen, Layer):
                screen.finish()
        elif isinstance(screen, Page):
            screen.leave()
            command = command_of(name, screen.PAGE)
            if command is None:
                pages = " and ".join(PAGES[page].lower() for page in where_it_works(name))
                screen.say(f"that works on {pages}", "problem")
            else:
                own = hasattr(screen, f"action_{command.action.partition('(')[0]}")
                await app.run_action(command.action, screen if own else app)
        elif isinstance(screen, Layer) and screen.press_again(name):
            return  # undo, shown, was asked for once more
        elif forms:
            app.simulate_key("escape")
            app.set_timer(_CLOSES, partial(self._do, name, forms - 1))

    # ── where it is ─────────────────────────────────────────────────────────────────────────

    def draw_again(self) -> None:
        """Draw all of it."""
        self.app.refresh(layout=True)
        self.app.screen.refresh(layout=True)

    def tell_place(self) -> None:
        """Tell the browser where it is, when that has changed; not before it went where the
        browser's last program was, which would be forgotten if the line broke again."""
        if self.tell is None or PLACE in os.environ:
            return
        app, shown = self.app, self.app.page_shown
        page = "board" if app.page_name in _NO_RETURN else app.page_name
        path = shown.grid.path if page == "sheet" and shown and shown.grid else ""
        view, session = app.view, app.desk.entity or "-"
        place = f"{page} {session} {view.corner} {view.direction} {path}".strip()
        if place != self._told:
            self._told = place
            self.tell({"type": "place", "place": place})

    def come_back(self) -> None:
        """Go where the browser's last program was; what is no place is passed over."""
        app = self.app
        page, session, corner, direction, path = [
            *os.environ.pop(PLACE, "").split(" ", 4), "", "", "", "", ""
        ][:5]  # fmt: skip
        if page not in PAGES or page in _NO_RETURN or app.page_name != "board":
            return
        try:
            if session != "-":
                app.desk.take(session)
        except TracksideError:
            return
        if corner in CORNERS:
            app.view.corner = corner
        if direction in ("bump", "rebound"):
            app.view.direction = direction
        app.view.cell = path
        app.show_page(page)
