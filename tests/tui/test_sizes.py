"""Every screen at every size down to 60 by 20; below that, one line that says so."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from rich.cells import cell_len

from tests.tui.conftest import Drive, run_sheet_at, screen_text
from tests.tui.walking import drawn, walk

SIZES = [
    (60, 20),
    (80, 24),
    *(pytest.param(s, marks=pytest.mark.long) for s in ((120, 40), (200, 60))),
]
FORMS = ("note", "palette")
WHERE_LETTERS_TYPE = ("session", "damper record", "car record", "event record")


@pytest.mark.parametrize("size", SIZES, ids=str)
async def test_every_screen_stands_whole(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        async for name in walk(pilot):
            lines = screen_text(pilot.app).split("\n")
            assert len(lines) == size[1], name
            assert {cell_len(line) for line in lines} == {size[0]}, name
            if name in FORMS:
                continue
            own, pages = lines[-2:]
            if name == "typing":
                assert "Esc As it was" in own
            elif name == "shelf":
                assert "letters Find" in own, "its line to search in has the keys"
                assert "Ctrl-U Clear" in own
                assert "F3 Help" in pages
                assert pages.rstrip().endswith("Ctrl-Q Quit")
            elif name in WHERE_LETTERS_TYPE:
                assert "letters" in own, name
                assert "Ctrl-U Undo" in pages, name
                assert "F3 Help" in pages, name
                assert pages.rstrip().endswith("Ctrl-Q Quit"), name
            else:
                assert "u Undo" in own, name
                assert pages.rstrip().endswith("q Quit"), name
                assert "? Help" in pages, name
            assert any(line.strip() for line in lines[2:-3]), name
            assert lines[0].strip(), name


@pytest.mark.parametrize("size", SIZES, ids=str)
async def test_a_click_is_turned_and_its_worth_told(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        await pilot.press("n")
        await drawn(pilot)
        sheet.grid.go("FL.rebound_bleed")
        was = sheet.desk.session.si("FL.rebound_bleed")
        await pilot.press("h", "h")
        await drawn(pilot)
        assert abs(sheet.desk.session.si("FL.rebound_bleed") - was) == 2
        assert "FL Rebound" in screen_text(pilot.app)
        await pilot.press("c")
        await drawn(pilot)
        text = screen_text(pilot.app)
        assert "1 harder" in text
        assert "mm/s" in text
        # rod speed, force, its band, change of a click harder, its band and share
        assert re.search(r" 50 +\d+ +\d+ +≈?\+\d+ +\d+ +\+\d+ ", text)


async def test_resizing_lays_every_screen_out_anew(season_file: Path, drive: Drive) -> None:
    async with drive(season_file, (80, 24)) as pilot:
        async for name in walk(pilot, "sheet", "clicks", "trend", "debrief", "shed", "board"):
            for width, height in ((60, 20), (200, 60), (59, 24), (80, 19), (80, 24)):
                await pilot.resize_terminal(width, height)
                await drawn(pilot)
                text = screen_text(pilot.app)
                small = width < 60 or height < 20
                assert ("is too small: 60×20 at least" in text) == small, name
                assert ("q Quit" in text) == (not small), name


async def test_the_first_lines_of_a_note_have_room(season_file: Path, drive: Drive) -> None:
    async with drive(season_file, (80, 24)) as pilot:
        async for _ in walk(pilot, "note"):
            assert pilot.app.focused is not None
            assert pilot.app.focused.size.height >= 5
