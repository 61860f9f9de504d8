"""The axes around a canvas: ranges, ticks, units, and room for everything that stands outside."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from trackside.charts.drawing import Grid
from trackside.charts.raster import Dots, Line, Scale
from trackside.charts.series import Curve
from trackside.charts.ticks import alike, round_ticks, rungs, tick_texts
from trackside.charts.words import cells

Tick = tuple[float, str]
LEAST_WIDTH, LEAST_HEIGHT = 20, 5
FULL_HEIGHT, TALL_HEIGHT = 10, 20
"""From FULL_HEIGHT on the x axis has a line, from TALL_HEIGHT on its label has a row."""
_SHORT = 6
"""A unit up to this long gets room beside the last x tick."""


@dataclass(frozen=True)
class Words:
    """What is written around the canvas. None for x ticks means round numbers; `y_text` writes the
    round numbers of the y axis, None for plain ones; `foot` stands below the x ticks."""

    title: str = ""
    x_label: str = ""
    y_label: str = ""
    marks: tuple[Tick, ...] = ()
    x_ticks: tuple[Tick, ...] | None = None
    y_text: Callable[[float], str] | None = None
    foot: tuple[Tick, ...] = ()
    zero: bool = True


@dataclass(frozen=True)
class Frame:
    """Where the canvas lies in the grid, its scales in dots, and the ticks beside it."""

    left: int
    top: int
    width: int
    height: int
    across: Scale
    up: Scale
    y_ticks: tuple[Tick, ...]
    words: Words

    def cell(self, columns: Dots, rows: Dots) -> Line:
        """Canvas cells, row 0 at the top, of dots counted from the low ends."""
        wide, high = self.across.dots // self.width, self.up.dots // self.height
        return columns // wide, self.height - 1 - rows // high

    def column(self, x: float) -> int:
        """The canvas column, 0 at the left, of a value on the x axis."""
        return self.across.place(x) * self.width // self.across.dots

    def row(self, y: float) -> int:
        """The canvas row, 0 at the top, of a value on the y axis."""
        return self.height - 1 - self.up.place(y) * self.height // self.up.dots


def canvas_rows(height: int, header: int = 1, label: bool = True, foot: bool = False) -> int:
    """How many rows of a chart of that height its curves have, below `header` rows of words."""
    full, tall = height >= FULL_HEIGHT, height >= TALL_HEIGHT and label
    return max(height - header - 1 - full - tall - foot, 2)


def lay_out(grid: Grid, curves: Sequence[Curve], words: Words) -> Frame:
    """Divide the grid: gutters for ticks and end labels, rows for words, the rest is canvas."""
    header = any((words.y_label, words.title, words.marks))
    tall = grid.height >= TALL_HEIGHT and bool(words.x_label)
    top = header + bool(words.title and words.marks)
    height = canvas_rows(grid.height, top, bool(words.x_label), bool(words.foot))
    start, cell, ticks = rungs(*_y_range(curves, words), height)
    texts = tick_texts(ticks) if words.y_text is None else [words.y_text(at) for at in ticks]
    y_ticks = tuple(zip(ticks, texts, strict=True))
    below = (grid.ink.up - 1) / 2 / grid.ink.up  # from the lowest dot to the middle of its cell
    widest = max((len(cells(text, grid.ink.plain)) for _, text in y_ticks), default=0)
    left = min(widest, grid.width // 4) + 1
    labels = (len(cells(curve.series.label, grid.ink.plain)) for curve in curves)
    label, unit = max(labels, default=0), len(cells(words.x_label, grid.ink.plain))
    right = min(label + 3, grid.width // 3) if label else 1
    if not tall and 0 < unit <= _SHORT:
        right = max(right, unit + 3)
    width = grid.width - left - right
    return Frame(
        left=left,
        top=top,
        width=width,
        height=height,
        across=Scale(*_x_range(curves, words), width * grid.ink.across),
        up=Scale(start - below * cell, start + (height - 1 + below) * cell, height * grid.ink.up),
        y_ticks=y_ticks,
        words=words,
    )


def draw_axes(grid: Grid, frame: Frame) -> list[int]:
    """Write the header, both axes with their ticks, and the axis labels; gives the canvas columns
    of the x ticks."""
    words = frame.words
    room = grid.width // 2 if words.title else grid.width
    taken = grid.say(0, 0, words.y_label, room=room)
    if words.title:
        room = grid.width - taken - 2 * bool(taken)
        title = min(len(cells(words.title, grid.ink.plain)), room)
        start = max((grid.width - title) // 2, grid.width - room)
        grid.say(0, start, words.title, room=room)
    line, tick, corner, flat = grid.ink.frame[:4]
    for row in range(frame.height):
        grid.put(frame.top + row, frame.left - 1, line, "axis")
    room = frame.left - 1
    for at, text in frame.y_ticks:
        row, width = frame.row(at), len(cells(text, grid.ink.plain))
        if width <= room or words.y_text is not None:
            grid.say(frame.top + row, max(room - width, 0), text, "axis", room=room)
            grid.put(frame.top + row, frame.left - 1, tick, "axis")
    bottom = frame.top + frame.height
    below = bottom
    if grid.height >= FULL_HEIGHT:
        grid.put(bottom, frame.left - 1, corner, "axis")
        grid.put(bottom, frame.left, flat * frame.width, "axis")
        below = bottom + 1
    return _x_axis(grid, frame, bottom, below)


def _x_axis(grid: Grid, frame: Frame, line: int, row: int) -> list[int]:
    label = cells(frame.words.x_label, grid.ink.plain)
    end = grid.width
    for at, words in frame.words.foot:
        written = cells(words, grid.ink.plain)
        grid.put(row + 1, frame.left + frame.column(at) - len(written) // 2, written, "text")
    lowest = row + 1 + bool(frame.words.foot)
    if label and lowest < grid.height:
        start = max(frame.left + (frame.width - len(label)) // 2, 0)
        grid.say(lowest, start, frame.words.x_label)
    elif label:
        room = min(len(label), grid.width // 2)
        grid.say(row, grid.width - room, frame.words.x_label, room=room)
        end = grid.width - room - 1
    ticks = _x_texts(grid, frame, end)
    for column, text in ticks:
        start = _tick_start(frame, column, text, grid.width)
        grid.put(row, start, text, "axis")
        if row > line:
            grid.put(line, frame.left + column, grid.ink.frame[4], "axis")
    return [column for column, _ in ticks]


def _x_texts(grid: Grid, frame: Frame, end: int) -> list[tuple[int, list[str]]]:
    """The x ticks that stand clear of each other and end before `end`: as many as can."""
    given, scale = frame.words.x_ticks, frame.across
    if given is not None:
        inside = tuple(sorted(tick for tick in given if scale.low <= tick[0] <= scale.high))
        choices = (inside[::step] for step in range(1, len(inside) + 1))
    else:
        choices = (
            _numbered(round_ticks(scale.low, scale.high, most))
            for most in range(max(frame.width // 7 + 1, 3), 0, -1)
        )
    for ticks in choices:
        texts = [(frame.column(at), cells(text, grid.ink.plain)) for at, text in ticks]
        kept, reached, clear = [], -2, True
        for column, text in texts:
            start = _tick_start(frame, column, text, grid.width)
            if start + len(text) > end:
                break
            clear = clear and start >= reached + 2
            reached = start + len(text)
            kept.append((column, text))
        if clear and (kept or len(texts) <= 1):
            return kept
    return []


def _numbered(ticks: Sequence[float]) -> tuple[Tick, ...]:
    return tuple(zip(ticks, tick_texts(ticks), strict=True))


def _tick_start(frame: Frame, column: int, text: Sequence[str], width: int) -> int:
    middle = frame.left + column - len(text) // 2
    return max(min(middle, width - len(text)), 0)


def _y_range(curves: Sequence[Curve], words: Words) -> tuple[float, float]:
    values = [part for curve in curves for part in (curve.y, curve.low, curve.high)]
    return _range(np.concatenate(values), 0.0 if words.zero else None)


def _x_range(curves: Sequence[Curve], words: Words) -> tuple[float, float]:
    places = [at for at, _ in words.marks]
    return _range(np.concatenate([*(curve.x for curve in curves), places]), None)


def _range(values: np.ndarray, also: float | None) -> tuple[float, float]:
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    if also is not None:
        low, high = min(low, also), max(high, also)
    if alike(low, high):
        around = abs(low) / 10 or 1.0
        return low - around, high + around
    return low, high
