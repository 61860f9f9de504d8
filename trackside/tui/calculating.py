"""Numbers and charts that take longer than a key may: worked out in a thread, drawn when ready."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any

from textual.message import Message

from trackside.errors import TracksideError
from trackside.records.fields import CORNERS
from trackside.tui.commands import no_session
from trackside.tui.page import Page

Work = Callable[[], Any]
Draw = Callable[[Any], None]


@dataclass
class Calculated(Message):
    """Work is done; `answer` is what it gave, or the TracksideError that says why it could not."""

    answer: Any
    draw: Draw


class CalculatingPage(Page):
    """A page with one piece of work at a time: of what is asked for meanwhile, only the newest is
    done, so keys never queue up behind charts."""

    def __init__(self) -> None:
        super().__init__()
        self._at_work = False
        self._next: tuple[Work, Draw] | None = None

    @property
    def calculating(self) -> bool:
        """Whether something is still being worked out."""
        return self._at_work

    def not_yet(self) -> str:
        """Why there is nothing to work out yet; empty when there is."""
        if self.desk.shed is None:
            return "reading dyno sheets …"
        return "" if self.desk.has_session else no_session(known=True)

    def calculate(self, work: Work, draw: Draw) -> None:
        """Do `work` in a thread (it touches no widget), then `draw` its answer."""
        self._next = (work, draw)
        if not self._at_work:
            self._begin()

    def _begin(self) -> None:
        if self._next is not None:
            (work, draw), self._next = self._next, None
            self._at_work = True
            self.run_worker(partial(self._do, work, draw), thread=True, group="calculating")

    def _do(self, work: Work, draw: Draw) -> None:
        try:
            answer = work()
        except TracksideError as error:
            answer = error
        self.post_message(Calculated(answer, draw))

    def on_calculated(self, message: Calculated) -> None:
        """Draw, then do what was asked for meanwhile."""
        self._at_work = False
        message.draw(message.answer)
        self.name_unread()
        self._begin()


class CornerPage(CalculatingPage):
    """Such a page of one corner and one direction."""

    def action_corner(self, by: int) -> None:
        """The next corner, or the one before."""
        view = self.view
        view.corner = CORNERS[(CORNERS.index(view.corner) + by) % len(CORNERS)]
        self.show()

    def action_flip(self) -> None:
        """Bump or rebound."""
        self.view.direction = "bump" if self.view.direction == "rebound" else "rebound"
        self.show()
