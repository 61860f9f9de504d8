"""Dampers and cars pasted from a spreadsheet, or named as a file."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual import events
from textual.widgets import TextArea

from tests.tui.conftest import Drive, screen_text, until
from trackside.logbook import dampers
from trackside.tui.screens.shed import ShedPage
from trackside.tui.widgets.ask import Ask

SIZES = [(80, 24), (120, 40)]
ROWS = "Serial\tModel\tRebound clicks\tRebound counted from\nQA-1\tQuad\t24\thard\nQA-2\tQuad\t24\t"


def flat(pilot) -> str:  # type: ignore[no-untyped-def]
    return " ".join(screen_text(pilot.app).split())


@pytest.mark.parametrize("size", SIZES)
async def test_pasted_rows_are_entered_or_none_of_them(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        app = pilot.app
        await pilot.press("b")
        await until(pilot, lambda: isinstance(app.screen, ShedPage) and app.screen.places)
        page = app.screen
        before = app.desk.logbook.current_states()
        await pilot.press("i")
        await until(pilot, lambda: isinstance(app.screen, Ask))
        await pilot.press("tab")
        app.post_message(events.Paste(ROWS))
        await pilot.pause()
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "line 3, QA-2: rebound clicks “24”" in flat(pilot))
        assert app.desk.logbook.current_states() == before
        box = app.screen.query_one("#rows", TextArea)
        assert box.text == ROWS
        app.post_message(events.Paste("soft"))
        await pilot.pause()
        await pilot.press("ctrl+s")
        await until(pilot, lambda: app.screen is page and page.damper is not None)
        await until(pilot, lambda: "2 dampers entered (QA-1, QA-2)" in flat(pilot))
        await until(pilot, lambda: page.damper.serial == "QA-1" and page.damper != page.waiting)
        [build] = dampers.builds_of(app.desk.logbook, "QA-2")
        assert build[1]["adjusters"][0]["counted_from"] == "soft"
        await pilot.press("u", "u")
        await until(pilot, lambda: app.desk.logbook.current_states() == before)


async def test_a_file_of_cars_from_the_board(
    season_file: Path, drive: Drive, tmp_path: Path
) -> None:
    path = tmp_path / "cars.csv"
    path.write_text("Name;Colour\nFormula;red\n")
    async with drive(season_file) as pilot:
        app = pilot.app
        cars = len(app.desk.logbook.all("car"))
        await pilot.press("i")
        await until(pilot, lambda: isinstance(app.screen, Ask))
        await pilot.press(*str(path), "ctrl+s")
        await until(pilot, lambda: "1 car entered (Formula)" in flat(pilot))
        assert "left out, not known: “Colour”" in flat(pilot)
        assert len(app.desk.logbook.all("car")) == cars + 1
        await pilot.press("i")
        await until(pilot, lambda: isinstance(app.screen, Ask))
        await pilot.press(*str(tmp_path / "none.csv"), "ctrl+s")
        await until(pilot, lambda: "there is no file" in flat(pilot))
