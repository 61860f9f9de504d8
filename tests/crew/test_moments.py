"""A day and a time as they are typed: written so that they sort, or refused with what helps."""

from __future__ import annotations

import pytest

from trackside.crew.moments import read_day, read_moment, read_time
from trackside.errors import BadInput

DAY = "2026-05-09"


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("10:45", "2026-05-09 10:45"),
        (" 9.05 ", "2026-05-09 09:05"),
        ("0:00", "2026-05-09 00:00"),
        ("2026-05-10 9:05", "2026-05-10 09:05"),
        ("2026-05-10T23:59", "2026-05-10 23:59"),
        ("2026-05-10  8:00", "2026-05-10 08:00"),
    ],
)
def test_a_time_is_of_its_own_day_else_of_that_one(typed: str, read: str) -> None:
    assert read_time(typed, DAY) == read
    assert read_moment(typed, DAY) == read


@pytest.mark.parametrize("typed", ["24:00", "10:60", "10:5", "ten", "", "2026-05-32 10:00"])
def test_what_is_no_time_says_how_one_is_typed(typed: str) -> None:
    with pytest.raises(BadInput) as refused:
        read_time(f" {typed}", DAY)
    assert refused.value.cause == f"“{typed}” is no time of day"
    assert refused.value.remedy == "type it as 10:45"
    with pytest.raises(BadInput) as refused:
        read_moment(f" {typed}", DAY)
    assert refused.value.cause == f"“{typed}” is no day or time"
    assert refused.value.remedy == "type it like 2026-05-09, or 10:45"


def test_a_day_is_written_so_that_it_sorts() -> None:
    assert read_day("2026-05-10") == read_day("20260510") == "2026-05-10"
    assert read_moment(" 2026-05-10 ", DAY) == "2026-05-10"
    with pytest.raises(BadInput) as refused:
        read_day("10.5.2026")
    assert refused.value.cause == "“10.5.2026” is not a date"
    assert refused.value.remedy == "type it like 2026-05-09"
