"""Round numbers along an axis, and how they are written."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal
from typing import Final

LARGEST: Final = 1e15
"""Beyond this a number is no longer drawn: it cannot be told from its neighbour on any axis."""

_STEPS: Final = (1.0, 2.0, 2.5, 5.0)


def round_ticks(low: float, high: float, most: int) -> list[float]:
    """At most `most` round numbers from `low` to `high`: steps of 1, 2, 2.5 or 5 times a power of
    ten, the finest that keeps to `most`; 0 is one of them whenever it is in range.

    Empty when the range is not one of finite numbers below 1e15, or `most` is below 1; a range
    without length has its own number as its only tick.
    """
    if most < 1 or not (abs(low) <= LARGEST and abs(high) <= LARGEST):
        return []
    low, high = min(low, high), max(low, high)
    if alike(low, high):
        return [float(low)]
    step = tick_step(high - low, most + 1)
    while True:
        first, last = _multiples(low, high, step)
        if last - first + 1 <= most:
            return [_round_to(index * step, step) for index in range(first, last + 1)]
        step = tick_step(step * 1.01, 1)


def alike(low: float, high: float) -> bool:
    """Whether two numbers are too close together for an axis to run between them."""
    return high - low <= max(1e-15, 1e-9 * max(abs(low), abs(high)))


def tick_step(span: float, parts: int) -> float:
    """The smallest round step of which `parts` are at least as long as `span`."""
    wanted = span / parts
    power = 10.0 ** math.floor(math.log10(wanted))
    for factor in _STEPS:
        if factor * power >= wanted * (1 - 1e-9):
            return factor * power
    return 10.0 * power


def rounded_out(low: float, high: float, parts: int) -> tuple[float, float]:
    """The range widened to whole round steps, so that it changes only when a step is crossed."""
    step = tick_step(high - low, parts)
    first, last = _multiples(low, high, step, outward=True)
    return min(_round_to(first * step, step), low), max(_round_to(last * step, step), high)


def rungs(low: float, high: float, rows: int) -> tuple[float, float, list[float]]:
    """A y axis of `rows` cells (2 or more): the value at the middle of the lowest cell, what a cell
    is worth, and the ticks, each at the middle of a cell.

    What stands in a cell is then read off the axis with an error of half a cell at most. The finest
    such scale that holds the range and has two ticks; it moves only when a whole cell is crossed.
    Two rows about zero have no room for one: they get no ticks.
    """
    most = max(rows // 3 + 1, min((rows + 1) // 2, 5), 2)
    scales = [
        scale
        for apart in range(1, 6)
        if 2 <= (rows - 1) // apart + 1 <= most
        if (scale := _rungs_apart(low, high, rows, apart)) is not None
    ]
    bare: tuple[float, float, list[float]] = low, (high - low) / (rows - 1), []
    return min(scales, key=lambda scale: (scale[1], -len(scale[2])), default=bare)


def _rungs_apart(
    low: float, high: float, rows: int, apart: int
) -> tuple[float, float, list[float]] | None:
    """The finest of them with ticks so many cells apart."""
    step = tick_step(high - low, rows // apart + 1)
    for _ in range(9):
        cell = step / apart
        first, last = _multiples(low, high, cell, outward=True)
        ticks = range(-(-first // apart), (first + rows - 1) // apart + 1)
        if last - first < rows and len(ticks) >= 2:
            return first * cell, cell, [_round_to(index * step, step) for index in ticks]
        step = tick_step(step * 1.01, 1)
    return None


def tick_text(value: float) -> str:
    """A number as an axis shows it: plain digits, never an exponent, a true minus sign."""
    if not math.isfinite(value):
        return "–"
    text = format(Decimal(f"{value:.10g}"), "f")
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return text.replace("-", "−") if text not in ("-0", "") else "0"


def tick_texts(ticks: Sequence[float]) -> list[str]:
    """The ticks of one axis as text, all with as many decimals as one of them needs; 0 is 0."""
    texts = [tick_text(tick) for tick in ticks]
    decimals = max((len(text.partition(".")[2]) for text in texts), default=0)
    return [
        text if text == "0" or not decimals else f"{tick:.{decimals}f}".replace("-", "−")
        for tick, text in zip(ticks, texts, strict=True)
    ]


def _multiples(low: float, high: float, step: float, outward: bool = False) -> tuple[int, int]:
    """The first and the last multiple of `step` within the range, or next outside it."""
    if outward:
        return math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)


def _round_to(value: float, step: float) -> float:
    return round(value, 2 - math.floor(math.log10(step))) + 0.0
