"""The handbook page: every chapter opens, scrolls and fits; every command stands in its keys."""

from __future__ import annotations

from pathlib import Path

import pytest
from rich.console import Console
from rich.segment import Segment
from textual.widgets import Static

from tests.tui.conftest import Drive, screen_text, until
from trackside.tui.chapter import Chapter
from trackside.tui.commands import COMMANDS
from trackside.tui.manual import chapters, keys_markdown
from trackside.tui.screens.handbook import Handbook
from trackside.tui.themes import THEMES

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
            assert page.query_one("#text", Static).size.width <= size[0]
            text = screen_text(pilot.app)
            assert all(each.name in text for each in chapters())
            # a widget of each block is dressed anew at each size: 375 for the keys took 2 s
            assert len(list(page.walk_children())) < 20
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


@pytest.mark.parametrize("theme", [theme.name for theme in THEMES])
@pytest.mark.parametrize("width", [1, 12, 40, 104])
def test_a_chapter_keeps_to_its_width(theme: str, width: int) -> None:
    chosen = next(one for one in THEMES if one.name == theme)
    colours = {**chosen.variables, "panel": chosen.panel, "foreground": chosen.foreground}
    console = Console(width=width)
    for chapter in chapters():
        lines = console.render_lines(Chapter(chapter.text, colours), pad=False)
        assert all(Segment.get_line_length(line) <= width for line in lines)
        if width > 40:
            words = "".join(segment.text for line in lines for segment in line)
            assert chapter.text.splitlines()[0].removeprefix("# ") in words
