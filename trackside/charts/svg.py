"""Curves as an inline SVG, for paper: black on white, told apart by dash and marker, not by colour.

Nothing in it comes from outside: no font, no script, no style sheet.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from typing import Final

import numpy as np

from trackside.charts.series import Curve, Numbers, Series, curves
from trackside.charts.ticks import alike, round_ticks, rounded_out, tick_texts

LEFT, RIGHT, TOP, BOTTOM = 46.0, 8.0, 34.0, 30.0
"""Room around the axes for their figures and the legend (px)."""
MARKS: Final = 6
"""Markers along a curve."""

_DASHES: Final = {"rebound": "7 3", "before": "4 3", "FR": "7 3", "RL": "2 3", "RR": "7 3 2 3"}
_SHAPES: Final = {
    "bump": ("M0,-4 4,3 -4,3Z", True), "rebound": ("M0,4 4,-3 -4,-3Z", False),
    "after": ("M0,-4 4,0 0,4 -4,0Z", True), "before": ("M0,-4 4,0 0,4 -4,0Z", False),
    "FL": ("M-3,0a3,3 0 1,0 6,0a3,3 0 1,0 -6,0", True),
    "FR": ("M-3,0a3,3 0 1,0 6,0a3,3 0 1,0 -6,0", False),
    "RL": ("M-3,-3 3,-3 3,3 -3,3Z", True), "RR": ("M-3,-3 3,-3 3,3 -3,3Z", False),
    "other": ("M-3,-3 3,3M-3,3 3,-3", False),
}  # fmt: skip
"""The marker of each role: its outline, and whether it is filled."""


def svg(
    series: Sequence[Series],
    width: float,
    height: float,
    *,
    x_label: str = "",
    y_label: str = "",
    title: str = "",
) -> str:
    """The series over one pair of axes that both start at, or hold, nought; `width` and `height`
    are in px and set the shape, as it scales to its place. With nothing to draw it says so."""
    width, height = max(width, 120.0), max(height, 90.0)
    drawn = curves(series)
    parts = [_text(4, 11, title, weight="bold")]
    if drawn:
        axes = _Axes(drawn, width, height)
        parts += [
            *axes.grid(x_label, y_label),
            *(axes.band(curve) for curve in drawn),
            *(piece for curve in drawn for piece in axes.line(curve)),
            *_legend(drawn),
        ]
    else:
        parts.append(_text(LEFT, height / 2, "nothing to draw"))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" role="img" '
        f'aria-label="{escape(title)}" font-family="sans-serif" font-size="9">'
        + "".join(parts)
        + "</svg>"
    )


class _Axes:
    """Where a number stands on the page."""

    def __init__(self, drawn: Sequence[Curve], width: float, height: float) -> None:
        self.left, self.right = LEFT, width - RIGHT
        self.top, self.bottom = TOP, height - BOTTOM
        self.x = _range(curve.x for curve in drawn)
        self.y = _range(part for curve in drawn for part in (curve.y, curve.low, curve.high))

    def at(self, x: Numbers, y: Numbers) -> tuple[Numbers, Numbers]:
        """Numbers as px."""
        across = (x - self.x[0]) / (self.x[1] - self.x[0])
        up = (y - self.y[0]) / (self.y[1] - self.y[0])
        return (
            self.left + across * (self.right - self.left),
            self.bottom - up * (self.bottom - self.top),
        )

    def grid(self, x_label: str, y_label: str) -> Iterator[str]:
        """Light lines at round numbers, the numbers beside them, nought drawn black."""
        nought = np.zeros(1)
        for value, words in _ticks(self.y, 6):
            _, (y,) = self.at(nought, np.array([value]))
            yield _line(self.left, y, self.right, y, value == 0)
            yield _text(self.left - 4, y + 3, words, anchor="end")
        for value, words in _ticks(self.x, 8):
            (x,), _ = self.at(np.array([value]), nought)
            yield _line(x, self.top, x, self.bottom, value == 0)
            yield _text(x, self.bottom + 11, words, anchor="middle")
        yield _text(self.right, self.bottom + 23, x_label, anchor="end")
        yield _text(4, self.top - 4, y_label)

    def band(self, curve: Curve) -> str:
        """The 95 % band as a light area; a gap parts it."""
        return "".join(
            f'<path d="M{_points(*self.at(x, high))}L{_points(*self.at(x[::-1], low[::-1]))}Z" '
            'fill="#000" fill-opacity="0.13"/>'
            for x, low, high in _whole(curve.x, curve.low, curve.high)
        )

    def line(self, curve: Curve) -> Iterator[str]:
        """The curve, a gap left open, with a few markers."""
        dash = _DASHES.get(curve.role, "")
        for x, y in _whole(curve.x, curve.y):
            across, up = self.at(x, y)
            yield (
                f'<path d="M{_points(across, up)}" fill="none" stroke="#000" stroke-width="1.3"'
                + (f' stroke-dasharray="{dash}"' if dash else "")
                + "/>"
            )
            for n in np.unique(np.linspace(0, len(x) - 1, MARKS).round().astype(int)):
                yield _marker(curve.role, across[n], up[n])


def _range(columns: Iterator[Numbers]) -> tuple[float, float]:
    found = np.concatenate([np.zeros(1), *columns])
    low, high = float(np.nanmin(found)), float(np.nanmax(found))
    if alike(low, high):
        high = low + 1.0
    return rounded_out(low, high, 6)


def _ticks(ends: tuple[float, float], most: int) -> Iterator[tuple[float, str]]:
    ticks = round_ticks(*ends, most)
    return zip(ticks, tick_texts(ticks), strict=True)


def _whole(*columns: Numbers) -> Iterator[tuple[Numbers, ...]]:
    """The stretches in which every column is a number."""
    known = ~np.isnan(np.vstack(columns)).any(axis=0)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], known, [False]]).astype(int)))
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        yield tuple(column[start:end] for column in columns)


def _points(x: Numbers, y: Numbers) -> str:
    return " ".join(f"{across:.1f},{up:.1f}" for across, up in zip(x, y, strict=True))


def _line(x1: float, y1: float, x2: float, y2: float, nought: bool) -> str:
    stroke = 'stroke="#000" stroke-width="0.9"' if nought else 'stroke="#bbb" stroke-width="0.5"'
    return f'<path d="M{x1:.1f},{y1:.1f} {x2:.1f},{y2:.1f}" {stroke}/>'


def _text(x: float, y: float, words: str, *, anchor: str = "start", weight: str = "normal") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-weight="{weight}">'
        f"{escape(words)}</text>"
    )


def _marker(role: str, x: float, y: float) -> str:
    outline, filled = _SHAPES.get(role, _SHAPES["other"])
    fill = "#000" if filled else "#fff"
    return (
        f'<path transform="translate({x:.1f},{y:.1f})" d="{outline}" fill="{fill}" '
        'stroke="#000" stroke-width="0.9"/>'
    )


def _legend(drawn: Sequence[Curve]) -> Iterator[str]:
    x = LEFT
    for curve in drawn:
        words = curve.series.label or curve.role
        yield _marker(curve.role, x + 4, 21)
        yield _text(x + 12, 24, words)
        x += 24 + 5.2 * len(words)
