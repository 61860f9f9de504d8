"""A planned run counts as run once something says that it was, and the page says so; what is only
mistyped says nothing. The program's own rule, no source."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Static

from tests.tui.conftest import Drive, run_sheet_at, screen_text
from trackside.tui.app import Trackside

SIZES = [(80, 24), (120, 40)]
SAID = "counts as run now"


def squeezed(app: object) -> str:
    assert isinstance(app, Trackside)
    return " ".join(screen_text(app).split())


@pytest.mark.parametrize("size", SIZES)
async def test_a_mistyped_reading_leaves_the_run_planned(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        await pilot.press("r", "n")
        for path, text in (("FL.hot_pressure", "190"), ("FR.tread_inner", "88 psi")):
            sheet = await run_sheet_at(pilot, path)
            await pilot.press(*("space" if sign == " " else sign for sign in text), "enter")
            assert sheet.cells.shown(path).mark == "!"
            assert sheet.desk.session.status == "planned"
            assert not sheet.desk.session.ran
            assert SAID not in squeezed(pilot.app)
        sheet.desk.flush()
        assert not sheet.desk.line().ran, "on the pit board neither"
        assert "to set" in str(sheet.query_one("#heading", Static).render())


@pytest.mark.parametrize("size", SIZES)
async def test_a_reading_makes_it_run_and_says_so(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        await pilot.press("r", "n")
        sheet = await run_sheet_at(pilot, "FL.hot_pressure")
        assert "to set" in str(sheet.query_one("#heading", Static).render())
        await pilot.press("1", ".", "9", "enter")
        assert sheet.desk.session.status == "done"
        assert SAID in squeezed(pilot.app)
        assert "to set" not in str(sheet.query_one("#heading", Static).render())
        await run_sheet_at(pilot, "FR.hot_pressure")
        sheet._ran_at -= 10  # it was said for a while
        await pilot.press("1", ".", "8", "enter")
        assert SAID not in squeezed(pilot.app)


async def test_lap_times_that_nobody_can_read_leave_it_planned(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("r", "n")
        desk = pilot.app.desk  # type: ignore[attr-defined]
        desk.keep_text("lap_times", "soon")
        assert (desk.session.status, desk.session.ran) == ("planned", False)
        desk.keep_text("lap_times", "out 1:35.2")
        assert (desk.session.status, desk.session.ran) == ("done", True)


async def test_what_the_driver_says_of_it_makes_it_run(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("r", "n")
        desk = pilot.app.desk  # type: ignore[attr-defined]
        await pilot.press("a", "l", "o", "o", "s", "e", "ctrl+s")
        assert "note saved; it counts as run now" in squeezed(pilot.app)
        assert (desk.session.status, desk.session.ran) == ("done", True)
        assert "to set" not in str(pilot.app.screen.query_one("#heading", Static).render())
        await pilot.press("u", "u")
        assert desk.session.status == "planned"


async def test_a_note_on_a_run_planned_for_later_leaves_it_planned(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("r", "n")
        desk = pilot.app.desk  # type: ignore[attr-defined]
        desk.keep_text("start", "2099-05-09 14:00")
        await pilot.press("a", "l", "o", "o", "s", "e", "ctrl+s")
        assert "note saved" in squeezed(pilot.app)
        assert SAID not in squeezed(pilot.app)
        assert desk.session.status == "planned"
