"""Who may come in: one-time links, the pass phrase and how often it may be tried, and passes.

Nothing secret is kept as it is, only its digest; digests are compared in constant time.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
import time
from collections import deque
from collections.abc import Callable

Clock = Callable[[], float]

PHRASE_VARIABLE = "TRACKSIDE_PASSPHRASE"
"""The variable that may hold the pass phrase; no program started for a browser sees it."""
PASS_LASTS = 12 * 3600.0
"""Seconds: a day at the track. A restart of the server ends every pass."""
MOST_PASSES = 64
"""Of more, the oldest goes."""
LEAST_PHRASE = 12
"""Characters of a pass phrase: three or four words."""
TRIES, TRIES_OF_ALL, TRIES_WITHIN = 5, 30, 60.0
"""So many wrong phrases from one address, and from all, within so many seconds."""


def _digest(text: str) -> bytes:
    return hashlib.sha256(text.encode("utf-8", "surrogateescape")).digest()


class Passes:
    """The tokens that browsers hold, by digest, with the time each ends."""

    def __init__(self, clock: Clock = time.monotonic) -> None:
        self._clock = clock
        self._ends: dict[bytes, float] = {}

    def issue(self) -> str:
        """A new pass."""
        now = self._clock()
        self._ends = {digest: end for digest, end in self._ends.items() if end > now}
        while len(self._ends) >= MOST_PASSES:
            del self._ends[next(iter(self._ends))]
        token = secrets.token_urlsafe(32)
        self._ends[_digest(token)] = now + PASS_LASTS
        return token

    def holds(self, token: str) -> bool:
        """Whether that token is a pass that has not ended."""
        asked, now, found = _digest(token), self._clock(), False
        for digest, end in self._ends.items():
            found |= hmac.compare_digest(digest, asked) and end > now
        return found


class Link:
    """The key of the link that lets one browser in, once."""

    def __init__(self) -> None:
        self.key = secrets.token_urlsafe(24)

    def use(self, key: str) -> bool:
        """Whether that is the key; if so, it is used up and another takes its place."""
        if not hmac.compare_digest(_digest(self.key), _digest(key)):
            return False
        self.key = secrets.token_urlsafe(24)
        return True


class Phrase:
    """The pass phrase, and the wrong ones that were tried."""

    def __init__(self, phrase: str, clock: Clock = time.monotonic) -> None:
        self._digest = _digest(phrase)
        self._clock = clock
        self._wrong: deque[tuple[float, str]] = deque()

    def wait(self, address: str) -> float:
        """Seconds until that address may try again; 0 when it may now."""
        now = self._clock()
        while self._wrong and self._wrong[0][0] <= now - TRIES_WITHIN:
            self._wrong.popleft()
        own = [at for at, who in self._wrong if who == address]
        ends = [times[-most] for times, most in
                ((own, TRIES), ([at for at, _ in self._wrong], TRIES_OF_ALL))
                if len(times) >= most]  # fmt: skip
        return max((at + TRIES_WITHIN - now for at in ends), default=0.0)

    def is_right(self, phrase: str, address: str) -> bool:
        """Whether that is the phrase; a wrong one counts against its address."""
        if hmac.compare_digest(self._digest, _digest(phrase)):
            return True
        self._wrong.append((self._clock(), address))
        return False
