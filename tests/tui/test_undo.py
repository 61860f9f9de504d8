"""Undo shows what it takes back before it does: field, from → to, whose, when; to any depth."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from trackside.logbook import Logbook, patch
from trackside.tui.screens.undoing import Undoing

SIZES = [(80, 24), (120, 40)]


@pytest.mark.parametrize("size", SIZES)
async def test_the_first_press_shows_the_second_does(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        count = sheet.desk.session.si("FL.rebound_bleed")
        await pilot.press("h")
        sheet.desk.flush()
        await pilot.press("u")
        await until(pilot, lambda: isinstance(pilot.app.screen, Undoing))
        text = screen_text(pilot.app)
        assert "Take back the last change?" in text
        assert "FL rebound" in text
        assert "→" in text
        assert "this session" in text
        assert "tester, 20" in text
        assert sheet.desk.session.si("FL.rebound_bleed") != count
        await pilot.press("escape")
        assert sheet.desk.session.si("FL.rebound_bleed") != count
        await pilot.press("u", "u")
        assert sheet.desk.session.si("FL.rebound_bleed") == count
        await pilot.press("U")
        assert "Set again the last change?" in screen_text(pilot.app)
        await pilot.press("enter")
        assert sheet.desk.session.si("FL.rebound_bleed") != count


async def test_several_steps_at_once_after_a_restart_too(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        count = sheet.desk.session.si("FL.rebound_bleed")
        await pilot.press("h", "h", "h")
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        await pilot.press("u", "down", "down")
        assert "the last 3 changes" in screen_text(pilot.app)
        await pilot.press("up", "down", "enter")
        assert sheet.desk.session.si("FL.rebound_bleed") == count
        await pilot.press("U", "down", "down", "down")
        assert "there is nothing before that" in screen_text(pilot.app)
        await pilot.press("escape")


async def test_another_sessions_change_is_named_and_gone_to(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        changed = sheet.desk.entity
        before = sheet.desk.session.value("FL.camber")
        sheet.desk.keep_text("FL.camber", "-1.23")
        sheet.desk.flush()
        line = sheet.desk.line()
        other = sheet.desk.logbook.session_lines(limit=3)[-1].entity
        sheet.desk.take(other)
        await pilot.press("p", "u")
        await until(pilot, lambda: isinstance(pilot.app.screen, Undoing))
        told = screen_text(pilot.app)
        assert f"{line.kind} {line.number}".strip().capitalize() in told
        await pilot.press("enter")
        await until(pilot, lambda: pilot.app.screen is sheet)
        assert sheet.desk.entity == changed
        assert sheet.desk.session.value("FL.camber") == before
        await until(pilot, lambda: sheet.grid.path == "FL.camber")


async def test_what_was_written_meanwhile_is_shown_before_it_is_taken_back(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        desk = sheet.desk
        desk.keep_text("FL.camber", "-1.23")
        desk.flush()
        await pilot.press("u")
        await until(pilot, lambda: isinstance(pilot.app.screen, Undoing))
        with Logbook.open(season_file, device=desk.logbook.device, author="Otto") as other:
            other.write(patch("session", desk.entity, {"driver": "Somebody"}))
        await pilot.press("u")
        assert "written meanwhile" in screen_text(pilot.app)
        assert "Somebody" in screen_text(pilot.app)
        assert (desk.logbook.state(desk.entity) or {})["driver"] == "Somebody"
        await pilot.press("escape")


async def test_nothing_to_undo_says_so(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("u")
        assert "nothing to undo" in screen_text(pilot.app)
        await pilot.press("U")
        assert "nothing to redo" in screen_text(pilot.app)
