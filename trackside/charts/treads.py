"""The four treads as they stand on the car, three temperatures each."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

from trackside.charts.drawing import Drawing, Grid

Tread = tuple[float | None, float | None, float | None]
_UNKNOWN: Final = (None, None, None)
WIDE: Final = 47
"""Columns from which the places are written out and the figures stand apart."""


def tread_map(
    temps: Mapping[str, Tread], *, unit: str = "°C", ink: str = "braille", width: int = WIDE
) -> Drawing:
    """Inner, middle and outer temperature of each tread (keys FL, FR, RL, RR), seen from above.

    Inner edges stand toward the middle of the car. The hottest place of each tread carries a sign,
    which the last line explains; a tread of one temperature carries none, and nothing here says
    that it is too hot. Unknown values are a dash. Values in `unit`.
    The map is 47 columns wide, or 33 where `width` is less.
    """
    field, margin = (6, 1) if width >= WIDE else (4, 0)
    side = 3 * field
    left = margin + 3
    middle = left + side + 1
    grid = Grid(2 * middle + 1, 7, ink)
    sign = _sign(grid)
    grid.say(0, left + (side - len(unit)) // 2, unit)
    grid.say(0, middle - 2, "front")
    places = ("outer", "mid", "inner") if margin else ("out", "mid", "in")
    for start, names in ((left, places), (middle + 2, places[::-1])):
        for place, name in enumerate(names):
            grid.say(1, start + place * field, name.rjust(field - 1))
    for corners, row in ((("FL", "FR"), 3), (("RL", "RR"), 5)):
        grid.say(row, margin, corners[0], corners[0])
        _tread(grid, row, left, field, temps.get(corners[0], _UNKNOWN)[::-1])
        _tread(grid, row, middle + 2, field, temps.get(corners[1], _UNKNOWN))
        grid.say(row, grid.width - 2 - margin, corners[1], corners[1])
    for row in range(1, grid.height - 1):
        grid.put(row, middle, grid.ink.frame[0], "axis")
    if any(sign in cells for cells in grid.cells):
        grid.say(grid.height - 1, margin, f"{sign} hottest of its tread", "axis")
    return grid.drawing()


def _tread(grid: Grid, row: int, start: int, field: int, temps: Sequence[float | None]) -> None:
    """Three temperatures from `start` on, a sign at the hottest."""
    shown = [_text(value) for value in temps]
    known = {int(text.replace("−", "-")) for text in shown if text != "–"}
    hottest = max(known) if len(known) > 1 else None
    for place, text in enumerate(shown):
        hot = hottest is not None and text == str(hottest).replace("-", "−")
        grid.say(row, start + place * field, text.rjust(field - 1) + _sign(grid) * hot)


def _sign(grid: Grid) -> str:
    return "^" if grid.ink.plain else "▲"


def _text(value: float | None) -> str:
    if value is None or not math.isfinite(value) or abs(value) >= 9999.5:
        return "–"
    return str(round(value)).replace("-", "−")
