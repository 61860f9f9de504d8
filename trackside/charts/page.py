"""The full-page chart: the same axes, the curves drawn by plotext, which has no half blocks: those
are drawn by our own pen."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from threading import Lock
from typing import Final

from trackside.charts.compose import compose
from trackside.charts.drawing import SERIES_ROLES, Drawing, Grid
from trackside.charts.frame import Frame, Tick, Words
from trackside.charts.panel import pen
from trackside.charts.raster import Line, runs
from trackside.charts.series import Curve, Series
from trackside.charts.ticks import LARGEST

_LOCK: Final = Lock()
"""plotext has one figure for the whole program: who draws in it has it to itself."""

_COLOUR: Final = re.compile(r"\x1b\[(?:38;5;(\d+)|0)m")


def plot(
    series: Sequence[Series],
    width: int,
    height: int,
    *,
    x_label: str = "",
    y_label: str = "",
    title: str = "",
    zero: bool = True,
    marks: Sequence[Tick] = (),
    x_ticks: Sequence[Tick] | None = None,
    foot: Sequence[Tick] = (),
    ink: str = "braille",
) -> Drawing:
    """A chart of `width` by `height` cells.

    Values are in the units that the labels name. `marks` are (x, text) pairs shown as vertical
    lines; `x_ticks` are such pairs too, or None for round numbers, and so are those of `foot`, the
    row below them. With `zero` the y axis holds 0 and shows it as a line. `ink` is one of INKS.
    """
    words = Words(
        title=title,
        x_label=x_label,
        y_label=y_label,
        marks=_finite(marks),
        x_ticks=None if x_ticks is None else _finite(x_ticks),
        foot=_finite(foot),
        zero=zero,
    )
    return compose(series, width, height, words, _pen if ink != "blocks" else pen, ink)


def _finite(ticks: Sequence[Tick]) -> tuple[Tick, ...]:
    return tuple((float(at), str(text)) for at, text in ticks if abs(at) <= LARGEST)


def _pen(grid: Grid, frame: Frame, drawn: Sequence[Curve], lines: Sequence[Line]) -> None:
    with _LOCK:
        picture = _drawn(frame, drawn, grid.ink.plain)
    for row, line in enumerate(picture.split("\n")[: frame.height]):
        for column, glyph, colour in _coloured(line):
            role = SERIES_ROLES[colour - 1]
            grid.put(frame.top + row, frame.left + column, glyph, role)


def _drawn(frame: Frame, drawn: Sequence[Curve], plain: bool) -> str:
    """The curves as plotext draws them, in its one figure, with the colours' codes.

    Imported here, since the panel beside the hand need not wait the 80 ms that it takes.
    """
    import plotext

    plotext.clear_figure()
    plotext.limit_size(False, False)
    plotext.plot_size(frame.width, frame.height)
    plotext.theme("clear")
    plotext.frame(False)
    plotext.xticks([])
    plotext.yticks([])
    plotext.xlim(frame.across.low, frame.across.high)
    plotext.ylim(frame.up.low, frame.up.high)
    for curve in drawn:
        marker = curve.series.glyph(True) if plain else "braille"
        for run in runs(curve.x, curve.y):
            x, y = curve.x[run].tolist(), curve.y[run].tolist()
            plotext.plot(x, y, marker=marker, color=1 + SERIES_ROLES.index(curve.role))
    return str(plotext.build())


def _coloured(line: str) -> Iterator[tuple[int, str, int]]:
    """The cells that plotext gave a colour: column, glyph, colour."""
    column, colour, parts = 0, None, _COLOUR.split(line)
    for index, part in enumerate(parts):
        if index % 2:
            colour = part
            continue
        for glyph in part:
            if colour is not None and glyph != " ":
                yield column, glyph, int(colour)
            column += 1
