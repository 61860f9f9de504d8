"""Who may come in: one-time links, the pass phrase and how often it may be tried, and passes.

Nothing secret is kept as it is, only its digest; digests are compared in constant time.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
import time
from collections import OrderedDict, deque
from collections.abc import Callable

from trackside.serve.address import network_of

Clock = Callable[[], float]

PHRASE_VARIABLE = "TRACKSIDE_PASSPHRASE"
"""The variable that may hold the pass phrase; no program started for a browser sees it."""
PASS_LASTS = 12 * 3600.0
"""Seconds: a day at the track. A restart of the server ends every pass."""
MOST_PASSES = 64
"""Of more, the oldest goes."""
LEAST_PHRASE = 12
"""Characters of a pass phrase: three or four words."""
TRIES, TRIES_WITHIN = 5, 60.0
"""So many wrong phrases from one network within so many seconds."""
MOST_NETWORKS = 4096
"""Whose wrong phrases are counted; of more, the one that tried longest ago is forgotten."""


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
    """The pass phrase, and the wrong ones that were tried.

    They count against the network they came from, never against another: a phrase of words is long
    enough for the tries of a whole network, and a limit for all would let one stranger shut the
    crew out.
    """

    def __init__(self, phrase: str, clock: Clock = time.monotonic) -> None:
        self._digest = _digest(phrase)
        self._clock = clock
        self._wrong: OrderedDict[str, deque[float]] = OrderedDict()
        """Network to the times of its last wrong phrases, the one that tried last at the end."""

    def wait(self, address: str) -> float:
        """Seconds until that address may try again; 0 when it may now."""
        tried = self._wrong.get(network_of(address))
        if tried is None or len(tried) < TRIES:
            return 0.0
        return max(0.0, tried[0] + TRIES_WITHIN - self._clock())

    def is_right(self, phrase: str, address: str) -> bool:
        """Whether that is the phrase; a wrong one counts against its network."""
        if hmac.compare_digest(self._digest, _digest(phrase)):
            return True
        network = network_of(address)
        self._wrong.setdefault(network, deque(maxlen=TRIES)).append(self._clock())
        self._wrong.move_to_end(network)
        if len(self._wrong) > MOST_NETWORKS:
            self._wrong.popitem(last=False)
        return False
