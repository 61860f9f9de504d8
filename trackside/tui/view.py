"""What the pages have in common beside the workspace: where the eye is, and what is said next."""

from __future__ import annotations

import time

NEWS_FOR = 1.0
"""How long (s) a page that just came up repeats what it was sent with, over its own detail."""
SWAP_FOR = 4.0
"""Seconds for which it is said what a swap cleared: the cursor moves on meanwhile."""


class View:
    """The corner and direction looked at, the records on the record page, the last news."""

    def __init__(self) -> None:
        self.corner = "FL"
        self.direction = "rebound"
        self.cell = ""
        """The cell of the run sheet on which the cursor is to be as that page comes up."""
        self.plan = ""
        """The plan that the run sheet shows beside its run as that page comes up."""
        self.form: dict[str, str] = {}
        """Kind to entity of the records on the record page."""
        self.form_from = "board"
        """The page from which the record page was opened."""
        self.begin = ""
        """The cell of the record page in which typing begins as it comes up."""
        self.news = ("", "", 0.0)
        """What the page that comes up next says: text, kind, and until when (monotonic s)."""
        self._unread = False

    def tell(self, text: str, kind: str, seconds: float = NEWS_FOR) -> None:
        """What the page says next, over what it says of itself."""
        self.news = (text, kind, time.monotonic() + seconds)
        self._unread = True

    def pressed(self) -> None:
        """A key came: whoever pressed it has read the last news."""
        self._unread = False

    def keep_news(self) -> None:
        """What was said since the last key is said on, where a page is drawn again by itself."""
        text, kind, until = self.news
        if self._unread:
            self.news = (text, kind, max(until, time.monotonic() + NEWS_FOR))
