"""The key budgets of the product paper, counted; and every action declared once."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import TextArea

from tests.tui.conftest import Drive, until
from trackside.tui.commands import COMMANDS, PAGES, key_line, navigation
from trackside.tui.screens.sheet import WALK_FIELDS, Sheet

SIZES = [(80, 24), (120, 40)]


class Fingers:
    """Presses keys and counts them; text is typed but not counted."""

    def __init__(self, pilot) -> None:  # type: ignore[no-untyped-def]
        self.pilot = pilot
        self.pressed = 0

    async def press(self, *keys: str) -> None:
        self.pressed += len(keys)
        await self.pilot.press(*keys)
        await self.pilot.pause()

    async def type(self, text: str) -> None:
        await self.pilot.press(*text)
        await self.pilot.pause()


async def _run_sheet(pilot) -> Sheet:  # type: ignore[no-untyped-def]
    await pilot.press("r")
    await until(pilot, lambda: isinstance(pilot.app.screen, Sheet) and pilot.app.screen.grid.paths)
    return pilot.app.screen


@pytest.mark.parametrize("size", SIZES)
async def test_next_session_with_the_same_set_up(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        sheet = await _run_sheet(pilot)
        last, carried = sheet.desk.entity, sheet.desk.session.si("FL.rebound_bleed")
        hands = Fingers(pilot)
        await hands.press("n")
        assert sheet.desk.entity != last
        assert sheet.desk.session.si("FL.rebound_bleed") == carried
        assert sheet.desk.session.si("FL.hot_pressure") is None
        assert hands.pressed <= 3


async def test_both_front_rebound_two_clicks_harder(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await _run_sheet(pilot)
        before = [sheet.desk.session.si(f"{c}.rebound_bleed") for c in ("FL", "FR")]
        hands = Fingers(pilot)
        while sheet.grid.path != "FL.rebound_bleed":
            await hands.press("down")
        await hands.press("H", "H")
        after = [sheet.desk.session.si(f"{c}.rebound_bleed") for c in ("FL", "FR")]
        assert [abs(a - b) for a, b in zip(after, before, strict=True)] == [2, 2]  # type: ignore[operator]
        assert hands.pressed <= 8


async def test_walk_round(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await _run_sheet(pilot)
        await pilot.press("n")
        hands = Fingers(pilot)
        await hands.press("w")
        values = 0
        for corner in sheet.desk.preferences.walk_round:
            for name in WALK_FIELDS:
                assert sheet.grid.path == f"{corner}.{name}"
                await hands.type("1.9" if name == "hot_pressure" else "78")
                await hands.press("enter")
                values += 1
        assert values == 16
        for corner in ("FL", "FR", "RL", "RR"):
            assert sheet.desk.session.si(f"{corner}.tread_middle") == 78
            assert sheet.desk.session.si(f"{corner}.hot_pressure") == pytest.approx(1.9e5)
        assert hands.pressed <= values + 4


async def test_a_note_starts_in_two(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await _run_sheet(pilot)
        hands = Fingers(pilot)
        await hands.press("a")
        await until(pilot, lambda: isinstance(pilot.app.focused, TextArea))
        assert hands.pressed <= 2


async def test_what_the_change_is_worth_in_one(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await _run_sheet(pilot)
        hands = Fingers(pilot)
        await hands.press("c")
        assert pilot.app.page_name == "clicks"  # type: ignore[attr-defined]
        assert hands.pressed <= 1


def test_no_key_means_two_things_on_a_page() -> None:
    for page in PAGES:
        keys = [
            key
            for command in COMMANDS
            if page in command.pages or not command.pages
            for key in command.key.split(",")
        ]
        assert len(keys) == len(set(keys)), page


def test_no_key_that_terminals_swallow_is_the_only_way() -> None:
    swallowed = ("ctrl+h", "ctrl+i", "ctrl+j", "ctrl+m", "ctrl+a", "ctrl+b", "alt+", "f1", "f10")
    for command in COMMANDS:
        assert not all(key.startswith(swallowed) for key in command.key.split(","))


def test_key_lines_fit_eighty_columns() -> None:
    for page in PAGES:
        assert len(" ".join(f"{key} {label}" for key, label in key_line(page))) <= 80
    assert len(" ".join(f"{key} {label}" for key, label, _ in navigation())) <= 80
