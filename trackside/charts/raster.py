"""Curves, bands and zero lines as dots, and dots as braille: 2 by 4 of them in a cell.

A dot lies in the column floor(0.5 + (dots − 1)(value − low)/(high − low)), counted from the low
end, which is also where plotext puts it; so one scale serves both pens.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

Dots = npt.NDArray[np.intp]
Line = tuple[Dots, Dots]
Mask = npt.NDArray[np.bool_]

_BITS: Final = np.array([[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]])
"""Weights of the dots in U+2800 to U+28FF (Unicode, Braille Patterns: dots 1 to 8)."""
_HALF: Final = 0.5 + 5e-9
"""Rounding to dots: what the last digits of a float miss does not cost a dot."""


@dataclass(frozen=True)
class Scale:
    """From values in [low, high] to dots 0 … dots − 1 and back."""

    low: float
    high: float
    dots: int

    def dot(self, values: npt.ArrayLike) -> Dots:
        """The dot of each value; values must be finite, those outside lie outside."""
        share = (np.asarray(values, dtype=float) - self.low) / (self.high - self.low)
        return _dots((self.dots - 1) * share)

    def place(self, value: float) -> int:
        """The dot of one value, as `dot` has it."""
        share = (value - self.low) / (self.high - self.low)
        return math.floor((self.dots - 1) * share + _HALF)

    def values(self) -> npt.NDArray[np.float64]:
        """The value at the middle of each dot."""
        return np.linspace(self.low, self.high, self.dots)


def _dots(places: npt.NDArray[np.float64]) -> Dots:
    return np.floor(places + _HALF).astype(np.intp)


def trace(columns: Dots, rows: Dots) -> Line:
    """The dots of the line through these dots in their order, without holes."""
    if len(columns) < 2:
        return columns, rows
    steps = np.maximum(np.abs(np.diff(columns)), np.abs(np.diff(rows)))
    passed = np.concatenate(([0], np.cumsum(np.maximum(steps, 1))))
    walk = np.arange(passed[-1] + 1)
    return _dots(np.interp(walk, passed, columns)), _dots(np.interp(walk, passed, rows))


def runs(*values: npt.NDArray[np.float64]) -> list[slice]:
    """The stretches without a gap (NaN) in any of the arrays."""
    whole = ~np.isnan(np.vstack(values)).any(axis=0)
    edges = np.flatnonzero(np.diff(np.concatenate(([False], whole, [False])).astype(np.int8)))
    return [slice(start, end) for start, end in zip(edges[::2], edges[1::2], strict=True)]


def mask(width: int, height: int, columns: Dots, rows: Dots) -> Mask:
    """A picture with those dots set, row 0 at the top; dots outside are left out."""
    picture = np.zeros((height, width), dtype=bool)
    inside = (columns >= 0) & (columns < width) & (rows >= 0) & (rows < height)
    picture[height - 1 - rows[inside], columns[inside]] = True
    return picture


def shade(
    x: npt.NDArray[np.float64],
    low: npt.NDArray[np.float64],
    high: npt.NDArray[np.float64],
    across: Scale,
    up: Scale,
) -> Mask:
    """A band as sparse dots between its dotted edges; x in any order, each stretch by itself."""
    picture = np.zeros((up.dots, across.dots), dtype=bool)
    column, row = np.arange(0, across.dots, 2), np.arange(up.dots)[::-1, None]
    middle = across.values()[::2]
    stipple = (row + column) % 4 == 0
    for run in runs(x, low, high):
        order = np.argsort(x[run], kind="stable")
        at, bottom, top = x[run][order], low[run][order], high[run][order]
        covered = (column >= across.place(float(at[0]))) & (column <= across.place(float(at[-1])))
        first = up.dot(np.interp(middle, at, bottom))
        last = up.dot(np.interp(middle, at, top))
        edge = (row == first) | (row == last)
        picture[:, ::2] |= covered & (edge | (stipple & (row > first) & (row < last)))
    return picture


def braille(picture: Mask) -> npt.NDArray[np.intp]:
    """The dot pattern of each cell, 0 to 255; the picture is 2 dots by 4 for a cell."""
    height, width = picture.shape
    blocks = picture.reshape(height // 4, 4, width // 2, 2)
    return np.einsum("rdce,de->rc", blocks, _BITS)
