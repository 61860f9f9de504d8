"""A dyno sheet from a file that is no table."""

from __future__ import annotations

import csv

import pytest

from trackside.errors import BadSheet
from trackside.records import read_sheet

HEADER = "position,direction,speed_mm_s,force_N\n"


@pytest.mark.parametrize("endless", [HEADER + "{}", '"{}"\n', HEADER + '8,bump,50,"{}"\n'])
def test_a_cell_without_end_is_refused_as_a_sheet(endless: str) -> None:
    """The csv module's own limit: see `csv.field_size_limit` in Python's documentation."""
    text = endless.format("x" * (csv.field_size_limit() + 1))
    with pytest.raises(BadSheet, match=r"odd\.csv"):
        read_sheet(text, "odd.csv")
