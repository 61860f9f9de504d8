"""One bad record takes nothing else away: every screen is drawn, goes on, and names it."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Static

from tests.tui.conftest import Drive, screen_text
from tests.tui.walking import FIGURES, SCREENS, walk
from tests.unreadable import WRONG, write_unreadable
from trackside.logbook import Logbook, patch, put
from trackside.tui.page import Page
from trackside.tui.screens.debrief import DebriefPage

SIZES = [(80, 24), (120, 40)]


def _words(text: str) -> list[str]:
    return [word for word in text.split() if any(letter.isalpha() for letter in word)]


@pytest.mark.parametrize(
    "turn", [0, *(pytest.param(n, marks=pytest.mark.long) for n in range(1, len(WRONG)))]
)
@pytest.mark.parametrize("screens", [SCREENS, FIGURES], ids=["screens", "figures"])
async def test_every_screen_goes_on(
    season_file: Path, drive: Drive, turn: int, screens: dict[str, tuple[str, ...]]
) -> None:
    write_unreadable(season_file, turn)
    async with drive(season_file) as pilot:
        async for name in walk(pilot, among=screens):
            shown = screen_text(pilot.app)
            assert len(_words(shown)) > 12, f"{name} is all but blank"
            page = pilot.app.screen
            if isinstance(page, Page):
                named = page.query_one("#unread", Static)
                assert named.display, name
                assert "more)" in str(named.content), name


@pytest.mark.parametrize("size", SIZES)
async def test_the_debrief_names_the_note_and_goes_on(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    with Logbook.open(season_file, author="newer", device="newer") as logbook:
        session = logbook.session("last")
        logbook.write(
            put("note", {"session": session, "words": "It swims.", "balance": 5}),
            patch("session", session, {"number": "7"}),
        )
    async with drive(season_file, size) as pilot:
        async for _ in walk(pilot, "debrief", among={"debrief": ("d",)}):
            page = pilot.app.screen
            assert isinstance(page, DebriefPage)
            said = {s.title: [one.text for one in s.said] for s in page.sections}
            assert any("It swims." in text for text in said["You said about this outing"])
            assert any("FL rebound: 2 clicks harder" in t for t in page.sections[0].said[1].text
                       for t in [page.sections[0].said[1].text])  # fmt: skip
            assert len(said["Could not be read"]) == 2
            assert " ! cannot be read (and 1 more): number of session “" in screen_text(pilot.app)


async def test_a_sound_logbook_loses_no_line_to_it(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        async for name in walk(pilot, "board", "sheet", "debrief", among=FIGURES):
            assert not pilot.app.screen.query_one("#unread").display, name
            if name == "debrief":
                break
