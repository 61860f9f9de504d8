"""The runs of a session from the screen: few keys, one step of undo, the words of a crew."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import pytest
from rich.cells import cell_len

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from tests.tui.test_board_row import _line
from trackside.logbook import Logbook, put
from trackside.tui.app import Trackside
from trackside.tui.board_row import Columns
from trackside.tui.screens.board import Board
from trackside.tui.screens.sheet import Sheet

SIZES = [(80, 24), (120, 40)]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("page", ["board", "sheet"])
async def test_one_key_opens_the_next_run_with_the_set_up_and_no_reading(
    season_file: Path, drive: Drive, size: tuple[int, int], page: str
) -> None:
    async with drive(season_file, size) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        desk, before = app.desk, app.desk.line()
        if page == "sheet":
            await run_sheet_at(pilot, "FL.rebound_bleed")
        clicks = desk.session.si("FL.rebound_bleed")
        await pilot.press("R")
        await until(pilot, lambda: isinstance(app.screen, Sheet) and desk.line().run == "2")
        assert desk.line().title == f"{before.title} run 2"
        assert desk.session.si("FL.rebound_bleed") == clicks
        assert desk.session.value("FL.hot_pressure") is None
        shown = screen_text(app)
        assert f"{before.title} run 2".capitalize() in shown.partition("\n")[0]
        await pilot.press("p")
        await until(pilot, lambda: isinstance(app.screen, Board))
        shown = screen_text(app)
        assert "race 1 run 2" in shown
        await pilot.press("u", "u")
        await until(pilot, lambda: desk.logbook.session_lines()[0] == before)


async def test_a_forgotten_run_goes_in_by_its_time(season_file: Path, drive: Drive) -> None:
    async with drive(season_file, (80, 24)) as pilot:
        desk = pilot.app.desk  # type: ignore[attr-defined]
        await run_sheet_at(pilot, "FL.rebound_bleed")
        first = desk.line()
        await pilot.press("I", *"23:50", "enter")
        await until(pilot, lambda: desk.line().run == "2")
        assert desk.line().start.endswith("23:50")
        assert desk.logbook.session_line(first.entity).run == "1"
        assert "run 2 now" in screen_text(pilot.app)  # type: ignore[arg-type]


async def test_a_time_that_is_none_stays_in_the_form(season_file: Path, drive: Drive) -> None:
    async with drive(season_file, (80, 24)) as pilot:
        desk = pilot.app.desk  # type: ignore[attr-defined]
        await run_sheet_at(pilot, "FL.rebound_bleed")
        lines = desk.logbook.session_lines()
        await pilot.press("I", *"noon", "enter")
        await until(pilot, lambda: "10:45" in screen_text(pilot.app))  # type: ignore[arg-type]
        assert "noon" in screen_text(pilot.app)  # type: ignore[arg-type]
        assert desk.logbook.session_lines() == lines


async def test_a_run_moves_and_a_session_splits(season_file: Path, drive: Drive) -> None:
    async with drive(season_file, (120, 40)) as pilot:
        desk = pilot.app.desk  # type: ignore[attr-defined]
        await run_sheet_at(pilot, "FL.rebound_bleed")
        session = desk.line().session
        await pilot.press("R")
        await until(pilot, lambda: desk.line().run == "2")
        await pilot.press("X")
        await until(pilot, lambda: desk.line().session != session)
        assert desk.line().run == ""
        await pilot.press("M", *session, "enter")
        await until(pilot, lambda: desk.line().session == session)
        assert desk.line().run == "2"


async def test_the_first_run_is_not_split_off_and_says_so(season_file: Path, drive: Drive) -> None:
    async with drive(season_file, (80, 24)) as pilot:
        desk = pilot.app.desk  # type: ignore[attr-defined]
        await run_sheet_at(pilot, "FL.rebound_bleed")
        before = desk.line()
        await pilot.press("X")
        await until(pilot, lambda: "first run" in screen_text(pilot.app))  # type: ignore[arg-type]
        assert desk.line() == before


@pytest.mark.parametrize("narrow", [False, True])
@pytest.mark.parametrize("kind", ["race", "practice", "qualifying", "an endurance session"])
@pytest.mark.parametrize("run", ["2", "12"])
def test_the_run_is_told_whole_on_the_pit_board(kind: str, run: str, narrow: bool) -> None:
    columns = Columns.for_names(80 if narrow else 119, narrow, [("Coupé", "Teo Vannick")])
    row = columns.row(_line("Coupé", "Teo Vannick", kind=kind, run=run)).plain
    assert f"1 run {run} " in row or f"1 r{run} " in row
    assert cell_len(row) <= columns.width


@pytest.mark.parametrize("size", SIZES)
async def test_the_pit_board_says_what_begins_next(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    begins = datetime.now() + timedelta(minutes=25)
    if begins.date() != datetime.now().date():
        pytest.skip("no session of today is ahead in the last half hour before midnight")
    with Logbook.open(season_file, author="tester", device="here") as logbook:
        event = logbook.session_lines(limit=1)[0].event
        start = begins.strftime("%Y-%m-%d %H:%M")
        logbook.write(put("session", {"event": event, "kind": "qualifying", "start": start}))
    async with drive(season_file, size) as pilot:
        told = f"next: qualifying at {start[-5:]}, in 2"
        await until(pilot, lambda: told in screen_text(pilot.app).partition("\n")[0])  # type: ignore[arg-type]
