"""Long lines broken at words, so that a page knows how many rows they take."""

from __future__ import annotations

import textwrap

from rich.cells import cell_len
from rich.text import Text


def wrapped(text: Text, width: int, indent: str = "") -> list[Text]:
    """`text` as lines of at most `width` cells, the second and later ones indented; a text that
    fits keeps its spans, a broken one its base style."""
    if cell_len(text.plain) <= width and "\n" not in text.plain:
        return [text]
    style = text.style
    lines: list[Text] = []
    for part in text.plain.split("\n"):
        pieces = textwrap.wrap(part, max(8, width), subsequent_indent=indent) or [""]
        lines += [Text(piece, style) for piece in pieces]
    return lines
