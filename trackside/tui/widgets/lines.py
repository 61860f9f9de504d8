"""A box of lines in which words are typed. What a terminal obeys never stands in it."""

from __future__ import annotations

from textual import events
from textual.widgets import TextArea

from trackside.tui.widgets.writing import is_written
from trackside.units import clean


class Lines(TextArea):
    """A box of lines."""

    def on_paste(self, event: events.Paste) -> None:
        """Put it in at the cursor, or in place of what is marked."""
        event.stop()
        event.prevent_default()
        self._put(clean(event.text))

    def on_key(self, event: events.Key) -> None:
        """A sign that does not print by itself is written too."""
        if is_written(event) and not event.is_printable:
            event.stop()
            event.prevent_default()
            self._put(event.character or "")

    def _put(self, text: str) -> None:
        done = self.replace(text, *self.selection, maintain_selection_offset=False)
        self.move_cursor(done.end_location)
