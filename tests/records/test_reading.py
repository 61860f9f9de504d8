"""A number as it was typed stays as it was typed; what cannot be right is said."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.records import Reading, in_words, same


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
    assert reading.why_unread("pressure")
    assert reading.shown("pressure", "psi") == typed


def test_a_bare_number_is_shown_in_the_unit_asked_and_a_spelled_one_as_typed() -> None:
    bare, spelled = Reading.of_text("20", "pressure", "psi"), Reading.of_text("20 psi", "pressure")
    assert bare is not None
    assert spelled is not None
    assert bare.shown("pressure", "psi") == "20"
    assert bare.shown("pressure", "bar") == "1.38"
    assert spelled.shown("pressure", "bar") == "20 psi"


@pytest.mark.parametrize(
    ("text", "quantity", "typed_in", "crew", "shown"),
    [
        ("0.2", "toe", "°", "mm", "0.20 °"),
        ("12", "toe", "mm", "°", "12.00 mm"),
        ("30", "fuel", "kg", "L", "30.0 kg"),
        ("30", "fuel", "US gal", "L", "113.6"),
    ],
)
def test_what_cannot_be_converted_is_shown_in_its_own_unit(
    text: str, quantity: str, typed_in: str, crew: str, shown: str
) -> None:
    """An angle is no length and a mass no volume. 1 US gal is 3.785411784 L (231 cubic
    inches: definition)."""
    reading = Reading.of_text(text, quantity, typed_in)
    assert reading is not None
    assert reading.shown(quantity, crew) == shown
    assert Reading.of_text(shown, quantity, crew) is not None
    assert in_words(reading, quantity, crew).startswith(shown)


def test_an_angle_and_a_length_of_one_number_are_not_the_same() -> None:
    angle = Reading.of_text("0.2 °", "toe")
    assert angle is not None
    length = Reading.of_si(angle.si or 0, "toe", "mm")
    assert not same(angle, length, "toe")
    assert same(angle, Reading.of_text("12 ′", "toe"), "toe")  # 60 ′ to the degree
    assert not same(Reading.of_text("1 kg", "fuel"), Reading.of_text("1000 L", "fuel"), "fuel")


@pytest.mark.parametrize(
    ("text", "quantity", "unit", "words"),
    [
        ("1,45", "pressure", "", "1.45 bar"),
        ("1,45", "pressure", "psi", "21.0 psi"),
        ("22.25", "pressure", "bar", "22.25 bar"),
        ("1.4567", "pressure", "bar", "1.4567 bar"),
        ("2.75", "clicks", "", "2.75"),
        ("1:32.456", "lap time", "", "1:32.456"),
        ("two", "clicks", "", "two"),
    ],
)
def test_a_value_in_words_has_its_unit_and_loses_no_digit(
    text: str, quantity: str, unit: str, words: str
) -> None:
    assert in_words(Reading.of_text(text, quantity), quantity, unit) == words
    assert in_words(None, quantity) == "–"


def test_a_unit_of_another_quantity_cannot_stop_the_page() -> None:
    odd = Reading(typed="20", unit="psi", si=20.0)
    assert odd.shown("temperature", "°F") == "68"
    assert odd.why_unread("temperature") == ""
    assert odd.own_unit("temperature").symbol == "°C"


@given(st.text(max_size=40))
def test_any_text_makes_a_reading_or_is_unknown(text: str) -> None:
    reading = Reading.of_text(text, "clicks")
    if reading is not None:
        assert Reading.checked(reading.body()) == reading
        assert bool(reading.why_unread("clicks")) == (reading.si is None)
