"""One side of an axle set like the other: asked where values that stand there would be replaced."""

from __future__ import annotations

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Static

from trackside.crew.mirroring import Mirrored
from trackside.preferences import Preferences
from trackside.reports.mirror_words import changes_words, left_words
from trackside.tui.widgets.box import Box


class SetAlike(Box[bool]):
    """True once Enter was pressed; nothing when it is left."""

    def __init__(self, found: Mirrored, preferences: Preferences) -> None:
        super().__init__()
        self.found = found
        self.preferences = preferences

    def compose(self) -> ComposeResult:
        """What would be replaced, and the keys."""
        with Vertical(id="asking"):
            yield Static(self._told(), id="set-alike", markup=False)

    def _told(self) -> Text:
        found = self.found
        count = len(found.overwrites)
        values = "1 value differs" if count == 1 else f"{count} values differ"
        text = Text(f"Set {found.to} like {found.corner}? {values} there.\n", "bold")
        text.append(" · ".join(changes_words(found, self.preferences)))
        for sentence in left_words(found):
            text.append(f"\n{sentence}")
        text.append("\nEnter", "bold")
        text.append(f" sets {found.to} like {found.corner}  ")
        text.append("Esc", "bold")
        text.append(f" leaves {found.to} as it is")
        return text

    def on_key(self, event: events.Key) -> None:
        """One key answers; every other is nobody's while the question is open."""
        event.stop()
        event.prevent_default()
        if event.key == "enter":
            self.dismiss(True)
        elif event.key == "escape":
            self.dismiss(None)
