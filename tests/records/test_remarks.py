"""A table of the program's own carries its warnings in remarks, and reading finds them again."""

from __future__ import annotations

import pytest

from trackside.records import SheetWarning, read_sheet
from trackside.records.sheet_reading import gas_remark, warning_remark

TABLE = "position,direction,speed_mm_s,force_N\n8,bump,50,200\n8,bump,100,300\n"


@pytest.mark.parametrize("serious", [True, False])
@pytest.mark.parametrize("position", [None, 8.0, 0.5])
def test_a_warning_comes_back_from_its_remark(serious: bool, position: float | None) -> None:
    one = SheetWarning(name="run_off", serious=serious, position=position, words="off by a half")
    sheet = read_sheet(f"{warning_remark(one)}\n{TABLE}", "a.csv")
    assert sheet.warnings == (one,)
    assert sheet.waits == serious


def test_a_remark_reads_as_a_person_would_say_it() -> None:
    one = SheetWarning(name="run_off", serious=True, position=8.0, words="off by a half")
    assert warning_remark(one) == "# serious warning run_off at 8: off by a half"
    light = SheetWarning(name="few_speeds", words="two speeds")
    assert warning_remark(light) == "# warning few_speeds: two speeds"


@pytest.mark.parametrize(
    ("last", "is_short"),
    [
        ("8,bump,100.0,30", True),  # half of 300.0: the others have a decimal
        ("8,bump,100.0,300.0", False),
        ("8,bump,100.0,30\n", False),  # a whole line
    ],
)
def test_a_file_that_ends_within_a_number_says_so(last: str, is_short: bool) -> None:
    text = f"position,direction,speed_mm_s,force_N\n8,bump,50.0,200.0\n8,bump,75.0,250.0\n{last}"
    found = read_sheet(text, "a.csv").warnings
    assert [(one.name, one.serious, one.words) for one in found] == (
        [("last_line_short", True, last)] if is_short else []
    )


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("# gas force still in it", True),
        ("Gas force included", True),
        ("gas force not removed", True),
        ("# gas force taken out: 92 N at mid stroke", False),
        ("Gas force: not included", False),
        ("gas compensated", False),
        ("gas force subtracted", False),
        ("gas removed", False),
        ("gas-free", False),
        ("gas charge 12 bar", None),
        ("Operator: nobody", None),
    ],
)
def test_a_remark_on_the_gas_is_understood(words: str, said: bool | None) -> None:
    assert gas_remark(words) is said
