"""Dots and cells by themselves."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.charts.reading import cells_of, dots_of
from trackside.charts import Drawing, Series, Span, live
from trackside.charts.raster import Scale, braille, runs, trace


@given(st.sets(st.tuples(st.integers(0, 7), st.integers(0, 5))))
def test_braille_sets_the_dots_that_unicode_names(dots: set[tuple[int, int]]) -> None:
    picture = np.zeros((8, 6), dtype=bool)
    for row, column in dots:
        picture[row, column] = True
    rows = ["".join(chr(0x2800 + code) for code in row) for row in braille(picture).tolist()]
    assert dots_of(Drawing(tuple((Span(row, "FL"),) for row in rows)), "FL") == dots


@given(st.integers(2, 400), st.floats(-1e6, 1e6), st.floats(1e-3, 1e6))
def test_a_scale_runs_from_its_first_dot_to_its_last(dots: int, low: float, span: float) -> None:
    scale = Scale(low, low + span, dots)
    assert scale.dot([scale.low, scale.high]).tolist() == [0, dots - 1]
    assert scale.dot(scale.values()).tolist() == list(range(dots))
    assert [scale.place(value) for value in scale.values()] == list(range(dots))


@given(st.lists(st.tuples(st.integers(0, 99), st.integers(0, 99)), min_size=1, max_size=9))
def test_a_trace_visits_its_points_in_steps_of_one(points: list[tuple[int, int]]) -> None:
    columns, rows = trace(*np.array(points).T)
    walked = list(zip(columns.tolist(), rows.tolist(), strict=True))
    assert walked[0] == points[0]
    assert walked[-1] == points[-1]
    assert set(points) <= set(walked)
    assert np.abs(np.diff(columns)).max(initial=0) <= 1
    assert np.abs(np.diff(rows)).max(initial=0) <= 1


@pytest.mark.parametrize(
    ("values", "stretches"),
    [([1, 2], [(0, 2)]), ([np.nan], []), ([np.nan, 1, np.nan, 2, 3], [(1, 2), (3, 5)]), ([], [])],
)
def test_runs_are_what_lies_between_gaps(
    values: list[float], stretches: list[tuple[int, int]]
) -> None:
    assert [(run.start, run.stop) for run in runs(np.array(values, dtype=float))] == stretches


def test_where_curves_share_a_cell_the_live_panel_shows_both() -> None:
    low, high = Series([0, 1], [0, 1], "FL"), Series([0, 1], [1, 0], "FR")
    crossing = live([low, high], 41, 13)
    alone = live([low], 41, 13)
    shared = {(r, c) for r, c, _ in cells_of(crossing, "FR")}
    shared &= {(r, c) for r, c, g in cells_of(alone, "FL") if g != "●"}
    assert shared, "the curves cross"
    mine = {(r, c) for r, c in dots_of(alone, "FL") if (r // 4, c // 2) in shared}
    assert mine <= dots_of(crossing, "FR")
