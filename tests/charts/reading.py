"""Reading a drawing back: cells by role, and braille by the names that Unicode gives it."""

from __future__ import annotations

import unicodedata

from trackside.charts import Drawing

# Dots 1, 2, 3, 7 run down the left half of a braille cell and 4, 5, 6, 8 down the right half
# (The Unicode Standard, chapter on Braille: from memory).
_PLACE = {"1": (0, 0), "2": (1, 0), "3": (2, 0), "7": (3, 0)} | {
    "4": (0, 1), "5": (1, 1), "6": (2, 1), "8": (3, 1),
}  # fmt: skip


def cells_of(drawing: Drawing, role: str) -> list[tuple[int, int, str]]:
    """Row, column and character of every cell of that role, blanks left out."""
    found = []
    for row, line in enumerate(drawing.lines):
        column = 0
        for span in line:
            for glyph in span.text:
                if span.role == role and glyph != " ":
                    found.append((row, column, glyph))
                column += 1
    return found


def dots_of(drawing: Drawing, role: str) -> set[tuple[int, int]]:
    """Rows and columns, in dots from the top left, of the braille dots of that role."""
    dots = set()
    for row, column, glyph in cells_of(drawing, role):
        name = unicodedata.name(glyph)
        if name.startswith("BRAILLE PATTERN DOTS-"):
            for dot in name.removeprefix("BRAILLE PATTERN DOTS-"):
                down, across = _PLACE[dot]
                dots.add((4 * row + down, 2 * column + across))
    return dots
