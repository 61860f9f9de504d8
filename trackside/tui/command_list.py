"""Textual's list of commands, that two of its own slips do not end."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.command import CommandList, CommandPalette
from textual.errors import NoWidget


class Palette(CommandPalette):
    """It turns no pages of a list that has no room, and lets a click on nothing go by."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("pagedown", "turn(1)", show=False),
        Binding("pageup", "turn(-1)", show=False),
    ]

    def action_turn(self, by: int) -> None:
        """A page further down, or up; Textual counts lines that a list without room has not."""
        listed = self.query_one(CommandList)
        if listed.scrollable_content_region:
            (listed.action_page_down if by > 0 else listed.action_page_up)()

    def on_click(self, event: events.Click) -> None:
        """The screen may have shrunk since the press; Textual's own handler looks there."""
        try:
            self.get_widget_at(event.screen_x, event.screen_y)
        except NoWidget:
            event.prevent_default()
