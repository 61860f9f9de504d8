"""What a chart is drawn with, by what the terminal can show: braille dots, half blocks (a console
whose font has no braille), or plain ASCII."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np

from trackside.charts.raster import Mask, braille


@dataclass(frozen=True)
class Ink:
    """A cell holds `across` by `up` dots; `plain` words are ASCII, `plain_marks` markers too."""

    name: str
    across: int
    up: int
    plain: bool
    plain_marks: bool
    frame: tuple[str, ...]
    """Axis down, tick on it, corner, axis across, tick on it, and the line of a mark."""
    stamps: dict[str, str]
    """What stands for a band, a zero line and the grid; empty: their dots."""

    def cells(self, picture: Mask) -> Iterable[tuple[int, int, int]]:
        """Row, column and pattern of each cell that has a dot."""
        if self.up == 4:
            patterns = braille(picture)
        elif self.up == 2:
            patterns = picture[::2].astype(np.intp) + 2 * picture[1::2]
        else:
            patterns = picture.astype(np.intp)
        rows, columns = patterns.nonzero()
        found = patterns[rows, columns]
        return zip(rows.tolist(), columns.tolist(), found.tolist(), strict=True)

    def glyph(self, pattern: int, marker: str) -> str:
        """The character of a pattern; plain ASCII draws with the curve's own marker."""
        if self.up == 4:
            return _BRAILLE[pattern]
        return " ▀▄█"[pattern] if self.up == 2 else marker


_BRAILLE: Final = "".join(chr(0x2800 + pattern) for pattern in range(256))

INKS: Final[dict[str, Ink]] = {
    "braille": Ink("braille", 2, 4, False, False, tuple("│┤└─┬┊"), {}),
    "blocks": Ink(
        "blocks", 1, 2, False, True, tuple("│┤└─┬:"), {"band": "░", "zero": "-", "grid": "·"}
    ),
    "ascii": Ink(
        "ascii", 1, 1, True, True, tuple("|++-+:"), {"band": ":", "zero": "-", "grid": "."}
    ),
}
