"""What is looked at every moment while the program is open, and said on the page."""

from __future__ import annotations

import time

from trackside.crew.backups import BackupRunner
from trackside.errors import TracksideError
from trackside.tui.messages import ShedChanged
from trackside.tui.notices import conflicts_said
from trackside.tui.page import Page
from trackside.tui.pages import Pages

TICK_S = 0.7
"""Seconds between looks for what another window has written."""

AGAIN_S = 2.0
"""Seconds between tries of what the file did not take."""

HELD_S = 0.3
"""Seconds that a save waits for another program before it is said."""

HELD = (
    "another program is writing in the logbook: what has • is not in it yet, and goes in by itself"
)
NO_LONGER_HELD = "the logbook is free again: what waited is in it"


class Watch:
    """Looks at the logbook for the app: what others wrote, what still waits, who holds the file."""

    def __init__(self, app: Pages, backing: BackupRunner | None) -> None:
        self._app = app
        self._desk = app.desk
        self._backing = backing
        """What makes backups while the program is open; None when it makes none."""
        self.knows_conflicts = False
        """Whether all histories were read once: from then on new conflicts are looked for."""
        self.displaced = self.held = False
        """What was said last: that another file took the logbook's place, that it is held."""
        self.again_at = 0.0

    def look(self) -> None:
        """Once every TICK_S."""
        app, desk = self._app, self._desk
        self.say_held()
        desk.drafts.again()
        if not desk.is_settled:
            return  # a read would wait behind the saves, and every key with it
        try:
            if self.again_at < time.monotonic():
                self.again_at = time.monotonic() + AGAIN_S
                self.once_again()
            if not self.is_typing() and desk.catch_up():
                app.post_message(ShedChanged())
                app.draw_again()
                if self.knows_conflicts:
                    self.say_conflicts(len(desk.disputes.look()))
            if self._backing is not None:
                self._backing.look(desk.newest_event(), desk.event_is_over)
            self.say_displaced()
        except TracksideError as error:
            app.tell(error)

    def say_held(self) -> None:
        """Whether another program holds the file: said for as long as something waits for it, but
        not over what a key was just refused for. That it no longer does is said once."""
        view = self._app.view
        held = self._desk.logbook.held_for > HELD_S
        self.held = self.held or held
        _, kind, until = view.news
        if kind == "error" and time.monotonic() < until:
            return
        if held:
            view.tell(HELD, "problem", 2 * TICK_S)
        if self.held and (page := self._app.page_shown) and not self.is_typing():
            if not held:
                view.tell(NO_LONGER_HELD, "kept")
            page.repeat_news()
            self.held = held

    def once_again(self) -> None:
        """What the file did not take is tried once more, that of a record's page too. Why it is
        refused again is said where that is new, and over nothing that is being typed."""
        self._desk.outbox.again(silent=self.is_typing())
        if page := self._app.page_shown:
            page.again()

    def say_displaced(self) -> None:
        """Another file took the logbook's place: said at once, and it stays on the pit board."""
        why = self._desk.logbook.displaced
        if why and not self.displaced and (page := self._app.page_shown):
            self.displaced = True
            page.announce(why, "error")

    def is_typing(self) -> bool:
        """Whether a cell is being typed in, or a question stands over the page: what the answer
        was given over must not change unseen."""
        app = self._app
        grids = [page.grid for page in app.opened if page.grid is not None]
        typed = any(grid.buffer is not None or grid.handing for grid in grids)
        return typed or app.asking or not isinstance(app.page_shown, Page)

    def say_conflicts(self, new: int) -> None:
        """Say on the page that there are so many new ones."""
        if new and (page := self._app.page_shown):
            page.announce(conflicts_said(new), "problem")
