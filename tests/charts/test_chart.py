"""What both charts promise: size, place, order, gaps, plain text, and calm with bad input."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.cells import cell_len

from tests.charts.reading import cells_of, dots_of
from trackside.charts import INKS, MARKERS, ROLES, Drawing, Series, live, plot
from trackside.charts.compose import spread

Chart = Callable[..., Drawing]
SIZES = [(20, 5), (30, 7), (36, 9), (40, 10), (60, 16), (80, 24), (79, 21), (120, 40), (200, 60)]
both = pytest.mark.parametrize("chart", [live, plot], ids=["live", "plot"])


def curve(role: str, rate: float, label: str = "") -> Series:
    """An invented force-speed curve in N over mm/s, digressive, with a band of 7 %."""
    speed = np.linspace(-300, 300, 60)
    force = np.sign(speed) * rate * np.abs(speed) ** 0.8
    return Series(speed, force, role, label, low=force * 0.93, high=force * 1.07)


CORNERS = [curve(role, rate, role) for role, rate in zip(MARKERS, (9, 9.3, 6, 6.6), strict=False)]


@both
@pytest.mark.parametrize("ink", list(INKS))
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_every_line_is_exactly_as_wide_as_asked(
    chart: Chart, width: int, height: int, ink: str
) -> None:
    labels = {"x_label": "rod speed, mm/s", "y_label": "force, N"}
    drawing = chart(CORNERS, width, height, ink=ink, **labels)
    lines = drawing.plain().split("\n")
    assert len(lines) == height
    # Source for cell widths: rich's own table, which the screens use too.
    assert {cell_len(line) for line in lines} == {width}
    assert {span.role for line in drawing.lines for span in line} <= set(ROLES)
    assert drawing.plain().isascii() or ink != "ascii"


@both
@pytest.mark.parametrize("label", ["前左", "e\u0301té", "🏁 out", "a\u200db", "tab\there", "Ω·m²"])
@pytest.mark.parametrize("ink", list(INKS))
def test_any_words_keep_the_width(chart: Chart, label: str, ink: str) -> None:
    series = [Series([0, 1], [0, 1], "FL", label), Series([0, 1], [1, 0], "FR", label * 9)]
    drawing = chart(series, 60, 16, x_label=label, y_label=label * 20, ink=ink)
    assert {cell_len(line) for line in drawing.plain().split("\n")} == {60}


@both
@pytest.mark.parametrize("ink", list(INKS))
@given(values=st.lists(st.floats(-500, 500), min_size=2, max_size=2))
@settings(max_examples=30, deadline=None)
def test_a_higher_value_is_never_drawn_lower(chart: Chart, ink: str, values: list[float]) -> None:
    low, high = sorted(values)
    # Each line alone on its half of the chart, so that neither hides the other.
    series = [Series([0, 1], [low, low], "FL"), Series([2, 3], [high, high], "FR")]
    drawing = chart(series, 40, 12, ink=ink)
    lower = {row for row, _, _ in cells_of(drawing, "FL")}
    higher = {row for row, _, _ in cells_of(drawing, "FR")}
    assert len(lower) == len(higher) == 1
    assert higher.pop() <= lower.pop()


@both
@pytest.mark.parametrize("ink", list(INKS))
@pytest.mark.parametrize(("x", "y"), [(-100, 50), (0, 0), (100, -50), (300, 100)])
def test_a_point_stands_where_its_ticks_cross(chart: Chart, ink: str, x: int, y: int) -> None:
    corners = Series([-300, 300], [-100, 100], "other")
    drawing = chart([corners, Series([x], [y], "FL")], 90, 30, ink=ink)
    ((row, column, _),) = cells_of(drawing, "FL")
    lines = drawing.plain().split("\n")
    text = str(y) if ink == "ascii" else str(y).replace("-", "−")
    assert lines[row].split("+" if ink == "ascii" else "┤")[0].strip() == text
    under = lines[-1][max(column - 4, 0) : column + 5].replace("−", "-")
    assert str(x) in under.split()
    assert lines[-2][column] == ("+" if ink == "ascii" else "┬")


def test_the_two_pens_put_the_same_line_in_the_same_cells() -> None:
    # plotext is the outside reference for our raster. It cuts a line's fractions of a dot off where
    # we round them, so the two may differ by one dot.
    line = Series(np.arange(0, 101, 4), np.arange(0, 101, 4) ** 2 / 50, "FL")
    quick, page = (dots_of(chart([line], 70, 24), "FL") for chart in (live, plot))
    assert len(quick) > 100
    for here, there in ((quick, page), (page, quick)):
        near = {(r + i, c + j) for r, c in there for i in (-1, 0, 1) for j in (-1, 0, 1)}
        assert here <= near


@both
def test_a_straight_line_is_drawn_without_holes(chart: Chart) -> None:
    drawing = chart([Series([0, 1], [0, 1], "FL")], 40, 12)
    columns = [column for _, column, _ in cells_of(drawing, "FL")]
    assert sorted(set(columns)) == list(range(min(columns), max(columns) + 1))


@both
@pytest.mark.parametrize("ink", list(INKS))
def test_not_a_number_is_a_gap(chart: Chart, ink: str) -> None:
    y = np.full(101, 5.0)
    y[41:60] = np.nan
    series = Series(np.arange(101), y, "FL", low=y - 1, high=y + 1)
    drawing = chart([series], 105, 12, zero=False, ink=ink)
    for role in ("FL", "band"):
        columns = {column for _, column, _ in cells_of(drawing, role)}
        share = {round(100 * (c - min(columns)) / (max(columns) - min(columns))) for c in columns}
        assert not share & set(range(43, 58))
        assert len(share) > 30, "both sides of the gap are drawn"


def test_none_is_a_gap_too() -> None:
    assert live([Series([1, 2, 3], [1, None, 3], "FL")], 40, 10).plain() == (
        live([Series([1, 2, 3], [1, np.nan, 3], "FL")], 40, 10).plain()
    )


@both
@pytest.mark.parametrize("ink", list(INKS))
def test_the_band_reaches_from_its_lower_to_its_upper_bound(chart: Chart, ink: str) -> None:
    x = np.linspace(0, 10, 30)
    series = Series(x, x * 0 + 5, "after", low=x * 0 + 2, high=x * 0 + 8)
    drawing = chart([series, Series([0, 1], [10, 10], "FL")], 60, 40, ink=ink)
    band = {row for row, _, _ in cells_of(drawing, "band")}
    lines = drawing.plain().split("\n")
    tick = "+" if ink == "ascii" else "┤"
    at = {line.split(tick)[0].strip(): row for row, line in enumerate(lines[:-2]) if tick in line}
    assert (min(band), max(band)) == (at["8"], at["2"])
    assert {row for row, _, _ in cells_of(drawing, "after")} == {at["5"]}


@both
def test_the_zero_line_is_level_and_where_zero_is(chart: Chart) -> None:
    drawing = chart([Series([0, 1], [-10, 10], "FL")], 50, 20)
    zero = {row for row, _, _ in cells_of(drawing, "zero")}
    assert len(zero) == 1
    assert drawing.plain().split("\n")[zero.pop()].split("┤")[0].strip() == "0"
    assert not cells_of(chart([Series([0, 1], [90, 91], "FL")], 50, 20, zero=False), "zero")


NAN, INF = float("nan"), float("inf")


@both
@pytest.mark.parametrize(
    "series",
    [
        [],
        [Series([], [], "FL")],
        [Series([1, 2], [NAN, NAN], "FL")],
        [Series([1, 2], [None, None], "FL")],
        [Series([NAN, INF], [1, 2], "FL")],
        [Series([1], [INF], "FL", low=[1], high=[2])],
        [Series([1], [1e300], "FL")],
    ],
)
def test_nothing_to_draw_says_so(chart: Chart, series: list[Series]) -> None:
    drawing = chart(series, 40, 9)
    assert "nothing to draw yet" in drawing.plain()
    assert [len(line) for line in drawing.plain().split("\n")] == [40] * 9


@both
@pytest.mark.parametrize(
    "series",
    [
        [Series([1], [0], "FL")],
        [Series([1], [5], "FL", low=[NAN], high=[9])],
        [Series([1, 1, 1], [1, 2, 3], "FL")],
        [Series([3, 1, 2], [1, 2, 3], "FL", low=[0, 1, 2], high=[2, 3, 4])],
        [Series([1, 2, 3], [1, 2], "FL", low=[0], high=[2, 3, 4])],
        [Series([1, 2], [1e14, -1e14], "FL")],
        [Series([1, 2], [1e-9, 2e-9], "FL")],
        [Series([1, 2], [7, 7 + 1e-13], "no such role", marker="long")],
        [Series([0, INF, 2], [0, 1, -INF], "FL", low=[-INF, 0, 0], high=[INF, 0, 0])],
    ],
)
@pytest.mark.parametrize("zero", [True, False])
def test_odd_input_is_drawn_calmly(chart: Chart, series: list[Series], zero: bool) -> None:
    drawing = chart(series, 40, 9, zero=zero)
    assert [len(line) for line in drawing.plain().split("\n")] == [40] * 9
    assert any(cells_of(drawing, role) for role in ("FL", "other"))


@both
@pytest.mark.parametrize(("width", "height"), [(0, 0), (1, 1), (2, 2), (5, 3), (19, 20), (50, 4)])
def test_too_small_is_an_empty_frame(chart: Chart, width: int, height: int) -> None:
    drawing = chart(CORNERS, width, height)
    assert len(drawing.lines) == height
    assert all(sum(len(span.text) for span in line) == width for line in drawing.lines)


@both
@pytest.mark.parametrize("width", range(20, 130, 7))
def test_tick_texts_stand_clear_of_each_other(chart: Chart, width: int) -> None:
    row = chart(CORNERS, width, 15, x_label="mm/s").plain().split("\n")[-1].rstrip()
    assert row.endswith(" mm/s")
    shown = [float(text.replace("−", "-")) for text in row.removesuffix("mm/s").split()]
    assert len(shown) >= 1
    assert shown == sorted(set(shown))
    steps = {round(b - a, 9) for a, b in pairwise(shown)}
    assert len(steps) <= 1, "a number cut short or run into the next one would break the steps"


@both
def test_end_labels_each_have_a_row_in_the_order_of_the_ends(chart: Chart) -> None:
    same = [Series([0, 1], [3, 3 + i / 1000], role, role) for i, role in enumerate(MARKERS)]
    drawing = chart(same, 60, 20)
    lines = drawing.plain().split("\n")
    for role, glyph in MARKERS.items():
        assert sum(line.rstrip().endswith(f" {glyph} {role}") for line in lines) == 1
    named = [
        line.split()[-1] for line in lines if line.split()[-1:] and line.split()[-1] in MARKERS
    ]
    assert named == list(MARKERS)[::-1], "the highest curve on top, even within one row of cells"


@given(st.lists(st.integers(0, 19), max_size=20))
def test_spread_rows_keep_their_order_and_never_meet(wanted: list[int]) -> None:
    rows = spread(sorted(wanted), 20)
    assert rows == sorted(set(rows))
    assert len(rows) == len(wanted)
    assert all(0 <= row < 20 for row in rows)
    if len(set(wanted)) == len(wanted):
        assert rows == sorted(wanted)


@both
def test_curves_differ_without_colour(chart: Chart) -> None:
    text = chart(CORNERS, 80, 24).plain()
    canvas = "\n".join(line[:70] for line in text.split("\n"))
    assert all(MARKERS[role] in canvas for role in ("FL", "FR", "RL", "RR"))
    assert len(set(MARKERS.values())) == len(MARKERS)


@both
@pytest.mark.parametrize("middle", range(10, 90, 9))
def test_even_a_short_curve_shows_its_marker(chart: Chart, middle: int) -> None:
    short = np.linspace(middle, middle + 2, 60)
    drawing = chart([Series([0, 100], [0, 1], "FR"), Series(short, short / 100, "FL")], 80, 24)
    assert MARKERS["FL"] in {glyph for _, _, glyph in cells_of(drawing, "FL")}


@both
def test_two_threads_draw_what_one_draws(chart: Chart) -> None:
    jobs = [
        functools.partial(chart, CORNERS[:count], 60 + count, 16 + count, y_label="N")
        for count in (1, 2, 3, 4)
    ] * 4
    alone = [job().plain() for job in jobs]
    with ThreadPoolExecutor(4) as pool:
        together = [done.plain() for done in pool.map(lambda job: job(), jobs)]
    assert together == alone


def test_marks_stand_at_their_sessions_with_labels_apart() -> None:
    lap = Series(range(1, 9), [92.5, 92.4, 92.1, 91.9, 92.0, 91.5, 91.4, 91.3], "other")
    marks = [(3, "rebound two harder"), (4, "springs, both ends"), (8, "gas charge")]
    names = [(number, f"session {number}") for number in range(1, 9)]
    drawing = plot([lap], 80, 18, zero=False, marks=marks, x_ticks=names, y_label="lap, s")
    lines = drawing.plain().split("\n")
    columns = sorted({column for _, column, glyph in cells_of(drawing, "mark") if glyph == "┊"})
    assert len(columns) == 3
    assert lines[0][: columns[1]] == "lap, s".ljust(columns[0]) + "rebound … "
    assert lines[0][columns[1] :].startswith("springs, both ends ")
    assert lines[0].endswith(" gas charge"), "the last label moves left rather than be cut"
    named = re.findall(r"session (\d)", lines[-1])
    assert named == ["1", "3", "5", "7"], "every second name, since all do not fit"


def test_marks_in_one_place_and_outside_the_data() -> None:
    marks = [(2, "first"), (2, "second"), (9, "later"), (NAN, "never")]
    drawing = plot([Series([1, 2], [1, 2], "FL")], 50, 12, marks=marks)
    assert {len(line) for line in drawing.plain().split("\n")} == {50}
    assert "later" in drawing.plain()
    assert "never" not in drawing.plain()


def test_own_words_for_the_y_ticks() -> None:
    text = live([Series([1, 2], [0, 4], "FL")], 50, 12, y_text=lambda at: f"{at:g} h").plain()
    assert re.findall(r"(\d h)┤", text) == ["4 h", "3 h", "2 h", "1 h", "0 h"]


@both
@pytest.mark.parametrize("ink", list(INKS))
@given(
    values=st.lists(st.integers(-900, 2500), min_size=2, max_size=9),
    height=st.integers(6, 40),
    zero=st.booleans(),
)
@settings(max_examples=30, deadline=None)
def test_a_marker_is_read_off_the_axis_to_half_a_cell(
    chart: Chart, ink: str, values: list[int], height: int, zero: bool
) -> None:
    numbers = list(range(len(values)))
    drawing = chart([Series(numbers, values, "FL")], 90, height, zero=zero, ink=ink)
    tick = "+" if ink == "ascii" else "┤"
    axis = {
        row: float(words.replace("−", "-"))
        for row, line in enumerate(drawing.plain().split("\n"))
        if (words := line.split(tick)[0].strip()) and tick in line
    }
    assert len(axis) >= 2
    (first, top), (last, bottom) = min(axis.items()), max(axis.items())
    cell = (top - bottom) / (last - first)
    for row, value in axis.items():
        assert value == pytest.approx(bottom + (last - row) * cell), "the ticks are evenly apart"
    marker = Series([], [], "FL").glyph(ink != "braille")
    marked = [(column, row) for row, column, glyph in cells_of(drawing, "FL") if glyph == marker]
    if ink != "ascii":  # which draws the curve with the marker too
        assert len(marked) == len(values)
    ends = min(marked)[0], max(marked)[0]
    columns = np.round(np.linspace(*ends, len(values))).tolist()
    for column, value in zip(columns, values, strict=True):
        read = [bottom + (last - row) * cell for at, row in marked if abs(at - column) <= 1]
        assert min(abs(one - value) for one in read) <= cell / 2 * 1.001


def test_a_small_change_does_not_move_the_scale() -> None:
    speed = np.linspace(0, 300, 60)
    soft, hard = (live([Series(speed, rate * speed, "FL")], 60, 16) for rate in (4.02, 4.05))
    assert cells_of(soft, "axis") == cells_of(hard, "axis")
    assert cells_of(soft, "FL") != cells_of(hard, "FL")


@both
def test_a_light_grid_stands_at_the_ticks(chart: Chart) -> None:
    drawing = chart([Series([0, 500], [10, 990], "FL")], 60, 24, ink="ascii")
    lines = drawing.plain().split("\n")
    dots = {(row, column) for row, column, _ in cells_of(drawing, "grid")}
    ticked_rows = {
        row for row, line in enumerate(lines) if line.partition("+")[0].strip().isdigit()
    }
    ticked_columns = {column for column, glyph in enumerate(lines[-2]) if glyph == "+"}
    assert dots
    assert all(row in ticked_rows or column in ticked_columns for row, column in dots)
    area = sum(len(line) for line in lines)
    assert len(dots) < area / 10


@both
@pytest.mark.parametrize("ink", list(INKS))
def test_each_ink_draws_with_its_own_characters(chart: Chart, ink: str) -> None:
    letters = set(chart(CORNERS, 60, 20, x_label="mm/s", y_label="N", ink=ink).plain())
    braille = {letter for letter in letters if 0x2800 <= ord(letter) < 0x2900}
    assert bool(braille) == (ink == "braille")
    assert ("▀" in letters) == (ink == "blocks")
    assert all(map(str.isascii, letters)) == (ink == "ascii")


@both
def test_where_labels_have_no_room_the_curves_on_top_keep_theirs(chart: Chart) -> None:
    series = [Series([0, 1], [0, n], "band", f"n{n}") for n in range(9)]
    drawing = chart([*series, Series([0, 1], [0, 0], "FL", "now")], 60, 8)
    assert "now" in drawing.plain()
    assert "n0" not in drawing.plain()
