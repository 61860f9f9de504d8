"""A number as it was typed stays as it was typed; what cannot be right is said."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.records import Reading, problem_of
from trackside.records.fields import CORNER_FIELDS


@pytest.mark.parametrize("typed", ["1,45", "300 psi", "20.7 bar", "1.45"])
def test_typed_text_is_kept_beside_its_value(typed: str) -> None:
    reading = Reading.of_text(typed, "pressure")
    assert reading is not None
    assert reading.typed == typed
    assert reading.si is not None
    assert Reading.checked(reading.body()) == reading


@pytest.mark.parametrize("typed", ["", "  ", "–", "-", "?"])
def test_nothing_typed_is_unknown(typed: str) -> None:
    assert Reading.of_text(typed, "pressure") is None


@pytest.mark.parametrize("typed", ["about 20", "1.234.567", "20 mm", "[/", "🏁"])
def test_what_cannot_be_read_is_kept_and_marked(typed: str) -> None:
    reading = Reading.of_text(typed, "pressure", "bar")
    assert reading is not None
    assert (reading.typed, reading.si) == (typed, None)
    assert reading.problem("pressure")
    assert reading.shown("pressure", "psi") == typed


def test_a_bare_number_is_shown_in_the_unit_asked_and_a_spelled_one_as_typed() -> None:
    bare, spelled = Reading.of_text("20", "pressure", "psi"), Reading.of_text("20 psi", "pressure")
    assert bare is not None
    assert spelled is not None
    assert bare.shown("pressure", "psi") == "20"
    assert bare.shown("pressure", "bar") == "1.38"
    assert spelled.shown("pressure", "bar") == "20 psi"


def test_limits_are_told_in_the_unit_it_was_typed_in() -> None:
    field = CORNER_FIELDS["cold_pressure"]
    wrong = Reading.of_text("145 psi", "pressure")
    assert "psi" in problem_of(wrong, field)
    assert problem_of(Reading.of_text("1.45 bar", "pressure"), field) == ""


def test_a_toe_in_degrees_is_not_held_against_limits_in_metres() -> None:
    field = CORNER_FIELDS["toe"]
    assert problem_of(Reading.of_text("0.2 °", "toe"), field) == ""


@given(st.text(max_size=40))
def test_any_text_makes_a_reading_or_is_unknown(text: str) -> None:
    reading = Reading.of_text(text, "clicks")
    if reading is not None:
        assert Reading.checked(reading.body()) == reading
        assert isinstance(reading.problem("clicks"), str)
