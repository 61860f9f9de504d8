"""Backups by themselves: at the start, when an event is over, and again after one that failed.

They are made in a thread; no key waits for one. What fails is said on the pit board, with the age
of the last good one, until one succeeds.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path

from trackside.errors import LogbookDamaged, TracksideError
from trackside.logbook import Logbook
from trackside.logbook.backups_beside import backups_of, made_at
from trackside.logbook.rotation import keep_backups

_VERIFY = "Leave, and look at it with trackside verify."
AGAIN_S = 600.0
"""Seconds between looks at whether a backup is due: our own, no source."""


class BackupRunner:
    """The backups of one open logbook. `done` is called, in the thread, after each try."""

    def __init__(self, logbook: Logbook, done: Callable[[], object]) -> None:
        self._logbook = logbook
        self._done = done
        self._thread: threading.Thread | None = None
        self._last_look = 0.0
        self._event: str | None = None
        self.trouble = ""
        """Why the last one failed; empty when it did not."""
        self.differs = ""
        """What the tables hold and the revisions do not say, where no backup looked for it."""

    @property
    def is_busy(self) -> bool:
        """Whether one is being made."""
        return self._thread is not None and self._thread.is_alive()

    def look_through(self) -> None:
        """Only compare what pages show with the revisions, in a thread."""
        if not self.is_busy:
            self._thread = threading.Thread(target=self._compare, name="look through", daemon=True)
            self._thread.start()

    def begin(self) -> bool:
        """Make one in a thread that leaving does not wait for; False while one is being made."""
        if self.is_busy:
            return False
        if self._event is None:
            self._event = self._logbook.newest("event")
        self._last_look = time.monotonic()
        self._thread = threading.Thread(target=self._make, name="backup", daemon=True)
        self._thread.start()
        return True

    def look(self, event: str, event_is_over: Callable[[], bool]) -> None:
        """Begin one when another event was entered last (`event`) than at the last look; every ten
        minutes when the last one failed, and while the event is over."""
        if self._event is None:
            return  # the first one is not begun yet
        if event != self._event and self.begin():
            self._event = event
        elif time.monotonic() - self._last_look > AGAIN_S:
            self._last_look = time.monotonic()
            if self.trouble or event_is_over():
                self.begin()

    def _make(self) -> None:
        try:
            made = keep_backups(self._logbook)
            self.trouble = ""
        except (TracksideError, OSError) as error:
            self.trouble = str(error).rstrip(".")
            self._done()
            return
        if made:  # and so all of it was compared
            self.differs = ""
            self._done()
        else:
            self._compare()

    def _compare(self) -> None:
        try:
            self.differs = " ".join(self._logbook.look_through())
        except LogbookDamaged as error:
            self.differs = str(error)
        except (TracksideError, OSError):
            return  # closed, or busy: nothing was found
        self._done()

    def sentence(self) -> str:
        """What the crew has to know; empty when all is well."""
        if not self.trouble:
            return f"The logbook is damaged: {self.differs} {_VERIFY}" if self.differs else ""
        made = made_at(backups_of(Path(self._logbook.path)))
        last = "none was ever made" if made is None else f"the last good one is {_age(made)} old"
        return f"No backup: {self.trouble}; {last}."


def _age(made: float) -> str:
    hours = max(0.0, time.time() - made) / 3600
    if hours < 1:
        return f"{hours * 60:.0f} min"
    return f"{hours:.0f} h" if hours < 48 else f"{hours / 24:.0f} days"
