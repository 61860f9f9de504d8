"""Two sides of an axle whose knobs count from different ends are not taken for a lopsided car."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Static

from tests.tui.conftest import Drive, screen_text, until
from trackside.tui.screens.sheet import Sheet
from trackside.tui.widgets.cells import Cell

WARM_UP = ("home", "down", "down", "down", "enter")
"""The warm-up at Averholme: FR runs FP-0619, which counts from soft; FL counts from hard."""


@pytest.mark.parametrize(
    ("size", "left", "right"),
    [((80, 24), "from H", "from S"), ((120, 40), "from hard", "from soft")],
)
async def test_each_cell_says_from_which_end_where_the_sides_differ_and_only_there(
    season_file: Path, drive: Drive, size: tuple[int, int], left: str, right: str
) -> None:
    async with drive(season_file, size) as pilot:
        await pilot.press(*WARM_UP)
        sheet = pilot.app.screen
        assert isinstance(sheet, Sheet)
        assert sheet.desk.session.value("FR.damper") == "FP-0619"
        sheet.grid.go("FL.rebound_bleed")
        await until(pilot, lambda: "FL Rebound" in str(sheet.query_one("#detail", Static).render()))
        marked = {path for path in sheet.grid.paths if sheet.grid.cell(path).end}  # type: ignore[union-attr]
        assert marked == {
            f"{corner}.{knob}"
            for corner in ("FL", "FR")
            for knob in ("bump_bleed", "rebound_bleed")
        }
        (row,) = (line for line in screen_text(pilot.app).split("\n") if f"6 {left}" in line)
        assert row.index(f"6 {left}") < row.index(f"12 {right}")
        detail = str(sheet.query_one("#detail", Static).render())
        assert detail.startswith("FL Rebound · 6 clicks of 20 from full hard · FR from full soft")
        assert len(detail) <= 160, "its caution on a second line"
        assert "6 from hard\n" in sheet.grid.as_table()
        await pilot.press("5")
        await pilot.pause()
        typing = str(sheet.query_one("#detail", Static).render())
        assert typing.startswith("FL Rebound · 5 clicks of 20 from full hard · FR from full soft")


@pytest.mark.parametrize(
    ("room", "words"), [(30, " from soft"), (10, " from soft"), (9, " from S"), (6, " S"), (1, "")]
)
def test_the_end_is_said_in_the_words_there_is_room_for(room: int, words: str) -> None:
    assert Cell("FR.rebound_bleed", "Rebound", 1, 0, end="soft").ending(room) == words
    assert Cell("FR.rebound_bleed", "Rebound", 1, 0).ending(room) == ""
