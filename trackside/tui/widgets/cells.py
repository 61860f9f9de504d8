"""What a grid is made of: cells under titled blocks, and what a cell shows."""

from __future__ import annotations

from dataclasses import dataclass

from rich.cells import cell_len, set_cell_size

LABEL_WIDTH = 12
"""Cells that a label takes on the run sheet."""


@dataclass(frozen=True)
class Cell:
    """One value's place: in block `block`, under its title, `row` lines down."""

    path: str
    label: str
    block: int
    row: int
    numeric: bool = True
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


@dataclass(frozen=True)
class Block:
    """A titled group of cells; `role` gives the colour of its title."""

    title: str
    role: str = ""


@dataclass(frozen=True)
class Shown:
    """What a cell shows: its text, a mark (`!` cannot be right, `•` not yet kept, `…` half typed
    when the program was cut off), and the value of the last session, dim, for an empty cell."""

    text: str = ""
    mark: str = ""
    last: str = ""
    half_typed: str = ""


def fit(text: str, room: int) -> str:
    """`text` in exactly `room` cells, cut with an ellipsis where it is wider."""
    if cell_len(text) <= room:
        return set_cell_size(text, room)
    return set_cell_size(text, room - 1) + "…" if room > 0 else ""
