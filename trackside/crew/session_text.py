"""The values of a session as the crew reads and types them."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from trackside.crew import moments
from trackside.crew.belonging import BELONGS, answering, named
from trackside.errors import BadInput
from trackside.logbook import Logbook
from trackside.preferences import Preferences
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.records import Reading, Session


class SessionText:
    """Text to value and back, in the crew's units."""

    def __init__(self, logbook: Logbook, preferences: Preferences) -> None:
        self._logbook, self._preferences = logbook, preferences

    def shown(self, session: Session, path: str) -> str:
        """The value at `path` as the crew reads it; empty when unknown."""
        from trackside.records import Reading
        from trackside.records.fields import field_of
        from trackside.records.laps import show_laps

        if path == "lap_times":
            return show_laps(session.lap_times)
        value = session.start_said if path == "start" else session.value(path)
        if path in BELONGS:
            return self.belongs(path, str(value))
        if isinstance(value, Reading):
            quantity = field_of(path).quantity or "plain"
            return value.shown(quantity, self._preferences.unit(quantity))
        return one_line(value) if value else ""

    def belongs(self, path: str, entity: str) -> str:
        """The event or the car of that entity, in words."""
        return named(self._logbook, path, entity)

    def read(self, entity: str, session: Session, path: str, text: str) -> Reading | str | None:
        """What `text` says for the value at `path` of that session: for an event, or a car, the one
        whose words hold it. BadInput says what cannot be read."""
        from trackside.records import read_value
        from trackside.records.fields import field_of

        if path in BELONGS:
            return answering(self._logbook, path, text)
        field = field_of(path)
        if path == "start":
            text = self._with_its_day(entity, session, text)
        unit = self._preferences.unit(field.quantity) if field.quantity else ""
        return read_value(field, text, unit)

    def _with_its_day(self, entity: str, session: Session, text: str) -> str:
        """A time of day with the day of that run: else it would be on none."""
        line = self._logbook.session_line(entity)
        day = session.start[:10] if line.is_dated else ""
        with suppress(BadInput):
            return moments.read_time(text, day or self._day_at(line.event))
        return text

    def _day_at(self, event: str) -> str:
        """Today while that event is on, else its first day; today where it has none."""
        body = (self._logbook.state(event) if event else None) or {}
        first, now = str(body.get("date") or ""), moments.today().isoformat()
        last = str(body.get("last_day") or first)
        return now if not first or first <= now <= last else first
