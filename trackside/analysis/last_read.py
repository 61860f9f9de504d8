"""What was last read of a value that nobody has read yet in a session.

Only shown, with its day: nothing is calculated from it as if it had been read today.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING

from trackside.logbook.last_read import Asked, LastRead
from trackside.records import Reading, Session
from trackside.records import in_words as told
from trackside.records.fields import (
    CORNER_FIELDS,
    CORNERS,
    OF_THE_DAMPER,
    SESSION_FIELDS,
    Field,
    field_of,
)

if TYPE_CHECKING:
    from trackside.logbook import Logbook
    from trackside.preferences import Preferences

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

    def forget(self) -> None:
        """Look again at the next question: the logbook may have grown."""
        self._session, self._asked = None, ()

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

    def words(
        self, entity: str, session: Session, path: str, preferences: Preferences
    ) -> list[str]:
        """The last reading at that path, with its day, in words that get shorter; empty where
        nobody read it."""
        found = self.at(entity, session, path)
        if found is None:
            return []
        taken_at, today = self.taken_at(entity, session, path), session.start
        return list(in_words(found, taken_at, field_of(path), preferences, today))


def in_words(
    found: LastRead, taken_at: LastRead | None, field: Field, preferences: Preferences, today: str
) -> Iterator[str]:
    """The reading with its temperature and day, then shorter and shorter: `last: 15.1 bar at 9 °C,
    18 Oct`. Without words that fit, a cell shows nothing of it."""
    value = told(reading(found), field.quantity, _unit(field, preferences))
    bare = (
        reading(found).shown(field.quantity, _unit(field, preferences))  # type: ignore[union-attr]
        if field.quantity
        else found.typed
    )
    day = day_in_words(found.day, today)
    if taken_at is not None:
        at = CORNER_FIELDS["gas_temperature"]
        warm = told(reading(taken_at), at.quantity, _unit(at, preferences))
        yield _joined(f"last: {value} at {warm}", day)
    yield _joined(f"last: {value}", day)
    yield _joined(f"last {bare}", day)
    yield f"last {bare}"


def _joined(words: str, day: str) -> str:
    return f"{words}, {day}" if day else words


def _unit(field: Field, preferences: Preferences) -> str:
    return preferences.unit(field.quantity) if field.quantity else ""


def reading(found: LastRead) -> Reading | str:
    """The value as a session's record has it."""
    if found.unit is None:
        return found.typed
    return Reading(typed=found.typed, unit=found.unit, si=found.si)


MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day_in_words(day: str, today: str) -> str:
    """`18 Oct`; with the year unless it is that of `today` (both YYYY-MM-DD); as it is where it is
    no date."""
    try:
        found = date.fromisoformat(day)
    except ValueError:
        return day
    words = f"{found.day} {MONTHS[found.month - 1]}"
    return words if today[:4] == day[:4] else f"{words} {day[:4]}"
