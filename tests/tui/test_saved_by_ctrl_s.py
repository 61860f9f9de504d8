"""Ctrl+S saves what is typed in a cell, as Enter does, and as it saves a form."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from trackside.tui.app import Trackside
from trackside.tui.screens.record import RecordPage


@pytest.mark.parametrize(
    ("path", "keys", "value"),
    [("FL.spring_rate", "77", "77"), ("FL.damper", "tw-2241", "TW-2241")],
)
async def test_in_a_cell_of_the_run_sheet(
    season_file: Path, drive: Drive, path: str, keys: str, value: str
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, path)
        await pilot.press(*(["enter"] if path.endswith("damper") else []), *keys, "ctrl+s")
        await until(pilot, lambda: sheet.grid.typed is None)
        assert sheet.cells.text(path) == value


async def test_in_a_cell_of_a_record(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        await pilot.press("V")
        await until(pilot, lambda: isinstance(app.screen, RecordPage))
        page = app.screen
        assert isinstance(page, RecordPage)
        page.grid.go("car.words")
        await pilot.press("n", "e", "w", "ctrl+s")
        await until(pilot, lambda: page.grid.typed is None)
        assert page.bodies["car"]["words"] == "new"


async def test_where_nothing_is_typed_it_says_so(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("r", "ctrl+s")
        assert "everything is saved" in screen_text(pilot.app)  # type: ignore[arg-type]
