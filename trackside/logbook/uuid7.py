"""Identifiers that sort by the time they were made: UUID version 7, RFC 9562 section 5.7.

48 bits of Unix milliseconds, version, 12 bits of counter (rand_a as a dedicated counter, section
6.2 method 1), variant, 62 random bits.
"""

from __future__ import annotations

import os
import threading
import time

_lock = threading.Lock()
_last = 0
"""Milliseconds and counter of the newest identifier, as one number of 60 bits."""


def uuid7(milliseconds: int | None = None) -> str:
    """A new identifier as 36 characters; later calls in this process give later identifiers.

    `milliseconds` since 1970 UTC defaults to the clock. A clock that stands still, or steps back,
    only counts on; a full counter borrows the next millisecond.
    """
    global _last
    now = time.time_ns() // 1_000_000 if milliseconds is None else milliseconds
    random = int.from_bytes(os.urandom(9))
    with _lock:
        fresh = now << 12 | random >> 62 & 0x3FF
        _last = max(fresh, _last + 1)
        moment, counter = _last >> 12, _last & 0xFFF
    value = moment << 80 | 0x7 << 76 | counter << 64 | 0b10 << 62 | random & ((1 << 62) - 1)
    digits = f"{value:032x}"
    return "-".join((digits[:8], digits[8:12], digits[12:16], digits[16:20], digits[20:]))
