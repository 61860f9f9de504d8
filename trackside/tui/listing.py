"""The rows of the pit board: a heading for each event, its sessions below; read as they come into
sight, a page at a time, so that ten seasons open as fast as one."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from functools import cached_property
from itertools import accumulate
from typing import NamedTuple

from trackside.logbook import EventGroup, Logbook, SessionLine
from trackside.logbook.rows import text as words_of
from trackside.tui.commands import key_of
from trackside.units import one_line

PAGE = 50
UNPROVED = "a session that cannot be shown: look at the logbook with trackside verify"


class Heading(NamedTuple):
    """A line that begins an event; `event` is its entity."""

    text: str
    event: str


class Listing(Sequence[SessionLine | Heading]):
    """Events without a session first, then the events with theirs; with `newest` a glance at the
    top of that list: the events of so many newest sessions. The first `shown` rows are read at
    once, others when they come into sight."""

    def __init__(self, logbook: Logbook, newest: int | None = None, shown: int = 0) -> None:
        self._logbook = logbook
        self._groups = logbook.session_groups(newest)
        self._waiting = waiting(logbook, newest=newest)
        first = len(self._waiting)
        self._starts = list(accumulate((1 + g.sessions for g in self._groups), initial=first))
        self._pages: dict[tuple[str, int], list[SessionLine]] = {}
        for row in range(min(shown, len(self))):
            self[row]
        self.names = logbook.session_names(newest)
        """The cars and their drivers on the list."""
        listed = sum(group.sessions for group in self._groups)
        self.sessions = listed if newest is None else logbook.session_count()

    def __len__(self) -> int:
        return self._starts[-1]

    def __getitem__(self, index: int) -> SessionLine | Heading:  # type: ignore[override]
        if index < len(self._waiting):
            return self._waiting[index]
        if index >= len(self):
            raise IndexError(index)
        at = bisect_right(self._starts, index) - 1
        group, below = self._groups[at], index - self._starts[at]
        return self._session(group, below - 1) if below else self._heading(group)

    def place(self, entity: str) -> int | None:
        """The row of that session, or of the event that has no session yet."""
        for n, waiting in enumerate(self._waiting):
            if waiting.event == entity:
                return n
        above = self._logbook.session_place(entity) if entity else None
        if above is None:
            return None
        event = self._logbook.session_line(entity).event
        found = (n for n, group in enumerate(self._groups) if group.event == event)
        at = next(found, None)
        return None if at is None else self._starts[at] + 1 + above

    def place_of(self, row: SessionLine | Heading) -> int | None:
        """The row of that session or heading; None where it is not listed."""
        if isinstance(row, SessionLine):
            return self.place(row.entity)
        events = [group.event for group in self._groups]
        return (
            self._starts[events.index(row.event)] if row.event in events else self.place(row.event)
        )

    @cached_property
    def unfinished(self) -> int:
        """How many of the sessions want something yet."""
        return self._logbook.unfinished()

    def _heading(self, group: EventGroup) -> Heading:
        line = self._session(group, 0)
        if isinstance(line, Heading):
            return line
        return Heading(f"{line.venue or 'no event'}  {line.event_date}".rstrip(), group.event)

    def _session(self, group: EventGroup, place: int) -> SessionLine | Heading:
        number, line = divmod(place, PAGE)
        page = self._pages.get((group.event, number))
        if page is None:
            page = self._logbook.session_lines(event=group.event, offset=number * PAGE, limit=PAGE)
            self._pages[group.event, number] = page
        return page[line] if line < len(page) else Heading(UNPROVED, group.event)


def waiting(
    logbook: Logbook, words: Sequence[str] = (), newest: int | None = None
) -> list[Heading]:
    """Events without a session yet whose line has the words, newest first."""
    told = []
    for entity in logbook.events_waiting(newest):
        body = logbook.state(entity) or {}
        told.append((words_of(body.get("date")), one_line(words_of(body.get("venue"))), entity))
    return [
        Heading(f"{venue}  {day}  no session yet: {key_of('new_session')} opens one", entity)
        for day, venue, entity in sorted(told, reverse=True)
        if all(word.casefold() in f"{venue} {day}".casefold() for word in words)
    ]
