"""What is half typed, on its way to the logbook: in memory until it is held there, or kept.

Where the logbook takes nothing for now, it goes to a small file beside the preferences at once.
"""

from __future__ import annotations

import time
from collections.abc import Mapping
from concurrent.futures import Future
from functools import partial
from threading import Lock
from typing import Final

from trackside.errors import LogbookBusy
from trackside.logbook import Logbook
from trackside.logbook.drafts import Aside, Place

AGAIN_S: Final = 10.0
"""Seconds until a refused draft is tried again by itself."""


class Drafts:
    """The last text of each place that the logbook has not acknowledged, over those it has."""

    def __init__(self, logbook: Logbook, aside: Aside) -> None:
        self._logbook = logbook
        self._aside = aside
        self._lock = Lock()
        self._unheld: dict[Place, str] = {}
        """Not acknowledged yet; empty for a draft that is to go."""
        self._kept_aside: frozenset[Place] = frozenset()
        """What of it is in the small file."""
        self._under_way = 0
        self._refused_at: float | None = None
        """When the logbook last refused something (monotonic s) that was not tried again since."""
        if not logbook.read_only and (found := aside.take()):
            self._kept_aside = frozenset(found)
            self._unheld |= found
            self._all_again()

    @property
    def damaged(self) -> str:
        """That something of it was damaged on the disk, in one sentence; "" where nothing was."""
        return self._aside.damaged

    def hold(self, entity: str, path: str, text: str) -> None:
        """Keep what is half typed there, without waiting; empty text lets it go."""
        if self._logbook.read_only or not entity:
            return
        with self._lock:
            self._unheld[entity, path] = text
        self._hand_over((entity, path), text)

    def typed(self, texts: Mapping[Place, str]) -> None:
        """A save of these is on its way: they are remembered until it is `written`."""
        with self._lock:
            self._unheld |= texts

    def still(self, texts: Mapping[Place, str]) -> dict[Place, str]:
        """Those of them that nothing was typed over since."""
        with self._lock:
            return {p: text for p, text in texts.items() if self._unheld.get(p) == text}

    def written(self, texts: Mapping[Place, str]) -> None:
        """The logbook has a save of these, and has let go of what it held of them."""
        with self._lock:
            self._forget(texts)

    def _forget(self, texts: Mapping[Place, str]) -> None:
        gone = [place for place, text in texts.items() if self._unheld.get(place) == text]
        for place in gone:
            del self._unheld[place]
        if self._kept_aside.intersection(gone):
            self._to_aside()

    def put_aside(self) -> None:
        """The logbook takes nothing for now: everything goes to the small file."""
        with self._lock:
            self._to_aside()

    def refused(self) -> None:
        """The logbook did not take a save: what was typed for it goes to the small file too."""
        with self._lock:
            self._refused_at = time.monotonic()
            self._to_aside()

    def _to_aside(self) -> None:
        texts = {place: text for place, text in self._unheld.items() if text}
        if self._aside.put(texts):
            self._kept_aside = frozenset(texts)

    def _hand_over(self, place: Place, text: str) -> None:
        with self._lock:
            self._under_way += 1
        try:
            done = self._logbook.keep_draft(*place, text, held=self.put_aside)
        except BaseException:
            with self._lock:
                self._under_way -= 1
            raise
        done.add_done_callback(partial(self._acknowledged, place, text))

    def _acknowledged(self, place: Place, text: str, done: Future[None]) -> None:
        """In the logbook's thread."""
        with self._lock:
            self._under_way -= 1
            if done.exception() is None:
                self._forget({place: text})
            else:
                self._refused_at = time.monotonic()
                self._to_aside()

    @property
    def is_settled(self) -> bool:
        """Whether none is under way: each was held, or refused."""
        return self._under_way == 0

    def again(self) -> None:
        """Try what was refused once more, when that was a while ago."""
        refused = self._refused_at
        if refused and self.is_settled and time.monotonic() - refused > AGAIN_S:
            self._all_again()

    def _all_again(self) -> None:
        with self._lock:
            self._refused_at = None
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
        try:
            self._logbook.flush()
            if self._unheld:
                self._all_again()
                self._logbook.flush()
        except LogbookBusy:
            self.put_aside()
        left = [place for place, text in self._unheld.items() if text]
        return [path for entity, path in left if (entity, path) not in self._kept_aside]
