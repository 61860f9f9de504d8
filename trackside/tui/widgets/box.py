"""A box over a page: it is left once."""

from __future__ import annotations

from textual.await_complete import AwaitComplete
from textual.screen import ModalScreen, Screen, ScreenResultType

from trackside.tui.layer import Layer


def is_on_top(screen: Screen[ScreenResultType]) -> bool:
    """Whether that screen is there to be left. A second key or click may still be on its way to one
    that has gone; Textual then takes away whatever is on top, and at last the program's only page.
    """
    stack = screen.app.screen_stack
    return bool(stack) and stack[-1] is screen


class Box(Layer[ScreenResultType], ModalScreen[ScreenResultType]):
    """What every box over a page has in common."""

    def dismiss(self, result: ScreenResultType | None = None) -> AwaitComplete:
        """Leave it, once."""
        return super().dismiss(result) if is_on_top(self) else AwaitComplete.nothing()
