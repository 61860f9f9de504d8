"""A trend in one line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from trackside.charts.ticks import LARGEST

_BLOCKS: Final = "▁▂▃▄▅▆▇█"
_PLAIN: Final = "_.-~=+*#"


def spark(values: Sequence[float | None], width: int, *, ink: str = "braille") -> str:
    """The last `width` values as blocks between the lowest and the highest of them, one a cell.

    Unknown values are gaps; a trend without change stands at half height; always `width` cells.
    """
    shown = [_known(value) for value in values[-width:]] if width > 0 else []
    known = [value for value in shown if value is not None]
    low, high = (min(known), max(known)) if known else (0.0, 0.0)
    steps = _BLOCKS if ink == "braille" else _PLAIN
    text = ""
    for value in shown:
        if value is None:
            text += " "
        elif high > low:
            text += steps[round((value - low) / (high - low) * (len(steps) - 1))]
        else:
            text += steps[len(steps) // 2 - 1]
    return text.ljust(max(width, 0))


def _known(value: float | None) -> float | None:
    known = value is not None and math.isfinite(value) and abs(value) <= LARGEST
    return value if known else None
