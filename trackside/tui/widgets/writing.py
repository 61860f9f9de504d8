"""A line in which words are typed. What a terminal obeys never stands in it."""

from __future__ import annotations

import unicodedata

from textual import events
from textual.widgets import Input

from trackside.units import clean


def is_written(event: events.Key) -> bool:
    """Whether a key writes its character: what prints, and the signs within words that do not
    print by themselves, such as the joiner in an emoji of several."""
    character = event.character
    if character is None:
        return False
    joins = unicodedata.category(character) == "Cf" and clean(character) == character
    return character.isprintable() or joins


class Line(Input):
    """One line of words. What is pasted in several goes on in it, a blank between."""

    def validate_value(self, value: str) -> str:
        """The text as it may stand, however it came here."""
        return " ".join(clean(value).replace("\t", " ").split("\n"))

    def on_paste(self, event: events.Paste) -> None:
        """Put all of it in, at the cursor or in place of what is marked."""
        event.stop()
        event.prevent_default()
        self.replace(self.validate_value(event.text), *self.selection)

    def on_key(self, event: events.Key) -> None:
        """A sign that does not print by itself is written too."""
        if is_written(event) and not event.is_printable:
            event.stop()
            event.prevent_default()
            self.replace(event.character or "", *self.selection)
