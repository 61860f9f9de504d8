"""Messages to the app. Plain classes: a dataclass takes half a millisecond of every start."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from textual.message import Message

from trackside.crew.listener import Listener
from trackside.errors import TracksideError
from trackside.tui.commands import key_beside_text
from trackside.tui.view import SWAP_FOR, View

if TYPE_CHECKING:
    from trackside.analysis.shed import Shed
    from trackside.crew.swapping import Swap
    from trackside.preferences import Preferences


class FirstPaint(Message):
    """The pit board stands on the screen for the first time: what is heavy may begin."""


class Kept(Message):
    """The logbook has committed what was typed at `path`."""

    def __init__(self, path: str) -> None:
        super().__init__()
        self.path = path


class NotKept(Message):
    """A write failed; what was typed stays on the page, and is tried again by itself and with the
    next one. `path` is the first value of it."""

    def __init__(self, path: str, error: TracksideError) -> None:
        super().__init__()
        self.path = path
        self.error = error


class ShedReady(Message):
    """Dampers, sheets and their fits stand ready: estimates can be drawn. `number` tells the
    newest reading from one that comes in late; `conflicts` are those first seen while reading."""

    def __init__(self, shed: Shed, number: int, conflicts: int = 0) -> None:
        super().__init__()
        self.shed = shed
        self.number = number
        self.conflicts = conflicts


class ShedChanged(Message):
    """A car, damper, build or dyno sheet was written: the shed is to be read again."""


class Printed(Message):
    """A page stands in that file, to be printed; `to_do` beside it holds what is to be done, where
    the run is still to be set."""

    def __init__(self, path: Path, to_do: Path | None = None) -> None:
        super().__init__()
        self.path = path
        self.to_do = to_do


class Failed(Message):
    """Work in the background failed; the sentence says why."""

    def __init__(self, error: TracksideError) -> None:
        super().__init__()
        self.error = error


class NoticesChanged(Message):
    """What stands on the pit board about the keeping of the logbook may have changed."""


class News(Listener):
    """What happens in the workspace, for the app and for the page that comes up next."""

    def __init__(
        self, post: Callable[[Message], object], view: View, preferences: Preferences
    ) -> None:
        self._post = post
        self._view = view
        self._preferences = preferences

    def saved(self, path: str) -> None:
        """Its mark goes."""
        self._post(Kept(path))

    def refused(self, path: str, error: TracksideError) -> None:
        """Said on the page."""
        self._post(NotKept(path, error))

    def shed_changed(self) -> None:
        """The shed is read again."""
        self._post(ShedChanged())

    def swapped(self, swap: Swap) -> None:
        """Said with the key that brings the values back."""
        from trackside.reports.swapped import swap_said

        told = f"{swap_said(swap, self._preferences)}; {key_beside_text('undo')} restores them"
        self._view.tell(told, "problem", SWAP_FOR)

    def clock_is_behind(self) -> None:
        """The start is typed by hand."""
        told = "this computer's clock was set back: type the start"
        self._view.tell(told, "problem", SWAP_FOR)
