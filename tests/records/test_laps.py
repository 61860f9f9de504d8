"""Lap times as they are typed, marked and kept. The marks are our own; limits: no source."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from trackside.records import Session
from trackside.records.fields import SESSION_FIELDS
from trackside.records.laps import MARKS, QUICKEST, SLOWEST, lap_of, read_laps, show_laps, timed
from trackside.units import show_lap


@pytest.mark.parametrize(
    ("text", "laps"),
    [
        ("", ()),
        ("1:35.2 95.2 1:35,2 95,2", (95.2, 95.2, 95.2, 95.2)),
        ("1:35.2;1:36\n1:37\t1:38", (95.2, 96.0, 97.0, 98.0)),
        ("1:35,2, 1:36,1,", (95.2, 96.1)),
        ("1:45.2 out 1:35.2 1:50,1 IN", ("1:45.2 out", 95.2, "1:50,1 in")),
        ("1:35.2 in out", ("1:35.2 in", "out")),
        ("1:35.2; in", (95.2, "in")),
        ("1:35.2\nout", (95.2, "out")),
        ("out 1:35.2", ("out", 95.2)),
        ("soon in , 1:99", ("soon", "in", ",", "1:99")),
    ],
)
def test_laps_are_read_as_typed(text: str, laps: tuple[float | str, ...]) -> None:
    assert read_laps(text) == laps
    assert read_laps(show_laps(laps)) == laps


_kept = st.one_of(
    st.integers(1, 3_600_000).map(lambda ms: read_laps(show_lap(ms / 1000))[0]),
    st.sampled_from([*MARKS, "soon", "1:99", "1:45.2 out", "95,2 in"]),
)


@given(st.lists(_kept, max_size=8).map(tuple))
def test_what_is_shown_is_read_as_the_same(laps: tuple[float | str, ...]) -> None:
    assert read_laps(show_laps(laps)) == laps


@given(st.text(max_size=40))
@example("1E10")
@example("1e308 95.2")
def test_no_text_is_lost_or_refused(text: str) -> None:
    laps = read_laps(text)
    assert read_laps(show_laps(laps)) == laps
    assert Session.checked({"lap_times": list(laps)}).lap_times == laps


def test_a_marked_lap_has_its_time_and_is_no_timed_lap() -> None:
    assert lap_of("1:45.2 out") == (105.2, "out", True)
    assert lap_of("in") == (None, "in", True)
    assert lap_of("soon in") == (None, "in", False)
    assert lap_of("soon") == (None, "", False)
    assert lap_of("") == (None, "", False)
    assert lap_of(95.2) == (95.2, "", True)
    assert timed(read_laps("1:20 out 1:35.2 soon 1:34.9 1:50 in")) == [95.2, 94.9]


@pytest.mark.parametrize("laps", [None, {}, "95.2", 95.2, [True, None, "95.2", {"si": 95.2}, []]])
def test_what_another_laptop_wrote_there_is_no_timed_lap(laps: Any) -> None:
    assert timed(laps) == []


def test_the_limits_are_those_of_the_best_lap() -> None:
    field = SESSION_FIELDS["best_lap"]
    assert (field.low, field.high) == (QUICKEST, SLOWEST)
    assert timed([9.999, 10, 1800, 1800.001]) == [10.0, 1800.0]
