"""Work in the one thread that owns the logbook's connection, in the order in which it was asked.

Another program may hold the file. Work that finds it held is set aside and tried again, in its
order; what only reads goes on meanwhile. Each has its own patience: who cannot wait is refused
soon.
"""

from __future__ import annotations

import sqlite3
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from typing import Any, Final, TypeVar

from trackside.errors import LogbookError

T = TypeVar("T")

WAIT_S: float = 5.0
"""How long work that can wait does so for a file that another program holds."""

HURRY_S: float = 0.12
"""The same in the thread that paints: a key is answered within a fifth of a second."""

PAUSE_S: Final = 0.01
"""Between two tries."""

COMMIT_S: Final = 0.1
"""How long a save that may wait for ever keeps its transaction open for one that reads."""

_HELD: Final = (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)


def is_held(error: BaseException) -> bool:
    """Whether SQLite refused because another program, or another window, holds the file."""
    code = getattr(error, "sqlite_errorcode", None) or 0
    return isinstance(error, sqlite3.Error) and code & 0xFF in _HELD


class Turn:
    """Work that was asked for. `until` (monotonic s) ends its patience; None waits for the file as
    long as the logbook is open. `held` is called, in the owner's thread, when it is set aside."""

    def __init__(
        self,
        work: Callable[[], Any],
        until: float | None,
        reads: bool = False,
        held: Callable[[], object] | None = None,
    ) -> None:
        self.work = work
        self.until = until
        self.reads = reads
        self.held = held
        self.future: Future[Any] = Future()
        self.asked = time.monotonic()

    @property
    def left(self) -> float:
        """Seconds of patience that are left, where it waits for one that reads."""
        return COMMIT_S if self.until is None else max(0.0, self.until - time.monotonic())


class Turns:
    """The queue and its thread."""

    def __init__(self, as_errors: Callable[[BaseException], BaseException]) -> None:
        self._as_errors = as_errors
        self._thread = ThreadPoolExecutor(1, "logbook", self._remember)
        self._ident = 0
        self._aside: list[Turn] = []
        """What found the file held, in order."""
        self._next_try = 0.0
        self._end = float("inf")
        self._asked = threading.Event()
        self.now: Turn | None = None
        """The turn whose work is being done."""

    def _remember(self) -> None:
        self._ident = threading.get_ident()

    @property
    def is_mine(self) -> bool:
        """Whether this is the owner's thread."""
        return threading.get_ident() == self._ident

    @property
    def held_for(self) -> float:
        """Seconds for which the oldest save has been waiting for the file; 0 when none is."""
        waiting = [turn.asked for turn in list(self._aside) if not turn.reads]
        return time.monotonic() - min(waiting) if waiting else 0.0

    def ask(self, turn: Turn) -> Future[Any]:
        """Have it done. The future cannot be cancelled, so no save is lost by it."""
        turn.future.set_running_or_notify_cancel()
        try:
            self._thread.submit(self._take, turn)
        except RuntimeError as error:  # ended meanwhile
            raise LogbookError("The logbook is closed", "open it again") from error
        self._asked.set()
        return turn.future

    def end(self) -> None:
        """Wait for what was asked; nothing more is taken."""
        self._thread.shutdown()

    def hurry(self, until: float) -> None:
        """Have nothing that waits for the file wait longer than that (monotonic s), for good."""
        self._end = until

    def _take(self, turn: Turn) -> None:
        behind = not turn.reads and any(not other.reads for other in self._aside)
        if not behind and self._done(turn):
            return
        self._aside.append(turn)
        _say_held(turn)
        if len(self._aside) == 1:
            self._try_later()  # waits here where the program is ending: all of it is set aside

    def _try_later(self) -> None:
        """In turn with what is asked meanwhile; here and now where nothing more can be asked."""
        try:
            self._thread.submit(self._again)
        except RuntimeError:
            while self._aside:
                time.sleep(PAUSE_S)
                self._once_more()

    def _again(self) -> None:
        """Wait for the next try, or for something else to do."""
        self._asked.wait(max(0.0, self._next_try - time.monotonic()))
        self._asked.clear()
        if time.monotonic() >= self._next_try:
            self._once_more()
            self._next_try = time.monotonic() + PAUSE_S
        if self._aside:
            self._try_later()

    def _once_more(self) -> None:
        left: list[Turn] = []
        blocked = False
        for turn in self._aside:
            if turn.reads or not blocked:
                if self._done(turn):
                    continue
                blocked = blocked or not turn.reads
            elif not self._waits(turn):
                self._refuse(turn, sqlite_busy())
                continue
            left.append(turn)
        self._aside = left

    def _done(self, turn: Turn) -> bool:
        """Do its work, or refuse it once its patience is at an end; False where it has to wait."""
        self.now = turn
        try:
            turn.future.set_result(turn.work())
        except BaseException as error:
            if is_held(error) and self._waits(turn):
                return False
            self._refuse(turn, error)
        finally:
            self.now = None
            del turn  # the error's frames would keep it, and with it cursors and locks
        return True

    def _waits(self, turn: Turn) -> bool:
        """Whether its patience is not at an end."""
        until = self._end if turn.until is None else min(turn.until, self._end)
        return time.monotonic() < until

    def _refuse(self, turn: Turn, error: BaseException) -> None:
        turn.future.set_exception(self._as_errors(error))


def _say_held(turn: Turn) -> None:
    if turn.held is not None:
        with suppress(Exception):  # what it is for is to keep a copy: the turn itself goes on
            turn.held()


def sqlite_busy() -> sqlite3.OperationalError:
    """What SQLite says of a file that is held, for work that was not even tried."""
    error = sqlite3.OperationalError("database is locked")
    error.sqlite_errorcode = sqlite3.SQLITE_BUSY
    return error
