"""How the crew ran a damper in its last sessions."""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING, Final

from trackside.records import CornerSheet

if TYPE_CHECKING:
    from trackside.logbook import Logbook

SESSIONS: Final = 5
"""So many of a damper's last sessions say which positions the crew uses: our own, no source."""
_LOOKED: Final = 200
"""Newest sessions that are looked through for them."""


def last_corners(logbook: Logbook, serial: str) -> tuple[CornerSheet, ...]:
    """The damper's corner of the run sheet in its last sessions that ran, the newest first."""
    wanted = serial.casefold()
    found = dict(logbook.saying("damper", wanted, _LOOKED))
    records = (pair for session in found for pair in logbook.session_records([session]))
    ran = (record.corner(found[session]) for session, record in records if record.ran)
    return tuple(islice((one for one in ran if (one.damper or "").casefold() == wanted), SESSIONS))
