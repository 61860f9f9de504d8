"""The loop of a bench run, as a sheet keeps it."""

import pytest

from trackside.errors import BadRecord
from trackside.records import DynoRow, DynoSheet, Loop

CIRCLE = {"position": 4, "speed": 0.1, "displacement": (0.0, 0.02, 0.0, -0.02)}


def test_a_sheet_keeps_its_loops_and_an_old_one_has_none() -> None:
    rows = (DynoRow(4, "bump", 0.1, 300.0),)
    sheet = DynoSheet(rows=rows, loops=(Loop(**CIRCLE, force=(9.0, 0.0, -9.0, 0.0)),))
    assert DynoSheet.checked(sheet.body()) == sheet
    assert hash(DynoSheet.checked(sheet.body())) == hash(sheet)
    bare = DynoSheet(rows=rows).body()
    del bare["loops"]
    assert DynoSheet.checked(bare).loops == ()


def test_two_loops_of_one_speed_differ() -> None:
    one, other = (Loop(**CIRCLE, force=(f, 0.0, -f, 0.0)) for f in (9.0, 8.0))
    assert hash(one) == hash(other)
    assert one != other


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"force": (1.0,)}, "as many displacements as forces"),
        ({"force": (1.0,) * 201, "displacement": (1.0,) * 201}, "at most 200 points"),
    ],
)
def test_a_loop_that_is_none(change: dict, told: str) -> None:
    with pytest.raises(BadRecord, match=told):
        Loop.checked({**CIRCLE, **change})
