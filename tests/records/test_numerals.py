"""Which mark of a file groups by thousands, where only the sizes of its numbers say it."""

from __future__ import annotations

import pytest

from trackside.errors import BadNumber
from trackside.records.numerals import group_mark


@pytest.mark.parametrize(
    ("cells", "mark"),
    [
        (["1.250", "350.125", "90"], ","),  # three digits in front: no thousand among them
        (["1,250", "350,125", "90"], "."),
        (["1.250", "100"], "."),  # beside hundreds 1.250 is a thousand
        (["1,250", "150"], ","),
        (["1.250", "0.5"], ","),
        (["1.250"], ""),  # alone it is as it reads
        (["1.250.000", "12"], "."),
    ],
)
def test_sizes_say_which_mark_groups(cells: list[str], mark: str) -> None:
    assert group_mark([cells]) == mark


@pytest.mark.parametrize("cells", [["1.250", "99"], ["12.500", "99"], ["1,250", "99"]])
def test_below_a_hundred_they_do_not(cells: list[str]) -> None:
    """100 is our own limit: forces of a dyno sheet reach it, clicks and degrees seldom do."""
    with pytest.raises(BadNumber, match=f"“{cells[0]}” can be read in two ways") as refused:
        group_mark([cells])
    assert refused.value.remedy == "use one decimal mark, no grouping"
