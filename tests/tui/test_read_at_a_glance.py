"""Small things on the run sheet that are misread: labels, hints, and what was just said."""

from __future__ import annotations

from pathlib import Path

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from trackside.tui.app import Trackside
from trackside.tui.messages import ShedChanged


async def test_a_half_typed_choice_has_no_hint_beside_its_mark(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("r", "n")
        sheet = await run_sheet_at(pilot, "result")
        assert sheet.cells.shown("result").beside(60), "what was read last, quiet"
        sheet.desk.half_typed["result"] = "P"
        shown = sheet.cells.shown("result")
        assert (shown.mark, shown.beside(60)) == ("…", "")


async def test_a_long_label_has_the_room_that_its_value_leaves(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        await pilot.press("r", "n")
        app.desk.keep("items.Differential preload", "45 Nm")
        await run_sheet_at(pilot, "items.Differential preload")
        app.screen.redraw()  # type: ignore[attr-defined]
        await pilot.pause()
        assert "Differential preload 45 Nm" in screen_text(app)


async def test_what_was_said_of_the_next_run_stays_when_the_shed_comes_ready(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        await pilot.press("r", "R")
        told = "what is read starts empty"
        assert told in screen_text(app)
        text, kind, _ = app.view.news
        app.view.news = (text, kind, 0.0)  # a while later
        before = app.desk.shed
        app.post_message(ShedChanged())
        await until(pilot, lambda: app.desk.shed is not before)
        await pilot.pause()
        assert told in screen_text(app)
        await pilot.press("down")
        app.view.news = (text, kind, 0.0)
        app.screen.redraw()  # type: ignore[attr-defined]
        assert told not in screen_text(app), "a key was pressed: it was read"
