"""What a grid is made of: cells under titled blocks, and what a cell shows."""

from __future__ import annotations

from enum import Enum
from typing import NamedTuple

from rich.cells import cell_len, set_cell_size

from trackside.logbook.drafts import EMPTIED

UNKNOWN = "–"
"""What an unknown value looks like, in every theme and without colours, as on every other page."""

LABEL_WIDTH = 12
"""Cells that a label takes on the run sheet."""


class Kind(Enum):
    """What a cell takes, and so what a letter does there."""

    NUMBER = "number"
    """A number begins with a digit or a sign: letters are commands, but on a form."""
    WORDS = "words"
    """Every key that prints is text."""
    CHOICE = "choice"
    """Words from a list: every key that prints narrows it down."""

    @classmethod
    def of(cls, quantity: str | None, listed: bool) -> Kind:
        """Of a value of that quantity (None: words), `listed` where its words come from a list."""
        if quantity is not None:
            return cls.NUMBER
        return cls.CHOICE if listed else cls.WORDS


class Cell(NamedTuple):
    """One value's place: in block `block`, under its title, `row` lines down."""

    path: str
    label: str
    block: int
    row: int
    kind: Kind = Kind.NUMBER
    end: str = ""
    """The end that clicks count from, `hard` or `soft`, where the cell beside counts from the
    other."""

    def ending(self, room: int) -> str:
        """From which end it counts, in what words there is room for."""
        if not self.end:
            return ""
        initial = self.end[0].upper()
        ways = (f" from {self.end}", f" from {initial}", f" {initial}")
        return next((words for words in ways if cell_len(words) <= room), "")


class Block(NamedTuple):
    """A titled group of cells; `role` gives the colour of its title."""

    title: str
    role: str = ""


class Shown(NamedTuple):
    """What a cell shows: its text, a mark (`!` cannot be right, `•` not yet kept, `…` half typed
    and left), and dim beside it what was set or read before, in words that get
    shorter. Without a text the cell shows `UNKNOWN`, whatever was there before."""

    text: str = ""
    mark: str = ""
    last: tuple[str, ...] = ()
    half_typed: str = ""

    @property
    def taken_up(self) -> str:
        """The text that typing begins from."""
        return "" if self.half_typed == EMPTIED else self.half_typed or self.text

    def beside(self, room: int) -> str:
        """The longest of the words that fit in so many cells; empty where none does."""
        return next((words for words in self.last if cell_len(words) <= room), "")


def half_said(half: str) -> str:
    """What is said of a cell in which that is half typed."""
    told = "emptied, and not saved yet" if half == EMPTIED else f"half typed: “{half}”"
    return f"{told} · Enter takes it up, Esc then drops it"


def fit(text: str, room: int) -> str:
    """`text` in exactly `room` cells, cut with an ellipsis where it is wider."""
    if cell_len(text) <= room:
        return set_cell_size(text, room)
    return set_cell_size(text, room - 1) + "…" if room > 0 else ""
