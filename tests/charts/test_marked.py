"""Markers stand where they are asked for, on the curve, read back from the drawn text."""

from __future__ import annotations

import numpy as np
import pytest

from tests.charts.reading import cells_of
from trackside.charts import MARKERS, Drawing, Series, live

SPEED = np.linspace(0, 500, 51)
ASKED = [25, 100, 200, 450, 900]


def _across(drawing: Drawing) -> tuple[float, float]:
    """Column at 0 and columns per unit, by the ticks below the canvas."""
    lines = drawing.plain().split("\n")
    axis = next(row for row, line in enumerate(lines) if "┬" in line)
    columns = [column for column, glyph in enumerate(lines[axis]) if glyph == "┬"]
    values = [float(text) for text in lines[axis + 1].split() if text.isdigit()]
    slope, start = np.polyfit(values, columns, 1)
    return float(start), float(slope)


@pytest.mark.parametrize(("width", "height"), [(34, 14), (57, 18), (90, 30)])
def test_markers_stand_at_the_speeds_asked_for_and_nowhere_else(width: int, height: int) -> None:
    force = 1000 * np.sqrt(SPEED / 500)
    series = Series(SPEED, force, "after", marked=ASKED)
    drawing = live([series], width, height, x_label="mm/s", y_label="N, ◆ as in the table")
    head = drawing.plain().split("\n")[0]
    assert head.rstrip() == "N, ◆ as in the table"
    marked = sorted(
        (column, row)
        for row, column, glyph in cells_of(drawing, "after")
        if glyph == MARKERS["after"]
    )
    assert len(marked) == 4, "one speed lies beyond the curve"
    start, slope = _across(drawing)
    for (column, _), speed in zip(marked, ASKED, strict=False):
        # half a cell each: the marker's own, and that of the ticks that it is read against
        assert abs(column - (start + slope * speed)) <= 1.0
    rows = [row for _, row in marked]
    assert rows == sorted(rows, reverse=True), "force rises with speed"
