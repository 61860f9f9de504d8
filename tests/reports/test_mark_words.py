"""Why a value cannot be right, in one sentence; the limits are our own, no source."""

from __future__ import annotations

import pytest

from trackside.analysis.plausible_ranges import Mark, figure_mark, reading_mark, value_mark
from trackside.preferences import Preferences
from trackside.records import Reading
from trackside.reports.mark_words import mark_words

METRIC = Preferences()


def said(mark: Mark | None, unit: str = "") -> str:
    """The sentence; empty where nothing speaks against it."""
    return mark_words(mark, METRIC, unit) if mark else ""


def problem(value: Reading | str | None, path: str, unit: str = "") -> str:
    """What is said of that value of a run sheet."""
    return said(value_mark(path, value), unit)


def within(typed: str, quantity: str, low: float, high: float, unit: str = "") -> str:
    """What is said of that text between such limits."""
    reading = Reading.of_text(typed, quantity, unit)
    assert reading is not None
    return said(reading_mark("", reading, quantity, (low, high)), unit)


def test_what_is_outside_its_limits_is_told_exactly_enough_to_be_seen() -> None:
    assert within("1234", "temperature", -10, 160, "°C") == (
        "1234 °C is outside -10 to 160 °C: right unit, right field?"
    )
    assert within("1.9", "count", 2, 9).startswith("1.9 is outside 2 to 9")
    assert within("160.4", "temperature", -10, 160, "°C").startswith("160.4 °C is outside")
    assert within("160", "temperature", -10, 160, "°C") == ""
    assert within("-10", "temperature", -10, 160, "°C") == ""
    assert within("-10.1", "temperature", -10, 160, "°C").startswith("-10.1 °C is outside")


def test_a_number_with_a_unit_of_its_own_is_told_in_that_and_a_bare_one_in_the_crews() -> None:
    psi = Reading.of_text("900 psi", "pressure")
    bare = Reading.of_text("62", "pressure", "bar")
    assert psi is not None
    assert bare is not None

    def told(value: Reading, low: float | None, unit: str) -> str:
        return said(reading_mark("", value, "pressure", (low, 40e5)), unit)

    # 40 bar = 580.2 psi: 1 psi = 6.894757 kPa (NIST SP 811)
    assert told(psi, 2e5, "bar").startswith("900.0 psi is outside 29.0 to 580.2 psi:")
    assert told(bare, 2e5, "psi").startswith("899.2 psi is outside 29.0 to 580.2 psi:")
    assert told(bare, None, "bar").startswith("62.00 bar is outside 40.00 bar:")


def test_limits_are_told_in_the_unit_it_was_typed_in() -> None:
    path = "FL.cold_pressure"
    wrong = Reading.of_text("145 psi", "pressure")
    assert "psi" in problem(wrong, path)
    assert problem(Reading.of_text("1.45 bar", "pressure"), path) == ""


def test_a_toe_in_degrees_is_not_held_against_limits_in_metres() -> None:
    path = "FL.toe"
    assert problem(Reading.of_text("0.2 °", "toe"), path) == ""


def test_two_hundred_litres_are_the_most_fuel() -> None:
    path = "fuel"
    assert problem(Reading.of_text("90", "fuel"), path) == ""
    assert "0.0 to 200.0" in problem(Reading.of_text("250", "fuel"), path)


@pytest.mark.parametrize(
    ("typed", "unit", "told"),
    [
        ("160.4", "°C", "160.4 °C is outside 10 to 160 °C"),
        ("320.3", "°F", "320.3 °F is outside 50 to 320 °F"),  # 160 °C, by the scale's definition
        ("161", "°C", "161 °C is outside 10 to 160 °C"),
        ("9.6", "°C", "9.6 °C is outside 10 to 160 °C"),
        ("1.9", "°C", "1.9 °C is outside 10 to 160 °C"),
    ],
)
def test_what_is_outside_is_not_rounded_to_the_limit(typed: str, unit: str, told: str) -> None:
    path = "FL.tread_inner"
    reading = Reading.of_text(typed, "temperature", unit)
    assert problem(reading, path, unit) == f"{told}: right unit, right field?"


def test_a_word_that_is_no_choice_is_kept_and_named() -> None:
    assert problem("odd", "kind") == (
        "“odd” is none of practice, qualifying, race, test, warm-up: saved as typed"
    )
    assert problem("race", "kind") == problem("RACE", "kind") == ""
    assert "outside" in problem(Reading.of_text("12", "angle"), "FL.camber")


def test_a_figure_of_a_build_is_given_in_the_unit_of_its_cell() -> None:
    assert figure_mark("build", "stroke", 0.06, "length", {}) is None
    assert said(figure_mark("build", "stroke", 0.6, "length", {}), "mm") == (
        "600.0 mm is outside 20.0 to 500.0 mm: right unit, right field?"
    )


def test_a_unit_of_another_quantity_is_held_against_no_limit_but_of_its_own_number() -> None:
    odd = Reading(typed="20", unit="psi", si=20.0)
    assert said(reading_mark("", odd, "temperature", (-30, 55))) == ""
