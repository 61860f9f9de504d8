"""What was pressed before a page came up is not meant for it: there it types, or does nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual import events
from textual.pilot import Pilot
from textual.widgets import Input, TextArea

from tests.tui.conftest import Drive, run_sheet_at, screen_text, settled
from tests.tui.fields import revisions_in
from trackside.tui.screens.board import Board
from trackside.tui.screens.debrief import DebriefPage
from trackside.tui.screens.record import RecordPage
from trackside.tui.screens.sheet import Sheet


async def burst(pilot: Pilot[None], text: str) -> None:
    """All of it before the first key has been dealt with; `⏎` for Enter."""
    for sign in text:
        named = {"⏎": ("enter", None), "/": ("slash", "/")}
        pilot.app.post_message(events.Key(*named.get(sign, (sign, sign))))
    await pilot.pause()
    await settled(pilot)
    await pilot.pause()


@pytest.mark.parametrize("again", [False, True], ids=["first", "opened before"])
async def test_a_venue_is_typed_behind_the_key_that_begins_the_event(
    season_file: Path, drive: Drive, again: bool
) -> None:
    async with drive(season_file) as pilot:
        if again:  # a record of another kind was open
            await pilot.press("V", "escape")
        before = revisions_in(season_file)
        await burst(pilot, "epvq")
        page = pilot.app.screen
        assert isinstance(page, RecordPage)
        assert page.form == "event"
        assert (page.grid.path, page.grid.buffer) == ("event.venue", "pvq")
        assert revisions_in(season_file) == before + 1  # the event alone
        await pilot.press("enter")
        assert page.desk.logbook.state(page.view.form["event"])["venue"] == "pvq"  # type: ignore[index]


async def test_words_behind_the_shelfs_key_are_looked_for(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await burst(pilot, "kwet rear")
        line = pilot.app.focused
        assert isinstance(line, Input)
        assert line.value == "wet rear"


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_a_word_on_the_pit_board_opens_one_page_and_does_nothing_there(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        before = revisions_in(season_file)
        await burst(pilot, "digressive")
        assert isinstance(pilot.app.screen, DebriefPage)
        assert "pressed before this page was there: i g r e" in screen_text(pilot.app)
        assert revisions_in(season_file) == before
        await pilot.press("p")
        await burst(pilot, "rshn12")
        sheet = pilot.app.screen
        assert isinstance(sheet, Sheet)
        assert sheet.grid.buffer is None  # no digit of a word that began as commands
        assert revisions_in(season_file) == before
        await pilot.press("7")  # a key pressed on the page is taken
        assert sheet.grid.buffer == "7"


async def test_enter_twice_at_once_brings_nothing_in(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("k", "escape")
        before = revisions_in(season_file)
        await burst(pilot, "⏎⏎")
        assert revisions_in(season_file) == before
        await pilot.press("escape", "p")
        await run_sheet_at(pilot, "FL.rebound_bleed")
        await pilot.press("s")
        pilot.app.desk.flush()  # type: ignore[attr-defined]
        before = revisions_in(season_file)
        await burst(pilot, "uu")  # shown first, and the second was pressed before it was shown
        assert revisions_in(season_file) == before


async def test_words_behind_a_notes_key_are_the_drivers(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await run_sheet_at(pilot, "FL.rebound_bleed")
        await burst(pilot, "anose lifts, P d q")
        assert isinstance(pilot.app.focused, TextArea)
        assert pilot.app.focused.text == "nose lifts, P d q"


async def test_keys_of_one_page_are_all_taken_however_fast(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        was = sheet.desk.session.si("FL.rebound_bleed")
        await burst(pilot, "ssssh")
        assert sheet.desk.session.si("FL.rebound_bleed") == was + 3
        assert not isinstance(pilot.app.screen, Board)
