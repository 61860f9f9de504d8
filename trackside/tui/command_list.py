"""Textual's list of commands, that three of its own faults do not end."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.await_complete import AwaitComplete
from textual.binding import Binding, BindingType
from textual.command import CommandList, CommandPalette
from textual.errors import NoWidget

from trackside.tui.widgets.box import is_on_top


class Commands(CommandList):
    """A click on a row that has gone meanwhile, and is still drawn, is on nothing."""

    def on_click(self, event: events.Click) -> None:
        """Textual's own handler takes the row's number as it was drawn."""
        row = event.style.meta.get("option")
        if row is not None and row >= self.option_count:
            event.prevent_default()


class Palette(CommandPalette):
    """It turns no pages of a list that has no room, and lets a click on nothing go by."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("pagedown", "turn(1)", show=False),
        Binding("pageup", "turn(-1)", show=False),
    ]

    def compose(self) -> ComposeResult:
        """Textual's own, with our rows."""
        for widget in super().compose():
            yield Commands() if isinstance(widget, CommandList) else widget

    def action_turn(self, by: int) -> None:
        """A page further down, or up; Textual counts lines that a list without room has not."""
        listed = self.query_one(CommandList)
        if listed.scrollable_content_region:
            (listed.action_page_down if by > 0 else listed.action_page_up)()

    def dismiss(self, result: None = None) -> AwaitComplete:
        """Leave it, once."""
        return super().dismiss(result) if is_on_top(self) else AwaitComplete.nothing()

    def on_click(self, event: events.Click) -> None:
        """The screen may have shrunk since the press; Textual's own handler looks there."""
        try:
            self.get_widget_at(event.screen_x, event.screen_y)
        except NoWidget:
            event.prevent_default()
