"""The past of a value on the run sheet, and corrections after the event with their reason."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from trackside.logbook import Logbook, patch
from trackside.tui.screens.past import Past
from trackside.tui.widgets.ask import Ask

SIZES = [(80, 24), (120, 40)]


@pytest.fixture
def after_the_event(monkeypatch: pytest.MonkeyPatch) -> None:
    """A day after the samples' last."""
    monkeypatch.setattr("trackside.crew.moments.today", lambda: date(2026, 11, 2))


@pytest.mark.parametrize("size", SIZES)
async def test_one_key_says_who_set_it_when_what_before_and_why(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    with Logbook.open(season_file, author="Otto", device="laptop-b") as logbook:
        session = logbook.session("last")
        logbook.write(patch("session", session, {"driver": "Somebody"}), reason="swapped seats")
    async with drive(season_file, size) as pilot:
        await run_sheet_at(pilot, "driver")
        await pilot.press("escape", "l")
        await until(pilot, lambda: isinstance(pilot.app.screen, Past))
        await pilot.pause()
        text = screen_text(pilot.app)
        for words in ("HISTORY  driver", "Otto", "→ Somebody", "swapped seats", "laptop …ptop-b"):
            assert words in text, words
        await pilot.press("down", "enter")
        await until(pilot, lambda: "The session as recorded by" in screen_text(pilot.app))
        assert "Somebody" not in screen_text(pilot.app).split("as recorded by")[1]
        await pilot.press("a")
        assert "the whole session" in screen_text(pilot.app)
        await pilot.press("escape")
        await until(pilot, lambda: not isinstance(pilot.app.screen, Past))


@pytest.mark.usefixtures("after_the_event")
async def test_a_correction_after_the_event_asks_once_and_signs_with_the_reason(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        desk, entity = sheet.desk, sheet.desk.entity
        await pilot.press("-", "1", ".", "1", "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
        assert "Correction after the event" in screen_text(pilot.app)
        await pilot.press(*"misread", "enter")
        await until(pilot, lambda: pilot.app.screen is sheet)
        await until(pilot, lambda: "-1.1" in str(desk.session.value("FL.camber")))
        sheet.stand_on("FL.rebound_bleed")
        count = desk.session.si("FL.rebound_bleed")
        await pilot.press("h")
        assert pilot.app.screen is sheet  # asked once for this session
        assert desk.session.si("FL.rebound_bleed") != count
        desk.flush()
        for path in ("FL.camber", "FL.rebound_bleed"):
            assert desk.logbook.history(entity, path)[0].reason == "misread"


@pytest.mark.usefixtures("after_the_event")
async def test_a_click_after_the_event_is_asked_first(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        before = [sheet.desk.session.si(f"{c}.rebound_bleed") for c in ("FL", "FR")]
        await pilot.press("H")
        await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
        assert sheet.desk.session.si("FL.rebound_bleed") == before[0]
        await pilot.press(*"typed late", "enter")
        await until(pilot, lambda: sheet.desk.session.si("FR.rebound_bleed") != before[1])
        assert sheet.desk.session.si("FL.rebound_bleed") != before[0]


@pytest.mark.usefixtures("after_the_event")
async def test_without_a_reason_nothing_is_kept_and_nothing_lost(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        stood = sheet.desk.session.value("FL.camber")
        await pilot.press("-", "1", ".", "1", "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
        await pilot.press("escape")
        await until(pilot, lambda: pilot.app.screen is sheet)
        await until(pilot, lambda: "needs its reason" in screen_text(pilot.app))
        assert sheet.desk.session.value("FL.camber") == stood
        assert sheet.cells.shown("FL.camber").half_typed == "-1.1"
        assert [d.text for d in sheet.desk.logbook.drafts()] == ["-1.1"]
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        assert sheet.cells.shown("FL.camber").half_typed == "-1.1"


@pytest.mark.usefixtures("after_the_event")
async def test_what_was_empty_is_filled_in_without_being_asked(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "result")
        sheet.desk.logbook.write(patch("session", sheet.desk.entity, {"result": None}))
        sheet.desk.again()
        sheet.desk.keep_text("result", "P3")
        assert sheet.desk.session.value("result") == "P3"


@pytest.mark.usefixtures("after_the_event")
async def test_what_came_in_while_the_reason_was_asked_is_not_overwritten(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "driver")
        desk = sheet.desk
        await pilot.press("enter", *"Ines", "enter", "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
        with Logbook.open(season_file, author="Otto", device="laptop-b") as other:
            other.write(patch("session", desk.entity, {"driver": "Somebody"}))
        await pilot.pause(1.0)
        await pilot.press(*"misread", "enter")
        await until(pilot, lambda: desk.disputes.places)
        [dispute] = desk.logbook.open_conflicts()
        assert {version.value for version in dispute.versions} == {"Ines", "Somebody"}
