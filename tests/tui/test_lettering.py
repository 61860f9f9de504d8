"""Large letters, for what is read at arm's length."""

from __future__ import annotations

import pytest

from tests.tui.conftest import Drive, screen_text
from trackside.crew.walk_round import WALK_FIELDS
from trackside.records.fields import CORNERS
from trackside.reports.walk_words import sign
from trackside.tui.widgets.lettering import HEIGHT, can_show, large, width

EVERY_SIGN = [sign(f"{corner}.{name}") for corner in CORNERS for name in WALK_FIELDS.values()]


def test_every_place_of_the_walk_has_letters_that_fit_the_narrowest_terminal() -> None:
    for words in EVERY_SIGN:
        assert can_show(words)
        assert width(words) <= 58, words


@pytest.mark.parametrize("across", [1, 2])
def test_the_lines_of_a_word_are_as_many_and_as_wide_as_said(across: int) -> None:
    for words in (*EVERY_SIGN, "88.5", "1,92", "-3", "0123456789"):
        lines = large(words, across=across)
        assert len(lines) == HEIGHT
        assert {len(line) for line in lines} == {width(words, across)}


def test_no_two_letters_look_alike() -> None:
    letters = "ABDEFGHILMNORSTUY0123456789.,-"
    assert len({tuple(large(letter)) for letter in letters}) == len(letters)


def test_a_figure_is_drawn_dot_by_dot() -> None:
    assert large("7", "#") == ["#####", "   # ", "  #  ", " #   ", "#    "]
    assert large("1", across=2)[0] == "  ██  "


def test_what_has_no_letter_is_not_drawn() -> None:
    assert not can_show("88 °F")


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_the_sign_shows_wheel_place_and_what_is_typed(
    season_file, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        await pilot.press("r", "n", "w", "8")
        await pilot.pause()
        shown = [line.strip() for line in screen_text(pilot.app).split("\n")]
        across = 2 if size[0] >= 110 else 1
        place, figure = (large(words, across=across) for words in ("FL INNER", "8"))
        for part in place:
            assert any(line.startswith(part.strip()) for line in shown), part
        for part in figure:
            assert any(line.endswith(part.strip()) for line in shown), part
