"""More dampers, or a car, like the one under the cursor: one key, a form, one step of undo."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input

from tests.tui.conftest import Drive, screen_text, until
from trackside.logbook import dampers
from trackside.tui.screens.record import RecordPage
from trackside.tui.screens.shed import ShedPage
from trackside.tui.widgets.ask import Ask

SIZES = [(80, 24), (120, 40)]


@pytest.mark.parametrize("size", SIZES)
async def test_a_damper_like_the_one_under_the_cursor(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        app = pilot.app
        await pilot.press("b")
        await until(pilot, lambda: isinstance(app.screen, ShedPage) and app.screen.places)
        page = app.screen
        assert isinstance(page, ShedPage)
        assert page.damper is not None
        pattern = page.damper.serial
        before = app.desk.logbook.current_states()
        await pilot.press("equals_sign")
        await until(pilot, lambda: isinstance(app.screen, Ask))
        told = " ".join(screen_text(app).split())
        assert f"Dampers like {pattern}" in told
        assert "not copied:" in told
        proposed = app.screen.query_one("#serials", Input).value
        assert proposed
        assert proposed != pattern
        await pilot.press("enter")
        await until(pilot, lambda: app.screen is page and page.damper is not page.waiting)
        await until(pilot, lambda: page.damper is not None and page.damper.serial == proposed)
        told = " ".join(screen_text(app).split())
        assert f"{proposed} like {pattern}:" in told
        assert "u takes it back" in told
        of = [dampers.builds_of(app.desk.logbook, serial)[-1][1] for serial in (pattern, proposed)]
        assert of[0]["adjusters"] == of[1]["adjusters"]
        await pilot.press("u", "u")
        await until(pilot, lambda: app.desk.logbook.current_states() == before)


async def test_a_serial_that_is_taken_stays_in_the_form(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        app = pilot.app
        await pilot.press("b")
        await until(pilot, lambda: isinstance(app.screen, ShedPage) and app.screen.places)
        extent = app.desk.logbook.extent()
        await pilot.press("equals_sign")
        await until(pilot, lambda: isinstance(app.screen, Ask))
        await pilot.press("ctrl+u", *"QQ-1, tw-2241", "enter")
        await until(pilot, lambda: "tw-2241 is on record already" in screen_text(app))
        assert app.screen.query_one("#serials", Input).value == "QQ-1, tw-2241"
        assert app.desk.logbook.extent() == extent


async def test_a_car_like_the_one_under_the_cursor(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        app = pilot.app
        cars = len(app.desk.logbook.all("car"))
        await pilot.press("equals_sign")
        await until(pilot, lambda: isinstance(app.screen, Ask))
        await pilot.press(*"Spare", "enter", "8", "enter")
        await until(pilot, lambda: isinstance(app.screen, RecordPage) and app.screen.grid.paths)
        told = " ".join(screen_text(app).split())
        assert "weights on the scales" in told
        assert len(app.desk.logbook.all("car")) == cars + 1
        copy = app.desk.logbook.all("car")[-1][1]
        assert (copy["name"], copy["number"]) == ("Spare", "8")
        assert "motion_ratio" in copy["FL"]


async def test_typing_replaces_the_serial_that_is_guessed(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        app = pilot.app
        await pilot.press("b")
        await until(pilot, lambda: isinstance(app.screen, ShedPage) and app.screen.places)
        await pilot.press("equals_sign")
        await until(pilot, lambda: isinstance(app.screen, Ask))
        field = app.screen.query_one("#serials", Input)
        guess = field.value
        assert f"{guess} is a guess" in " ".join(screen_text(app).split())
        await pilot.press("Q", "9")
        assert field.value == "Q9"


async def test_that_undo_takes_it_back_is_not_said_once_the_page_was_left(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        app = pilot.app
        await pilot.press("b")
        await until(pilot, lambda: isinstance(app.screen, ShedPage) and app.screen.places)
        await pilot.press("equals_sign")
        await until(pilot, lambda: isinstance(app.screen, Ask))
        await pilot.press("enter")
        await until(pilot, lambda: "takes it back" in screen_text(app))
        app.view.news = ("", "", 0.0)  # it was read
        await pilot.press("r", "b")
        await until(pilot, lambda: isinstance(app.screen, ShedPage))
        assert "takes it back" not in screen_text(app)
