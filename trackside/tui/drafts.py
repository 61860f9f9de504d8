"""What is half typed, on its way to the logbook: in memory until it is held there."""

from __future__ import annotations

import time
from concurrent.futures import Future
from functools import partial
from threading import Lock
from typing import Final

from trackside.logbook import Logbook

Place = tuple[str, str]
"""An entity and a path in it, or a form about it and a question."""

AGAIN_S: Final = 10.0
"""Seconds until a refused draft is tried again by itself: a try may wait for another window, and
looks at the logbook wait behind it."""


class Drafts:
    """The last text of each place that the logbook has not acknowledged, over those it has."""

    def __init__(self, logbook: Logbook) -> None:
        self._logbook = logbook
        self._lock = Lock()
        self._unheld: dict[Place, str] = {}
        """Not acknowledged yet; empty for a draft that is to go."""
        self._under_way = 0
        self._refused_at = 0.0

    def hold(self, entity: str, path: str, text: str) -> None:
        """Keep what is half typed there, without waiting; empty text lets it go."""
        if self._logbook.read_only or not entity:
            return
        with self._lock:
            self._unheld[entity, path] = text
        self._hand_over((entity, path), text)

    def _hand_over(self, place: Place, text: str) -> None:
        with self._lock:
            self._under_way += 1
        try:
            done = (
                self._logbook.keep_draft(*place, text) if text else self._logbook.drop_draft(*place)
            )
        except BaseException:
            with self._lock:
                self._under_way -= 1
            raise
        done.add_done_callback(partial(self._acknowledged, place, text))

    def _acknowledged(self, place: Place, text: str, done: Future[None]) -> None:
        """In the logbook's thread."""
        with self._lock:
            self._under_way -= 1
            if done.exception() is not None:
                self._refused_at = time.monotonic()
            elif self._unheld.get(place) == text:
                del self._unheld[place]

    @property
    def is_settled(self) -> bool:
        """Whether none is under way: each was held, or refused."""
        return self._under_way == 0

    def again(self) -> None:
        """Try what was refused once more, when that was a while ago."""
        if self._unheld and self.is_settled and time.monotonic() - self._refused_at > AGAIN_S:
            self._all_again()

    def _all_again(self) -> None:
        with self._lock:
            waiting = list(self._unheld.items())
        for place, text in waiting:
            self._hand_over(place, text)

    def of(self, entity: str) -> dict[str, str]:
        """Path to what is half typed there, as it was typed last."""
        held = {d.path: d.text for d in self._logbook.drafts() if d.entity == entity}
        with self._lock:
            held |= {path: text for (of, path), text in self._unheld.items() if of == entity}
        return {path: text for path, text in held.items() if text}

    def flush(self) -> list[str]:
        """Wait for every draft, trying once more what was refused; where words are not held."""
        self._logbook.flush()
        if self._unheld:
            self._all_again()
            self._logbook.flush()
        return [path for (_, path), text in self._unheld.items() if text]
