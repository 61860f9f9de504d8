"""Writes on their way to the logbook: what was refused stays here and is tried again by itself."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass
from typing import Any

from textual.message import Message

from trackside.errors import LogbookError, TracksideError, UnknownRecord
from trackside.logbook import Logbook, Write
from trackside.tui.messages import Kept, NotKept

Place = tuple[str, str]
"""An entity and a path in it."""


@dataclass(frozen=True)
class _Sent:
    write: Write
    future: Future[Any]

    @property
    def refused(self) -> BaseException | None:
        """Why the logbook did not take it; None while it is under way, and when it is kept."""
        return self.future.exception() if self.future.done() else None


class Outbox:
    """The last write of each place. A new one takes the place of an older one that was refused."""

    def __init__(self, logbook: Logbook, tell: Callable[[Message], object]) -> None:
        self._logbook = logbook
        self._tell = tell
        self._sent: dict[Place, _Sent] = {}

    def send(self, entity: str, path: str, write: Write) -> None:
        """Hand a write to the logbook, not waiting; what was refused before goes again first."""
        self._retry(but=(entity, path))
        self._submit((entity, path), write)

    def _submit(self, place: Place, write: Write) -> None:
        future = self._logbook.submit(write)
        self._sent[place] = _Sent(write, future)
        future.add_done_callback(lambda done: self._tell(_news(place[1], done)))

    def _retry(self, but: Place | None = None) -> None:
        """Each by itself, so that one which can never be kept holds back no other."""
        settled = {place: sent for place, sent in self._sent.items() if sent.future.done()}
        for place, sent in settled.items():
            error = sent.refused
            if error is None or isinstance(error, UnknownRecord) or place == but:
                del self._sent[place]
            else:
                self._submit(place, sent.write)

    def is_kept(self, entity: str, path: str) -> bool:
        """Whether the last write of that place is committed."""
        sent = self._sent.get((entity, path))
        return sent is None or (sent.future.done() and sent.refused is None)

    def unkept(self, entity: str) -> list[Write]:
        """What was written to that entity and is not committed yet."""
        return [
            sent.write for place, sent in self._sent.items()
            if place[0] == entity and not self.is_kept(*place)
        ]  # fmt: skip

    def flush(self) -> list[str]:
        """Wait for every write, trying once more what was refused; the paths still not kept."""
        self._logbook.flush()
        self._retry()
        self._logbook.flush()
        return [path for (_, path), sent in self._sent.items() if sent.refused is not None]


def _news(path: str, done: Future[Any]) -> Message:
    error = done.exception()
    if error is None:
        return Kept(path)
    if not isinstance(error, TracksideError):
        error = LogbookError(f"the write failed ({error})", "try again")
    return NotKept(path, error)
