"""The small panel beside the hand: drawn anew at every click, by our own braille pen."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from trackside.charts.compose import compose
from trackside.charts.drawing import Drawing, Grid
from trackside.charts.frame import Frame, Words
from trackside.charts.raster import Line, mask
from trackside.charts.series import Curve, Series


def live(
    series: Sequence[Series],
    width: int,
    height: int,
    *,
    x_label: str = "",
    y_label: str = "",
    zero: bool = True,
    y_text: Callable[[float], str] | None = None,
    ink: str = "braille",
) -> Drawing:
    """A small chart, from 30 by 7 cells up, fast enough for every key.

    Values are in the units that the labels name. With `zero` the y axis holds 0 and shows it as a
    line; `y_text` writes its ticks. It is widened to whole cells, so that a small change does not
    move the scale.
    """
    words = Words(
        x_label=x_label,
        y_label=y_label,
        y_text=y_text,
        zero=zero,
    )
    return compose(series, width, height, words, pen, ink)


def pen(grid: Grid, frame: Frame, drawn: Sequence[Curve], lines: Sequence[Line]) -> None:
    """Every curve as dots; where curves share a cell their dots join, in the last one's role."""
    joined = np.zeros((frame.height, frame.width), dtype=np.intp)
    for curve, line in zip(drawn, lines, strict=True):
        picture = mask(frame.across.dots, frame.up.dots, *line)
        marker, role = curve.series.glyph(grid.ink.plain_marks), curve.role
        for row, column, pattern in grid.ink.cells(picture):
            joined[row, column] |= pattern
            shown = grid.ink.glyph(int(joined[row, column]), marker)
            grid.cells[frame.top + row][frame.left + column] = shown
            grid.roles[frame.top + row][frame.left + column] = role
