"""What was last read of a value that nobody has read yet in a session.

Only shown, with its day: nothing is calculated from it as if it had been read today.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trackside.logbook.last_read import Asked, LastRead
from trackside.records import Reading, Session
from trackside.records.fields import (
    CORNER_FIELDS,
    CORNERS,
    OF_THE_DAMPER,
    SESSION_FIELDS,
)

if TYPE_CHECKING:
    from trackside.logbook import Logbook

_TAKEN_AT = {"gas_pressure": "gas_temperature"}
"""A reading that means little without the temperature at which it was made."""


def asked_of(session: Session) -> dict[str, Asked]:
    """Path to what is looked for: every reading of the session. Those of a damper go with its
    serial and build, wherever it was fitted; a corner without a damper has none."""
    asked = {name: Asked(name) for name, field in SESSION_FIELDS.items() if field.is_read}
    for corner in CORNERS:
        sheet = session.corner(corner)
        for name, field in CORNER_FIELDS.items():
            if name in OF_THE_DAMPER and sheet.damper:
                asked[f"{corner}.{name}"] = Asked(name, "", sheet.damper, sheet.build or "")
            elif name not in OF_THE_DAMPER and field.is_read:
                asked[f"{corner}.{name}"] = Asked(name, corner)
    return asked


class LastReadings:
    """The last readings before one session, looked up once for the dampers that are in it."""

    def __init__(self, logbook: Logbook) -> None:
        self.logbook = logbook
        self._session: Session | None = None
        self._asked: tuple[object, ...] = ()
        self._found: dict[str, LastRead] = {}

    def at(self, entity: str, session: Session, path: str) -> LastRead | None:
        """The last reading at that path before the session; None when there is none."""
        if session is not self._session:
            asked = asked_of(session)
            now = (entity, session.car, session.start, *asked.values())
            if now != self._asked:
                found = self.logbook.last_read(entity, session.car, tuple(asked.values()))
                self._found = {p: found[one] for p, one in asked.items() if one in found}
            self._session, self._asked = session, now
        return self._found.get(path)

    def taken_at(self, entity: str, session: Session, path: str) -> LastRead | None:
        """The temperature at which that reading was made; None unless it was read then too."""
        corner, _, name = path.rpartition(".")
        temperature = _TAKEN_AT.get(name)
        if temperature is None:
            return None
        one, at = (self.at(entity, session, p) for p in (path, f"{corner}.{temperature}"))
        same = one and at and (one.session, one.corner) == (at.session, at.corner)
        return at if same else None


def reading(found: LastRead) -> Reading | str:
    """The value as a session's record has it."""
    if found.unit is None:
        return found.typed
    return Reading(typed=found.typed, unit=found.unit, si=found.si)
