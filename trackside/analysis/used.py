"""How the crew ran a damper in its last sessions."""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING, Final

from trackside.records import CornerSheet
from trackside.records.fields import CORNERS

if TYPE_CHECKING:
    from trackside.logbook import Logbook

SESSIONS: Final = 5
"""So many of a damper's last sessions say which positions the crew uses: our own, no source."""
_LOOKED: Final = 200
"""Newest sessions that are looked through for them."""


def last_corners(logbook: Logbook, serial: str) -> tuple[CornerSheet, ...]:
    """The damper's corner of the run sheet in its last sessions that ran, the newest first."""
    wanted, found = serial.casefold(), {}
    for corner in CORNERS:
        for session, typed, *_ in logbook.readings(corner, "damper", limit=_LOOKED):
            if typed.casefold() == wanted:
                found[session] = corner
    newest = sorted(found, key=lambda s: logbook.session_line(s).start, reverse=True)
    records = (pair for session in newest for pair in logbook.session_records([session]))
    ran = (record.corner(found[session]) for session, record in records if record.ran)
    return tuple(islice(ran, SESSIONS))
