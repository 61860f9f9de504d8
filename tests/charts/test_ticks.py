"""Round ticks: laws that hold for any range, and a few written out by hand."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.charts import round_ticks, tick_text
from trackside.charts.ticks import rounded_out, tick_texts

numbers = st.floats(-1e6, 1e6).map(lambda value: round(value, 3))


@given(numbers, numbers, st.integers(1, 20))
def test_ticks_are_few_round_inside_and_evenly_spaced(low: float, high: float, most: int) -> None:
    low, high = min(low, high), max(low, high)
    if high - low < 1e-2:
        return
    ticks = round_ticks(low, high, most)
    assert (most + 1) // 2 <= len(ticks) + 1, "a coarser step than needed halves the ticks at worst"
    assert len(ticks) <= most
    if low <= 0 <= high and ticks:
        assert 0 in ticks
    if len(ticks) > 1:
        step = float(f"{ticks[1] - ticks[0]:.6g}")  # the difference alone loses digits
        mantissa = step / 10 ** math.floor(math.log10(step) + 1e-9)
        assert any(mantissa == pytest.approx(round_one) for round_one in (1, 2, 2.5, 5))
        assert low - 1e-9 * step <= ticks[0]
        assert ticks[-1] <= high + 1e-9 * step
        assert all(b - a == pytest.approx(step) for a, b in pairwise(ticks))
        assert all(abs(tick / step - round(tick / step)) < 1e-6 for tick in ticks)


@given(st.integers(-400, 400), st.integers(1, 800), st.integers(1, 20))
def test_no_finer_round_step_would_do(low: int, span: int, most: int) -> None:
    def count(step: Fraction) -> int:
        return math.floor((low + span) / step) - math.ceil(low / step) + 1

    steps = [m * Fraction(10) ** k for k in range(-3, 5) for m in (1, 2, Fraction(5, 2), 5)]
    finest = next(step for step in steps if count(step) <= most)
    assert len(round_ticks(low, low + span, most)) == count(finest)


@pytest.mark.parametrize(
    ("low", "high", "most", "ticks"),
    [
        (0, 10, 6, [0, 2, 4, 6, 8, 10]),
        (-300, 300, 7, [-300, -200, -100, 0, 100, 200, 300]),
        (91.3, 92.6, 4, [91.5, 92, 92.5]),
        (0, 1, 5, [0, 0.25, 0.5, 0.75, 1]),
        (0.3, 0.1, 3, [0.1, 0.2, 0.3]),
        (5, 5, 3, [5]),
    ],
)
def test_ticks_written_out(low: float, high: float, most: int, ticks: list[float]) -> None:
    assert round_ticks(low, high, most) == ticks


@pytest.mark.parametrize(
    "bad", [(math.nan, 1, 5), (0, math.inf, 5), (1, math.nan, 5), (0, 1, 0), (-1e300, 1e300, 5)]
)
def test_no_range_no_ticks(bad: tuple[float, float, int]) -> None:
    assert round_ticks(*bad) == []


@given(numbers, numbers)
def test_widening_keeps_the_range_inside_and_wastes_little(low: float, high: float) -> None:
    low, high = min(low, high), max(low, high)
    if high - low < 1e-2:
        return
    below, above = rounded_out(low, high, 12)
    assert below <= low
    assert high <= above
    assert above - below <= 1.45 * (high - low), "two steps, each at most 2 × 1/12 with room"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (2300, "2300"), (12000.0, "12000"), (1e9, "1000000000"), (0.1 + 0.2, "0.3"),
        (-400, "−400"), (-0.0, "0"), (1e-5, "0.00001"), (2.50, "2.5"),
        (-1e-12, "−0.000000000001"), (math.nan, "–"), (math.inf, "–"),
    ],
)  # fmt: skip
def test_tick_text(value: float, text: str) -> None:
    assert tick_text(value) == text


@given(numbers, numbers, st.integers(2, 12))
def test_tick_text_says_the_tick(low: float, high: float, most: int) -> None:
    for tick in round_ticks(low, high, most):
        text = tick_text(tick)
        assert "e" not in text.casefold()
        assert float(text.replace("−", "-")) == pytest.approx(tick, rel=1e-9, abs=1e-12)


def test_the_ticks_of_one_axis_have_the_same_decimals() -> None:
    assert tick_texts([91.75, 92, 92.25, 92.5]) == ["91.75", "92.00", "92.25", "92.50"]
    assert tick_texts([-2.5, 0, 2.5, 5]) == ["−2.5", "0", "2.5", "5.0"]
    assert tick_texts([-1000, 0, 1000]) == ["−1000", "0", "1000"]
    assert tick_texts([]) == []
