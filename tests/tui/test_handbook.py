"""The handbook page: every chapter opens, scrolls and fits; every command stands in its keys."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Markdown

from tests.tui.conftest import Drive, screen_text, until
from trackside.tui.commands import COMMANDS
from trackside.tui.manual import chapters, keys_markdown
from trackside.tui.screens.handbook import Handbook

SIZES = [(80, 24), pytest.param((120, 40), marks=pytest.mark.long)]


@pytest.mark.parametrize("size", SIZES)
async def test_every_chapter_opens(tmp_path: Path, drive: Drive, size: tuple[int, int]) -> None:
    async with drive(tmp_path / "new.trackside", size) as pilot:
        await pilot.press("f2")
        await until(pilot, lambda: isinstance(pilot.app.screen, Handbook))
        page = pilot.app.screen
        for chapter in chapters():
            heading = chapter.text.splitlines()[0].removeprefix("# ")
            await until(pilot, lambda heading=heading: heading in screen_text(pilot.app))
            assert page.query_one(Markdown).size.width <= size[0]
            text = screen_text(pilot.app)
            assert all(each.name in text for each in chapters())
            before = page.query_one("#page").scroll_y
            await pilot.press("pagedown")
            await pilot.pause()
            assert page.query_one("#page").scroll_y >= before
            await pilot.press("tab")
            await pilot.pause()


def test_every_command_is_in_the_keys() -> None:
    text = keys_markdown()
    for command in COMMANDS:
        assert command.words in text
        assert f"`{command.key_shown}`" in text
