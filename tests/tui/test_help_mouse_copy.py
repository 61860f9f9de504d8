"""Help for what has the focus; a mouse wherever a hand would click; a page on the clipboard."""

from __future__ import annotations

from pathlib import Path

from rich.text import Text
from textual.widgets import Static

from tests.tui.conftest import Drive, screen_text, until
from tests.tui.walking import drawn
from trackside.preferences import data_folder
from trackside.tui.mouse import part_clicked
from trackside.tui.screens.help import HelpCard
from trackside.tui.themes import THEMES


async def test_help_tells_the_focus_then_the_page_then_opens_the_handbook(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file, (120, 40)) as pilot:
        await pilot.press("question_mark")
        await pilot.pause()
        text = screen_text(pilot.app)
        assert isinstance(pilot.app.screen, HelpCard)
        assert text.index("LIST") < text.index("PIT BOARD", 20) < text.index("EVERYWHERE")
        await pilot.press("question_mark")
        await until(pilot, lambda: "First day" in screen_text(pilot.app))
        await pilot.press("p")
        await drawn(pilot)
        assert screen_text(pilot.app).lstrip().startswith("PIT BOARD")


async def test_help_on_the_run_sheet_tells_of_cells_and_goes_away(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("r")
        await drawn(pilot)
        await pilot.press("question_mark")
        await pilot.pause()
        assert "CELLS" in screen_text(pilot.app)
        await pilot.press("escape")
        await drawn(pilot)
        assert "CELLS" not in screen_text(pilot.app)
        assert pilot.app.page_name == "sheet"


async def _click(pilot, widget: Static, words: str) -> None:  # type: ignore[no-untyped-def]
    lines = str(widget.content).split("\n")
    y = next(n for n, line in enumerate(lines) if words in line)
    assert await pilot.click(widget, offset=(lines[y].index(words) + 1, y))
    await drawn(pilot)


async def test_key_lines_parts_and_cells_are_clicked(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await _click(pilot, pilot.app.screen.query_one("#keys", Static), "Sheet")
        assert pilot.app.page_name == "sheet"
        sheet = pilot.app.screen
        await _click(pilot, sheet.query_one("#parts", Static), "Tyres")
        assert sheet.part == "tyre"
        await _click(pilot, sheet.query_one("#parts", Static), "Dampers")
        assert sheet.part == "damper"
        await pilot.click("#cells", offset=(14, 4))
        assert sheet.grid.path == "FL.rebound_bleed"
        was = sheet.desk.session.si("FL.rebound_bleed")
        await _click(pilot, sheet.query_one("#keys", Static), "Harder")
        assert abs(sheet.desk.session.si("FL.rebound_bleed") - was) == 1


def test_a_click_between_names_goes_nowhere() -> None:
    names = Text.assemble(" ", " One ", "  ", (" Two words ", "reverse bold"), "  ", " Three ")
    assert [part_clicked(names, names.plain.index(w)) for w in ("One", "words", "Three")] == [
        -1,
        0,
        1,
    ]
    assert part_clicked(names, 0) == 0


async def test_the_page_goes_to_the_clipboard_and_a_file(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("r")
        await drawn(pilot)
        await pilot.press("Y")
        await pilot.pause()
        path = data_folder() / "copied" / "sheet.txt"
        text = path.read_text("utf-8")
        assert pilot.app.clipboard == text
        assert "FL front left\tRebound\t" in text
        assert "copied:" in screen_text(pilot.app)
        await pilot.press("p", "Y")
        await pilot.pause()
        copied = (data_folder() / "copied" / "board.txt").read_text("utf-8")
        assert copied.count("Averholme") >= 2


async def test_keys_stand_out_from_the_words_beside_them(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        for theme in THEMES:
            while pilot.app.theme != theme.name:
                pilot.app.action_theme()  # type: ignore[attr-defined]
            await drawn(pilot)
            region = pilot.app.screen.query_one("#keys").region
            strip = pilot.app.screen._compositor.render_strips()[region.y]
            told = {
                segment.text.strip(): segment.style for segment in strip if segment.text.strip()
            }
            key, words = told["Enter"], told["Open"]
            assert key is not None
            assert words is not None
            assert key.bold
            assert not words.bold
            assert key.color != words.color
