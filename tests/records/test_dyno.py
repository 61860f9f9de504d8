"""A dyno sheet from a file that is no table."""

from __future__ import annotations

import csv
from typing import Any

import pytest

from trackside.errors import BadRecord, BadSheet
from trackside.records import DynoSheet, read_sheet

HEADER = "position,direction,speed_mm_s,force_N\n"


@pytest.mark.parametrize("endless", [HEADER + "{}", '"{}"\n', HEADER + '8,bump,50,"{}"\n'])
def test_a_cell_without_end_is_refused_as_a_sheet(endless: str) -> None:
    """The csv module's own limit: see `csv.field_size_limit` in Python's documentation."""
    text = endless.format("x" * (csv.field_size_limit() + 1))
    with pytest.raises(BadSheet, match=r"odd\.csv"):
        read_sheet(text, "odd.csv")


@pytest.mark.parametrize("direction", ["bump", "rebound"])
@pytest.mark.parametrize("sign", [1, -1])
def test_forces_of_one_sign_have_that_sign_though_they_fall(direction: str, sign: int) -> None:
    """A flat curve whose scatter falls with speed: what rises is no sign where all rows agree."""
    rows = [(50, 15.18), (140, 14.89), (440, 14.86)]
    text = HEADER + "".join(f"8,{direction},{v},{sign * f}\n" for v, f in rows)
    if direction == "bump" and sign < 0:
        with pytest.raises(BadSheet, match="bump forces are negative"):
            read_sheet(text)
        return
    sheet = read_sheet(text)
    assert [row.force for row in sheet.rows] == [15.18, 14.89, 14.86]
    assert sheet.rebound_sign == sign


@pytest.mark.parametrize("body", [{"damper": "D"}, {"damper": "D", "rows": []}])
def test_a_sheet_without_rows_is_refused(body: dict[str, Any]) -> None:
    with pytest.raises(BadRecord, match="rows"):
        DynoSheet.checked(body)
