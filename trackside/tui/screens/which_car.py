"""Which car the next session is of: asked where the cursor does not say, and there are several."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Static

from trackside.tui.widgets.box import Box

if TYPE_CHECKING:
    from trackside.crew.next_session import KnownCar
    from trackside.tui.page import Page

MOST: Final = 9
"""Cars that can be named by a figure; more are chosen on the sheet."""


class WhichCar(Box[str]):
    """Gives the code of the car; nothing when it is left. Enter takes the first, a figure each."""

    def __init__(self, cars: Sequence[KnownCar]) -> None:
        super().__init__()
        self.cars = cars[:MOST]

    def compose(self) -> ComposeResult:
        """The cars, and the keys."""
        with Vertical(id="asking"):
            yield Static(self._told(), id="which-car", markup=False)

    def _told(self) -> Text:
        text = Text("The next session of which car?\n\n", "bold")
        for number, (_, name) in enumerate(self.cars, 1):
            keys = "Enter 1" if number == 1 else str(number)
            text.append(f"{keys:<12}", "bold")
            text.append(f"{name or 'car without a name'}\n")
        text.append(f"{'Esc':<12}", "bold")
        text.append("no new session")
        return text

    def on_key(self, event: events.Key) -> None:
        """One key answers; every other is nobody's while the question is open."""
        event.stop()
        event.prevent_default()
        if event.key == "escape":
            self.dismiss(None)
            return
        figure = "1" if event.key == "enter" else event.key
        if figure.isascii() and figure.isdigit() and 1 <= int(figure) <= len(self.cars):
            self.dismiss(self.cars[int(figure) - 1][0])


def with_car(page: Page, cars: Sequence[KnownCar], go_on: Callable[[str | None], None]) -> None:
    """Go on with the car that the crew says; with None, at once, where there are not several."""
    if len(cars) < 2:
        go_on(None)
        return

    def answered(car: str | None) -> None:
        if car is not None:
            go_on(car)

    page.app.push_screen(WhichCar(cars), answered)
