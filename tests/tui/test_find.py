"""Runs found from the pit board with one key, and opened on the value that fits."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.tui.conftest import Drive, screen_text, until
from trackside.tui.screens.board import Board
from trackside.tui.screens.sheet import Sheet
from trackside.tui.widgets.ledger import Ledger

SIZES = [(80, 24), (120, 40)]


def found(pilot) -> list[str]:  # type: ignore[no-untyped-def]
    """The runs that are listed, with what fits of each."""
    board = pilot.app.screen
    rows = board.query_one(Ledger)
    texts = [rows.row_text(n).plain for n in range(rows.count)]
    return [" ".join(text.split()) for text in texts if not text.startswith("▌")]


async def search(pilot, text: str) -> Board:  # type: ignore[no-untyped-def]
    board = pilot.app.screen
    assert isinstance(board, Board)
    await pilot.press("slash", "ctrl+u", *text)
    await until(pilot, lambda: board.wanted == text and board._found_at[:1] == (text,))
    await pilot.pause()
    return board


@pytest.mark.parametrize("size", SIZES)
async def test_a_condition_lists_the_runs_with_the_value_that_fits(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        await search(pilot, "rebound rl > 20")
        assert [row for row in found(pilot) if not row.endswith("RL rebound 26")] == []
        assert len(found(pilot)) == 1
        assert "1 run fits" in screen_text(pilot.app) or "RL rebound 26" in screen_text(pilot.app)
        await pilot.press("enter", "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        sheet = pilot.app.screen
        await until(pilot, lambda: sheet.grid.path == "RL.rebound_bleed")
        assert pilot.app.desk.session.si("RL.rebound_bleed") == 26
        await pilot.press("p")
        await until(pilot, lambda: isinstance(pilot.app.screen, Board))
        assert len(found(pilot)) == 1


@pytest.mark.parametrize(
    ("text", "path"),
    [("TW-2241", "RL.damper"), ("driver = ida", "driver"), ("hot fl > 1.9 bar", "FL.hot_pressure"),
     ("foam 30", "FL.bump_stop")],
)  # fmt: skip
async def test_enter_puts_the_cursor_on_the_cell(
    season_file: Path, drive: Drive, text: str, path: str
) -> None:
    async with drive(season_file) as pilot:
        await search(pilot, text)
        assert found(pilot)
        await pilot.press("enter", "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        await until(pilot, lambda: pilot.app.screen.grid.path == path)


async def test_a_mistake_says_what_was_expected_and_leaves_the_list(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        board = await search(pilot, "rebound > 8")
        count = len(found(pilot))
        assert count
        for text, told in (
            ("rebond > 8", "“rebond” is no field: did you mean rebound"),
            ("hot > 1.9 N", "“N” is not a unit of pressure: write it like hot > 2 bar"),
            ("rebound between 4", "write it like rebound between 4 and 8"),
        ):
            await search(pilot, text)
            await until(pilot, lambda told=told: told in " ".join(screen_text(pilot.app).split()))
            assert found(pilot)
        await search(pilot, "nothing has this word")
        assert found(pilot) == []
        assert "No run fits" in screen_text(pilot.app)
        await pilot.press("ctrl+u", "escape")
        await until(pilot, lambda: len(board.rows) > count)
        assert not board.query_one("#finder").display


async def test_what_is_written_meanwhile_is_found(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        board = await search(pilot, "tyre set = ZZ9")
        assert found(pilot) == []
        desk = pilot.app.desk
        desk.keep_all({"tyre_set": "ZZ9"})
        board.redraw()
        await until(pilot, lambda: len(found(pilot)) == 1)
        assert found(pilot)[0].endswith("tyre set ZZ9")


async def test_the_keys_of_the_pages_act_on_the_run_that_was_found(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        await search(pilot, "rebound rl > 20")
        await pilot.press("enter")
        row = pilot.app.screen.rows[pilot.app.screen.query_one(Ledger).cursor]
        await pilot.press("d")
        await until(pilot, lambda: pilot.app.page_name == "debrief")
        assert pilot.app.desk.entity == row.entity
