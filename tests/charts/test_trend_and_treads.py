"""The one-line trend and the tread map."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.charts.reading import cells_of
from trackside.charts import spark, tread_map

maybe = st.none() | st.floats()


@given(st.lists(maybe, max_size=30), st.integers(0, 40), st.booleans())
def test_a_spark_is_as_wide_as_asked_and_keeps_the_order(
    values: list[float | None], width: int, ink: str
) -> None:
    line = spark(values, width, ink=ink)
    assert len(line) == width
    assert line.isascii() or ink != "ascii"


@given(st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=20))
def test_a_higher_value_is_never_a_lower_block(values: list[float]) -> None:
    line = spark(values, len(values))
    for a, height_a in zip(values, line, strict=True):
        for b, height_b in zip(values, line, strict=True):
            # U+2581 to U+2588 grow by eighths (Unicode, Block Elements).
            assert a <= b or height_a >= height_b
            assert "▁" <= height_a <= "█"


def test_spark_written_out() -> None:
    assert spark([1, 2, 3, 4, 5, 6, 7, 8], 8) == "▁▂▃▄▅▆▇█"
    assert spark([0, None, 7], 5) == "▁ █  "
    assert spark([0, 7, 3, 3], 2) == "▄▄", "the newest, and no change is half height"
    assert spark([None, float("nan")], 3) == "   "
    assert spark([], 0) == ""


def test_the_treads_stand_as_on_the_car() -> None:
    drawing = tread_map(
        {"FL": (91, 88, 80), "FR": (90, 84.6, 82), "RL": (70, None, 71), "RR": (60, 61, 62)}
    )
    lines = drawing.plain().split("\n")
    left, right = lines[3].split("│")
    assert left.split() == ["FL", "80", "88", "91▲"]
    assert right.split() == ["90▲", "85", "82", "FR"]
    left, right = lines[5].split("│")
    assert left.split() == ["RL", "71▲", "–", "70"]
    assert right.split() == ["60", "61", "62▲", "RR"]
    assert lines[1].split() == ["outer", "mid", "inner", "│", "inner", "mid", "outer"]
    assert len({len(line) for line in lines}) == 1


@pytest.mark.parametrize("width", [33, 47])
def test_the_hottest_place_carries_a_sign_that_is_explained_and_no_colour(width: int) -> None:
    temps = {"FL": (91, 91, 80), "FR": (70, 70, 70), "RR": (-5, -2, None)}
    drawing = tread_map(temps, width=width)
    lines = drawing.plain().split("\n")
    marked = re.findall(r"\S+▲", "\n".join(lines[:-1]))
    assert marked == ["91▲", "91▲", "−2▲"], "two alike are both marked, three alike are not"
    assert lines[-1].strip() == "▲ hottest of its tread"
    shown = {glyph for _, _, glyph in cells_of(drawing, "text")}
    assert shown >= set("91▲"), "it stands in the colour of the others"
    level = tread_map({"FL": (70, 70, 70)}, width=width).plain()
    assert "hottest" not in level
    assert "▲" not in level


@pytest.mark.parametrize("bad", [(None, None, None), (float("nan"),) * 3, (float("inf"), 1e300, 0)])
def test_unknown_temperatures_are_dashes(
    bad: tuple[float | None, float | None, float | None],
) -> None:
    lines = tread_map({"FL": bad}).plain().split("\n")
    assert "–" in lines[3]
    assert len({len(line) for line in lines}) == 1


def test_the_tread_map_in_plain_characters() -> None:
    text = tread_map({"FL": (91, 88, None)}, ink="ascii").plain()
    assert text.isascii()
    assert re.search(r"FL +- +88 +91\^", text)
