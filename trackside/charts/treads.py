"""The four treads as they stand on the car, three temperatures each."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from trackside.charts.drawing import Drawing, Grid

Tread = tuple[float | None, float | None, float | None]
_FIELD: Final = 6
_SIDE: Final = 3 * _FIELD


def tread_map(temps: Mapping[str, Tread], *, unit: str = "°C", ink: str = "braille") -> Drawing:
    """Inner, middle and outer temperature of each tread (keys FL, FR, RL, RR), seen from above.

    Inner edges stand toward the middle of the car. The hottest place of each tread carries an
    arrow; a tread of one temperature carries none. Unknown values are a dash. Values in `unit`.
    """
    grid = Grid(2 * _SIDE + 11, 7, ink)
    middle = grid.width // 2
    grid.say(0, 5 + (_SIDE - len(unit)) // 2, unit)
    grid.say(0, middle - 2, "front")
    for side, start in (("left", 4), ("right", middle + 2)):
        names = ("outer", "mid", "inner") if side == "left" else ("inner", "mid", "outer")
        for place, name in enumerate(names):
            grid.say(1, start + place * _FIELD, name.rjust(_FIELD - 1))
    for front, rear, row in (("FL", "FR", 3), ("RL", "RR", 5)):
        _tread(grid, row, front, temps, left=True)
        _tread(grid, row, rear, temps, left=False)
    for row in range(1, grid.height):
        grid.put(row, middle, grid.ink.frame[0], "axis")
    return grid.drawing()


def _tread(grid: Grid, row: int, corner: str, temps: Mapping[str, Tread], *, left: bool) -> None:
    shown = [_text(value) for value in temps.get(corner, (None, None, None))]
    known = {int(text.replace("−", "-")) for text in shown if text != "–"}
    hottest = max(known) if len(known) > 1 else None
    start = 4 if left else grid.width // 2 + 2
    grid.say(row, 1 if left else grid.width - 3, corner, corner)
    for place, text in enumerate(reversed(shown) if left else shown):
        hot = hottest is not None and text == str(hottest).replace("-", "−")
        arrow = ("^" if grid.ink.plain else "▲") if hot else ""
        grid.say(
            row,
            start + place * _FIELD,
            text.rjust(_FIELD - 1) + arrow,
            "hot" if hot else "text",
        )


def _text(value: float | None) -> str:
    if value is None or not math.isfinite(value) or abs(value) >= 9999.5:
        return "–"
    return str(round(value)).replace("-", "−")
