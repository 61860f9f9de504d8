"""A chart put together: axes, bands, zero line, curves by a pen, then what tells them apart.

The two pens differ only in how they turn curves into cells; all else is shared, so the full page
and the small panel have the same axes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

import numpy as np

from trackside.charts.drawing import Drawing, Grid, empty
from trackside.charts.frame import LEAST_HEIGHT, LEAST_WIDTH, Frame, Words, draw_axes, lay_out
from trackside.charts.raster import Line, Mask, runs, shade, trace
from trackside.charts.series import Curve, Series, curves
from trackside.charts.words import cells

Pen = Callable[[Grid, Frame, Sequence[Curve], Sequence[Line]], None]
"""Draws the curves, which it is given as values and, without holes, as dots."""

NOTHING: Final = "nothing to draw yet"
TOO_SMALL: Final = "no room for a chart"


def compose(
    series: Sequence[Series], width: int, height: int, words: Words, pen: Pen, ink: str
) -> Drawing:
    """The chart of those series, `width` by `height` cells; `pen` draws the curves."""
    if width < LEAST_WIDTH or height < LEAST_HEIGHT:
        return empty(width, height, TOO_SMALL, ink)
    drawn = curves(series)
    if not drawn:
        return empty(width, height, NOTHING, ink)
    grid = Grid(width, height, ink)
    frame = lay_out(grid, drawn, words)
    _lattice(grid, frame, draw_axes(grid, frame))
    _background(grid, frame, drawn)
    _marks(grid, frame)
    lines = [_line(frame, curve) for curve in drawn]
    pen(grid, frame, drawn, lines)
    _glyphs(grid, frame, drawn, lines)
    _end_labels(grid, frame, drawn)
    return grid.drawing()


def _lattice(grid: Grid, frame: Frame, columns: Sequence[int]) -> None:
    """A light grid: sparse dots at the ticks of either axis."""
    ink, picture = grid.ink, np.zeros((frame.up.dots, frame.across.dots), dtype=bool)
    for at, _ in frame.y_ticks:
        picture[frame.up.dots - 1 - frame.up.place(at), :: 4 * ink.across] = True
    for column in filter(None, columns):  # the axis stands at the first
        picture[:: max(ink.up, 2), min(column * ink.across, frame.across.dots - 1)] = True
    _stamp(grid, frame, picture, "grid")


def _background(grid: Grid, frame: Frame, drawn: Sequence[Curve]) -> None:
    bands = np.zeros((frame.up.dots, frame.across.dots), dtype=bool)
    for curve in drawn:
        bands |= shade(curve.x, curve.low, curve.high, frame.across, frame.up)
    _stamp(grid, frame, bands, "band")
    if frame.words.zero and frame.up.low <= 0 <= frame.up.high:
        line = np.zeros((frame.up.dots, frame.across.dots), dtype=bool)
        line[frame.up.dots - 1 - frame.up.place(0.0), :: grid.ink.across] = True
        _stamp(grid, frame, line, "zero")


def _stamp(grid: Grid, frame: Frame, picture: Mask, role: str) -> None:
    ink, top, left = grid.ink, frame.top, frame.left
    stamp = ink.stamps.get(role, "")
    for row, column, pattern in ink.cells(picture):
        glyph = stamp or ink.glyph(pattern, "")
        grid.cells[top + row][left + column] = glyph
        grid.roles[top + row][left + column] = role


def _marks(grid: Grid, frame: Frame) -> None:
    """Vertical lines, and their labels in the row above the canvas, right of what stands there,
    each cut before the next."""
    marks = sorted((frame.left + frame.column(at), label) for at, label in frame.words.marks)
    header = 0 if frame.words.title else len(cells(frame.words.y_label, grid.ink.plain))
    free = header + bool(header)
    for index, (column, label) in enumerate(marks):
        for row in range(frame.top, frame.top + frame.height):
            grid.put(row, column, grid.ink.frame[5], "mark")
        last = index + 1 == len(marks)
        end = grid.width if last else marks[index + 1][0] - 1
        wanted = end - len(cells(label, grid.ink.plain))
        start = max(min(column, wanted), free) if last else column
        free = start + grid.say(frame.top - 1, start, label, "mark", room=end - start) + 1


def _line(frame: Frame, curve: Curve) -> Line:
    """The dots of a curve along its way, gaps left out."""
    parts = [
        trace(frame.across.dot(curve.x[run]), frame.up.dot(curve.y[run]))
        for run in runs(curve.x, curve.y)
    ]
    return np.concatenate([part[0] for part in parts]), np.concatenate([part[1] for part in parts])


def _glyphs(grid: Grid, frame: Frame, drawn: Sequence[Curve], lines: Sequence[Line]) -> None:
    """Markers where they are asked for; else at the points, or, where these are many, along the
    curves: staggered, so that curves on top of each other both show.
    """
    period = max(frame.width // 5, 3 * len(drawn), 6)
    for index, (curve, line) in enumerate(zip(drawn, lines, strict=True)):
        glyph, known = curve.series.glyph(grid.ink.plain_marks), ~np.isnan(curve.x)
        x, y = (
            curve.marks() if curve.series.marked is not None else (curve.x[known], curve.y[known])
        )
        few = curve.series.marked is not None or known.sum() <= frame.width // 4
        columns, rows = frame.cell(*((frame.across.dot(x), frame.up.dot(y)) if few else line))
        if not few:
            offset = (index * period // len(drawn) + period // 2) % period
            chosen = (columns % period == offset) & (np.diff(columns, prepend=-1) != 0)
            if not chosen.any():
                chosen[len(chosen) // 2] = True
            columns, rows = columns[chosen], rows[chosen]
        for column, row in zip(columns.tolist(), rows.tolist(), strict=True):
            grid.put(frame.top + row, frame.left + column, glyph, curve.role)


def _end_labels(grid: Grid, frame: Frame, drawn: Sequence[Curve]) -> None:
    """Labels right of the canvas in the order of the curves' ends, each as near to its own as the
    others allow; without room for all, those of the curves drawn last, which lie on top."""
    named = [curve for curve in drawn if curve.series.label][-frame.height :]
    ends = sorted(((_end(curve), curve) for curve in named), key=lambda pair: -pair[0])
    start = frame.left + frame.width
    rows = spread([frame.row(end) for end, _ in ends], frame.height)
    for row, (_, curve) in zip(rows, ends, strict=True):
        text = f"{curve.series.glyph(grid.ink.plain_marks)} {curve.series.label}"
        grid.say(frame.top + row, start + 1, text, curve.role)


def _end(curve: Curve) -> float:
    return float(curve.y[np.nanargmax(curve.x)])


def spread(wanted: Sequence[int], rows: int) -> list[int]:
    """Rows in the order wanted (ascending), no two alike, moved as little as a sweep can do."""
    placed: list[int] = []
    for row in wanted:
        placed.append(max(row, placed[-1] + 1 if placed else 0))
    limit = rows - 1
    for index in range(len(placed) - 1, -1, -1):
        placed[index] = min(placed[index], limit)
        limit = placed[index] - 1
    return placed
