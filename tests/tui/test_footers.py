"""The foot of a page names only keys that do something there now."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Static

from tests.tui.conftest import Drive, run_sheet_at
from trackside.logbook.dampers import builds_of, records_of
from trackside.tui.page import Page
from trackside.tui.screens.undoing import Undoing
from trackside.tui.widgets.ask import Ask

SIZES = [(80, 24), (120, 40)]


def _foot(pilot: Pilot[None]) -> str:
    """The lines of keys of the page that is up, or that lies under a box."""
    page = next(screen for screen in reversed(pilot.app.screen_stack) if isinstance(screen, Page))
    return str(page.query_one("#keys", Static).content)


@pytest.mark.parametrize(("key", "box"), [("a", Ask), ("u", Undoing)])
async def test_a_page_under_a_box_names_no_key(
    season_file: Path, drive: Drive, key: str, box: type
) -> None:
    async with drive(season_file) as pilot:
        await run_sheet_at(pilot, "FL.rebound_bleed")
        await pilot.press("h")
        assert "Harder" in _foot(pilot)
        await pilot.press(key)
        assert isinstance(pilot.app.screen, box)
        assert not _foot(pilot).strip()
        await pilot.resize_terminal(100, 30)
        await pilot.pause(0.1)
        assert not _foot(pilot).strip()
        await pilot.press("escape")
        assert "Harder" in _foot(pilot)


@pytest.mark.parametrize("size", SIZES)
async def test_an_empty_logbook_offers_what_begins_it(
    tmp_path: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(tmp_path / "new.trackside", size) as pilot:
        own = _foot(pilot).split("\n")[0]
        assert own.split() == ["n", "Session", "e", "Event", "v", "Car"]
        gone = {"r": ("n New",), "c": (), "t": (), "d": (), "b": ("n New",), "k": ()}
        for key, left in gone.items():
            await pilot.press(key)
            if key == "k":  # its line to search in has the keys
                await pilot.press("escape")
            own = _foot(pilot).split("\n")[0]
            assert own.split() == " ".join(left).split(), key


async def test_on_an_event_without_a_session_none_is_opened(tmp_path: Path, drive: Drive) -> None:
    async with drive(tmp_path / "new.trackside") as pilot:
        await pilot.press("e", "A", "enter", "escape", "escape")
        own = _foot(pilot).split("\n")[0]
        assert "Enter Open" not in own
        assert "Edit event" in own
        assert "Undo" in own


async def test_without_a_conflict_no_side_is_offered(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("exclamation_mark")
        own = _foot(pilot).split("\n")[0]
        assert own.split() == ["u", "Undo"]


async def test_another_build_is_offered_where_there_is_one(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        logbook = pilot.app.desk.logbook
        seen = set()
        for _, body in logbook.all("damper"):
            records = records_of(logbook, body["serial"])
            several = len(builds_of(logbook, body["serial"])) > 1
            if several in seen:
                continue
            seen.add(several)
            pilot.app.screen.open_record(records)
            await pilot.pause()
            assert ("PgDn" in _foot(pilot)) == several, body["serial"]
            await pilot.press("escape", "escape")
        assert seen == {True, False}
