"""The order of sessions, and what is compared with what, follows what is typed on the run sheet."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Static

from tests.tui.conftest import Drive, run_sheet_at, until
from trackside.tui.screens.sheet import Sheet

SIZES = [(80, 24), (120, 40)]


def _heading(pilot: Pilot[None]) -> str:
    return str(pilot.app.screen.query_one("#heading", Static).content)


@pytest.mark.parametrize("size", SIZES)
async def test_a_session_whose_start_is_changed_is_compared_in_the_new_order(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        desk = pilot.app.desk
        of_car = desk.logbook.session_lines(car=desk.session.car)
        here, older = of_car[0], of_car[3]
        assert here.entity == desk.entity
        assert desk.before.start != older.start
        sheet = await run_sheet_at(pilot, "start")
        earlier = older.start[:-1] + chr(ord(older.start[-1]) + 1)
        await pilot.press("enter", *["backspace"] * 30, *earlier, "enter")
        await until(pilot, lambda: desk.is_kept("start"))
        await until(pilot, lambda: desk.before.start == older.start)
        assert desk.line().start == earlier
        assert earlier in _heading(pilot)
        assert sheet.grid.buffer is None
        await pilot.press("ctrl+u", "u")
        await until(pilot, lambda: desk.before.start == of_car[1].start)
        assert here.start in _heading(pilot)


@pytest.mark.parametrize(
    ("path", "typed", "shown"),
    [("kind", "qualifying", "Qualifying"), ("number", "7", " 7 · "), ("driver", "Ivo", "Ivo")],
)
async def test_the_heading_follows_what_names_the_session(
    season_file: Path, drive: Drive, path: str, typed: str, shown: str
) -> None:
    async with drive(season_file) as pilot:
        await run_sheet_at(pilot, path)
        assert shown not in _heading(pilot)
        pilot.app.desk.keep_text(path, typed)
        await until(pilot, lambda: shown in _heading(pilot))


async def test_another_car_has_another_session_before(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        desk = pilot.app.desk
        await run_sheet_at(pilot, "car")
        other = next(entity for entity, _ in desk.logbook.all("car") if entity != desk.session.car)
        desk.keep("car", other)
        await until(pilot, lambda: desk.before.car == other)
        assert desk.line().car_name in _heading(pilot)


async def test_another_date_of_the_event_is_another_order(season_file: Path, drive: Drive) -> None:
    """Sessions without a start of their own stand at the day of their event."""
    async with drive(season_file) as pilot:
        desk = pilot.app.desk
        car = desk.session.car
        event = desk.add("event", {"venue": "Nordhamn", "date": "2027-03-01"})
        session = desk.add("session", {"event": event, "car": car, "kind": "test"})
        desk.take(session)
        last = desk.before.start
        assert last
        desk.amend("event", event, {"date": "2026-06-01"})
        await until(pilot, lambda: desk.before.start < last)


async def test_the_first_cell_of_an_empty_corner_is_its_damper(
    tmp_path: Path, season_file: Path, drive: Drive
) -> None:
    async with drive(tmp_path / "new.trackside") as pilot:
        await pilot.press("e", "A", "enter", "escape", "escape", "v", "B", "enter", "escape")
        await pilot.press("escape", "n")
        sheet = pilot.app.screen
        assert isinstance(sheet, Sheet)
        assert sheet.grid.path == "FL.damper"
        await pilot.press("down", "down")
        sheet.redraw()
        assert sheet.grid.path == "FL.bump_bleed"
    async with drive(season_file) as pilot:
        await pilot.press("n")
        sheet = pilot.app.screen
        assert isinstance(sheet, Sheet)
        assert sheet.grid.path == "FL.bump_bleed"
