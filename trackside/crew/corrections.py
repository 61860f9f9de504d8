"""Corrections after the event: a value that stood then is changed only with a reason.

It is asked for once for each session and each time the program is open; every correction of that
session is signed with it.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from typing import Any, Final

from trackside.errors import TracksideError
from trackside.logbook import Logbook

_DAY: Final = r"\d{4}-\d\d-\d\d"


class ReasonWanted(TracksideError):
    """A correction after the event waits for its reason; `again` does what was asked, once more,
    where the page cannot (None: whoever asked does it again). `session` is the one that is
    corrected, where that is not the current one."""

    title = "A correction after the event"

    def __init__(
        self, path: str, again: Callable[[], object] | None = None, *, session: str = ""
    ) -> None:
        super().__init__(
            "not saved, and still in the cell: a correction after the event needs its reason",
            "Enter on the cell asks again",
        )
        self.path = path
        self.again = again
        self.session = session


class Corrections:
    """Which sessions lie behind us, and the reasons given for correcting them."""

    def __init__(self, logbook: Logbook, today: Callable[[], date]) -> None:
        self._logbook = logbook
        self._today = today
        self._reasons: dict[str, str] = {}
        self._last_day: tuple[str, str] = ("", "")

    def last_day(self, event: str) -> str:
        """The last day that the event says itself, or that of its newest session where that is
        later; "" when unknown."""
        body = (self._logbook.state(event) if event else None) or {}
        newest = self._logbook.session_lines(event=event, limit=1) if event else []
        said = (str(body.get(name) or "") for name in ("date", "last_day"))
        days = [*said, *(line.start for line in newest)]
        return max((day[0] for day in (re.match(_DAY, day) for day in days) if day), default="")

    def is_over(self, event: str) -> bool:
        """Whether that event lies before today."""
        if self._last_day[0] != event:
            self._last_day = (event, self.last_day(event))
        return "" < self._last_day[1] < self._today().isoformat()

    def look_again(self) -> None:
        """Something was written: the event may have gone on."""
        self._last_day = ("", "")

    def give(self, session: str, reason: str) -> None:
        """The reason for what is corrected in that session from now on."""
        self._reasons[session] = reason

    def reason(self, session: str, event: str, before: Any) -> str | None:
        """The reason to sign a change of a value with; "" where none is needed, None where one is
        wanted first. `before` is what stood there."""
        if before in (None, "", ()) or not self.is_over(event):
            return ""
        return self._reasons.get(session)
