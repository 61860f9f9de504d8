"""The runs that a search of the pit board found: looked for in a thread, so that no key waits."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from itertools import accumulate
from typing import TYPE_CHECKING

from textual.message import Message

from trackside.errors import TracksideError, UnknownRecord
from trackside.logbook import SessionLine
from trackside.tui.listing import UNPROVED, Heading, waiting

if TYPE_CHECKING:
    from trackside.analysis.run_query import Query
    from trackside.analysis.run_search import FoundRun, Runs
    from trackside.tui.page import Page


class FoundListing(Sequence[SessionLine | Heading]):
    """Runs that fit, below the headings of their events, newest first; events without a session
    whose words fit stand above them, as on the whole list."""

    def __init__(self, page: Page, runs: Runs, query: Query, words: list[str]) -> None:
        """Looks through the runs; what is shown of each is read when it comes into sight."""
        self._logbook = page.desk.logbook
        self._runs, self._query = runs, query
        self._waiting = [] if query.conditions else waiting(self._logbook, words)
        groups: dict[str, list[int]] = {}
        for place in runs.places(query):
            groups.setdefault(runs.runs[place].event, []).append(place)
        self._events, self._groups = list(groups), list(groups.values())
        sizes = (1 + len(group) for group in self._groups)
        self._starts = list(accumulate(sizes, initial=len(self._waiting)))
        self._found: dict[int, FoundRun] = {}
        self._lines: dict[int, SessionLine | Heading] = {}
        self.sessions = sum(len(group) for group in self._groups)
        listed = (runs.runs[place] for group in self._groups for place in group)
        self.names = tuple({(run.car_name, run.driver) for run in listed})
        """Cars with their drivers, as wide as the columns are to be."""

    def __len__(self) -> int:
        return self._starts[-1]

    def _at(self, index: int) -> tuple[int, int]:
        """The group of that row, and which row of it: 0 is its heading."""
        group = bisect_right(self._starts, index) - 1
        return group, index - self._starts[group]

    def __getitem__(self, index: int) -> SessionLine | Heading:  # type: ignore[override]
        if index < len(self._waiting):
            return self._waiting[index]
        if index >= len(self):
            raise IndexError(index)
        group, below = self._at(index)
        run = self._runs.runs[self._groups[group][max(0, below - 1)]]
        if not below:
            return Heading(f"{run.venue or 'no event'}  {run.event_date}".rstrip(), run.event)
        if index not in self._lines:
            try:
                self._lines[index] = self._logbook.session_line(run.entity)
            except UnknownRecord:
                self._lines[index] = Heading(UNPROVED, run.event)
        return self._lines[index]

    def found(self, index: int) -> FoundRun | None:
        """What fits of the run in that row; None for a heading."""
        group, below = self._at(index) if index >= len(self._waiting) else (0, 0)
        if not below or index >= len(self):
            return None
        place = self._groups[group][below - 1]
        if place not in self._found:
            self._found[place] = self._runs.found(place, self._query)
        return self._found[place]

    def place(self, entity: str) -> int | None:
        """The row of that run, or of the event that has no session yet."""
        for n, heading in enumerate(self._waiting):
            if heading.event == entity:
                return n
        for start, group in zip(self._starts, self._groups, strict=False):
            for n, place in enumerate(group):
                if self._runs.runs[place].entity == entity:
                    return start + 1 + n
        return None

    def place_of(self, row: SessionLine | Heading) -> int | None:
        """The row of that run or heading; None where it is not listed."""
        if isinstance(row, SessionLine):
            return self.place(row.entity)
        if row.event in self._events:
            return self._starts[self._events.index(row.event)]
        return self.place(row.event)


@dataclass
class Searched(Message):
    """What was found for that text, or why it cannot be looked for."""

    text: str
    extent: object
    found: FoundListing | TracksideError


class RunSearch:
    """Searches for one page, one at a time: of what is asked meanwhile, only the newest is done."""

    def __init__(self, page: Page) -> None:
        self._page = page
        self._runs: Runs | None = None
        self._read_at: object = None
        self._at_work = False
        self._next = ""

    def ask(self, text: str) -> None:
        """Look for it; the page gets a `Searched`."""
        self._next = text
        if not self._at_work:
            self._begin()

    def _begin(self) -> None:
        if self._next:
            text, self._next, self._at_work = self._next, "", True
            self._page.run_worker(partial(self._do, text), thread=True, group="search")

    def done(self) -> None:
        """The page has taken an answer: go on with what was asked meanwhile."""
        self._at_work = False
        self._begin()

    def _do(self, text: str) -> None:
        """In a thread."""
        from trackside.analysis.run_query import read_query
        from trackside.analysis.run_search import Runs

        logbook, extent = self._page.desk.logbook, None
        try:
            extent = logbook.extent()
            if self._runs is None or extent != self._read_at:
                self._runs, self._read_at = Runs(logbook), extent
            query = read_query(text, self._page.desk.preferences.unit, self._runs.items)
            found: FoundListing | TracksideError = FoundListing(
                self._page, self._runs, query, text.split()
            )
        except TracksideError as error:
            found = error
        except Exception:  # the next search is not to wait for this one
            self._at_work = False
            raise
        self._page.post_message(Searched(text, extent, found))
