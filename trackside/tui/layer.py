"""What the app may ask of whatever is on top, a page or a box over one, and it of the app."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol, cast

from textual.screen import Screen, ScreenResultType

if TYPE_CHECKING:
    from trackside.crew.corrections import ReasonWanted
    from trackside.crew.workspace import Workspace
    from trackside.tui.view import View


class Host(Protocol):
    """The app, as pages and boxes know it."""

    desk: Workspace
    view: View

    def show_page(self, name: str) -> None:
        """Go to a page."""

    def notices(self) -> list[str]:
        """What is said on the pit board until it is dealt with, a sentence each."""

    def repeat_news(self) -> None:
        """What was just announced, over what the page on top says of itself."""

    def ask_why(self, wanted: ReasonWanted, again: Callable[[], object] | None) -> None:
        """Ask for the reason of a correction after the event, then do what was asked."""


class Layer(Screen[ScreenResultType]):
    """A page or a box. It answers for itself when keys may come, and what is half typed in it."""

    @property
    def host(self) -> Host:
        """The app."""
        return cast("Host", self.app)

    @property
    def desk(self) -> Workspace:
        """The open logbook and the current session."""
        return self.host.desk

    @property
    def seen(self) -> bool:
        """Whether something of it has been painted since it came: keys pressed now are meant for
        it."""
        return self.is_mounted

    @property
    def coming(self) -> bool:
        """Whether it is not ready for keys yet: they wait for it."""
        return not self.is_mounted

    def finish(self) -> None:
        """Save what is being typed in it."""

    def unfinished(self) -> tuple[str, dict[str, str]]:
        """The name of its form and what is half typed there, by question; no question without a
        form."""
        return "", {}

    def press_again(self, action: str) -> bool:
        """Do what it shows, where that action opened it; False for any other."""
        return False
