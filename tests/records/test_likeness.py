"""Names that may be one: by case, accent, blank or one letter; digits make two."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.records.likeness import alike, likely

NAME = "Teo Vannick"
LETTERS = st.text("abcdefgh", min_size=4, max_size=12)


@pytest.mark.parametrize(
    "slip",
    ["teo vannick", "TEO VANNICK", "Teo  Vannick", " Teo Vannick", "Téo Vannick", "Teo Vanick",
     "Teo Vannnick", "Teo Vannich", "Toe Vannick", "Teo Vannic", "eo Vannick", "TeoVannick"],
)  # fmt: skip
def test_a_slip_of_the_name_may_be_that_name(slip: str) -> None:
    assert alike(slip, NAME)
    assert alike(NAME, slip)
    assert likely(slip, ("Ida Kestrup", NAME)) == (NAME,)


@pytest.mark.parametrize("other", [NAME, "Ida Kestrup", "Teo", "Toe Vanick", "Teo Vannick jr", ""])
def test_the_name_itself_and_other_names_are_not_asked_about(other: str) -> None:
    assert not alike(other, NAME)


@pytest.mark.parametrize(
    ("one", "two"),
    [("FP-0611", "FP-0612"), ("Car 7", "Car 17"), ("A", "B"), ("Jo", "Bo"), ("1", "")],
)
def test_numbers_and_single_letters_tell_two_things_apart(one: str, two: str) -> None:
    assert not alike(one, two)


def test_a_known_name_is_not_asked_about_even_beside_one_like_it() -> None:
    assert likely("Anna", ("Ann", "Anna")) == ()
    assert likely("Ana", ("Ann", "Anna", "Ann")) == ("Ann", "Anna")


@given(LETTERS, st.data())
def test_one_letter_lost_is_always_seen(name: str, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(name) - 1))
    assert alike(name[:at] + name[at + 1 :], name)


@given(LETTERS, LETTERS)
def test_it_does_not_matter_which_is_named_first(one: str, two: str) -> None:
    assert alike(one, two) == alike(two, one)
