"""What happens in a workspace that whoever shows it has to know."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trackside.errors import TracksideError

if TYPE_CHECKING:
    from trackside.crew.swapping import Swap


class Listener:
    """By itself it does nothing: nobody watches. `saved` and `refused` come from the logbook's
    thread."""

    def saved(self, path: str) -> None:
        """The logbook has committed the value at `path`."""

    def refused(self, path: str, error: TracksideError) -> None:
        """It has not taken the write that begins with the value at `path`; that is tried again by
        itself, and with the next one. A retry that is refused for the same is not told again."""

    def shed_changed(self) -> None:
        """A car, damper, build or dyno sheet was written."""

    def swapped(self, swap: Swap) -> None:
        """Another damper, or build, is at a corner, and values there are unknown now."""

    def clock_is_behind(self) -> None:
        """A session was opened without a time, because the clock was set back."""
