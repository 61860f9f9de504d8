"""What the pit board says of adjusters that live at an end of their travel: looked up in a thread,
long after the first lines stand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual.message import Message

from trackside.errors import TracksideError

if TYPE_CHECKING:
    from trackside.analysis.shed import Shed
    from trackside.tui.page import Page


@dataclass
class RangesWatched(Message):
    """Which adjusters of the cars live at an end, in a sentence; empty where none does."""

    told: str


class RangeWatch:
    """Looks at the dampers in the cars once for each state of logbook and shed."""

    def __init__(self, page: Page) -> None:
        self._page = page
        self._at: tuple[object, ...] = ()

    def look(self) -> None:
        """Look again if something has changed; not before the shed is read."""
        desk = self._page.desk
        shed = desk.shed
        if shed is None:
            return
        at = (shed, desk.logbook.extent())
        if self._at and self._at[0] is shed and self._at[1] == at[1]:
            return
        self._at = at
        self._page.run_worker(lambda: self._watch(shed), thread=True, exclusive=True, group="range")

    def _watch(self, shed: Shed) -> None:
        from trackside.analysis.range_watch import fitted_watch
        from trackside.reports.range_words import board_words

        try:
            found = fitted_watch(self._page.desk.logbook, shed)
        except TracksideError:
            return  # the shed says what cannot be read
        self._page.post_message(RangesWatched(board_words(found)))
