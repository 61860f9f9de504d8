"""A letter typed as a word never runs a command: every cell of every page, all at once and slowly.

The cells come from where the program declares them, so that a new one is visited by itself.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from textual import events
from textual.pilot import Pilot
from textual.widgets import Static, TextArea

from tests.book_entries import FORMS_OF_BOOK, STRIP_DOWN, write_book
from tests.tui.conftest import Drive, run_sheet_at, screen_text, settled, until
from tests.tui.fields import revisions_in
from tests.tui.test_hostile_text import ALIKE
from trackside.crew.belonging import BELONGS
from trackside.crew.forms import FORMS, entries
from trackside.preferences import Preferences
from trackside.records.fields import CORNER_FIELDS, SESSION_FIELDS
from trackside.tui.app import Trackside
from trackside.tui.commands import COMMANDS
from trackside.tui.keys import character
from trackside.tui.screens.record import RecordPage
from trackside.tui.screens.sheet import Sheet
from trackside.tui.widgets.cells import Kind
from trackside.tui.widgets.grid import BEGIN_NUMBER

WORDS = ("digressive/qualifier", "UPSHIFT!bracket?", "npq run: [hard] back")
"""Words of 16 to 20 signs that hold the letters and signs of many commands, those that leave a
page, print it, write a record or end the program among them."""
SIZES = [(80, 24), pytest.param((120, 40), marks=pytest.mark.long)]


def test_the_words_hold_what_they_are_to() -> None:
    assert all(12 <= len(word) <= 20 for word in WORDS)
    assert set("qdnPU!/?[]hs") <= set("".join(WORDS))


async def at_once(pilot: Pilot[None], text: str) -> None:
    """Every key before the first has been dealt with, as a paste over a poor line comes."""
    for sign in text:
        pilot.app.post_message(events.Key(sign, sign))
    await settled(pilot)


async def slowly(pilot: Pilot[None], text: str) -> None:
    """A key, and what it did, before the next."""
    for sign in text:
        pilot.app.post_message(events.Key(sign, sign))
        await settled(pilot)


def own(page: Any, long: bool) -> list[str]:
    """The cells on the page that are visited: one of those alike, in the long run each."""
    return [p for p in page.grid.paths if long or not set(p.split(".")) & ALIKE]


async def type_into(
    pilot: Pilot[None], page: Any, path: str, number: int, file: Path, long: bool
) -> None:
    """Words at once, and slowly; each is the cell's text until Esc restores it.

    Each cell gets one word at once and every fourth one slowly; in the long run each gets all.
    """
    app, paper = pilot.app, file.parent / "paper"
    before, stood = revisions_in(file), page.grid._show(path)
    page.grid.go(path)
    turns = [(word, at_once) for word in (WORDS if long else (WORDS[number % 3],))]
    if long or number % 4 == 0:
        turns.append((WORDS[number % 3], slowly))
    for word, way in turns:
        await way(pilot, word)
        assert page.grid.buffer == word, (path, word)
        assert app.screen is page
        app.post_message(events.Key("escape", None))
        await settled(pilot)
        assert app.screen is page
        assert (page.grid.path, page.grid.buffer) == (path, None)
        assert page.grid._show(path) == stood, path
    assert app.is_running
    assert app._exit is False
    assert revisions_in(file) == before, path
    assert not paper.exists()


@pytest.mark.parametrize("size", SIZES)
async def test_words_typed_on_every_cell_of_the_run_sheet(
    season_file: Path, drive: Drive, size: tuple[int, int], request: pytest.FixtureRequest
) -> None:
    long = "long" in str(request.config.getoption("markexpr", ""))
    async with drive(season_file, size) as pilot:
        sheet = await run_sheet_at(pilot, "FL.damper")
        sheet.desk.keep_text("items.Front bar", "3")
        sheet.desk.flush()
        sheet.redraw()
        visited, numbers = set(), set()
        for _ in sheet.parts:
            for number, path in enumerate(own(sheet, long)):
                cell = sheet.grid.cell(path)
                assert cell is not None
                if cell.kind is Kind.NUMBER and sheet.part != "session":
                    numbers.add(path)
                    await only_its_own_commands(pilot, sheet, path)
                else:
                    visited.add(path)
                    await type_into(pilot, sheet, path, number, season_file, long)
            sheet.action_next_part()
            await pilot.pause()
        one_of_each = {f"FL.{name}" for name in CORNER_FIELDS} - {f"FL.{name}" for name in ALIKE}
        assert visited | numbers >= one_of_each | {*SESSION_FIELDS, *BELONGS, "lap_times"}


async def only_its_own_commands(pilot: Pilot[None], sheet: Sheet, path: str) -> None:
    """On a number a letter is a command or nothing: what is no command changes nothing."""
    commands = {character(key) for command in COMMANDS for key in command.keys}
    sheet.grid.go(path)
    before = sheet.desk.session
    await pilot.press(*(sign for sign in "DjQZg€" if sign not in commands | BEGIN_NUMBER))
    assert (pilot.app.screen, sheet.grid.path, sheet.grid.buffer) == (sheet, path, None)
    assert sheet.desk.session == before
    if sheet.part != "damper":
        await pilot.press("h", "s", "H", "S")  # there is no knob to turn
        assert sheet.desk.session == before


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("form", FORMS)
async def test_words_typed_on_every_cell_of_a_record(
    season_file: Path,
    drive: Drive,
    size: tuple[int, int],
    form: str,
    request: pytest.FixtureRequest,
) -> None:
    long = "long" in str(request.config.getoption("markexpr", ""))
    keys = {"event": ("E",), "car": ("V",), "damper": ("b", "enter")}
    keys |= FORMS_OF_BOOK | STRIP_DOWN
    write_book(season_file)
    async with drive(season_file, size) as pilot:
        for key in keys[form]:
            await pilot.press(key)
            await pilot.pause()
        await until(pilot, lambda: isinstance(pilot.app.screen, RecordPage))
        page = pilot.app.screen
        assert isinstance(page, RecordPage)
        visited = set()
        for _ in FORMS[form]:
            for number, path in enumerate(own(page, long)):
                visited.add(path)
                await type_into(pilot, page, path, number, season_file, long)
            page.action_next_part()
            await pilot.pause()
        assert visited >= {p for p in entries(form) if long or not set(p.split(".")) & ALIKE}


# ── what is kept, and what is restored ──────────────────────────────────────────────────────────


async def test_esc_keeps_neither_value_nor_draft(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        was = sheet.desk.session.value("FL.camber")
        await pilot.press("-", "9")
        await pilot.pause(0.5)  # long enough to be held against a cut-off
        await pilot.press("escape")
        await pilot.pause()
        assert sheet.desk.session.value("FL.camber") == was
        assert sheet.desk.logbook.drafts() == []
        sheet.grid.go("FL.camber")
        await pilot.press("delete")
        await pilot.pause()
        assert sheet.desk.session.value("FL.camber") is None


async def test_blanks_alone_are_no_value(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "result")
        sheet.desk.keep_text("result", "P4")
        await pilot.press("space", "enter")
        await pilot.pause()
        assert sheet.desk.session.result == "P4"


async def test_escape_makes_one_letter_a_command(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "result")
        assert "Esc then a command" in screen_text(pilot.app)
        await pilot.press("escape")
        await pilot.pause()
        assert "n New" in screen_text(pilot.app)
        await pilot.press("escape", "d")  # taken back: the letter is text again
        assert sheet.grid.buffer == "d"
        await pilot.press("escape", "escape", "down", "d")  # so it is once the cursor has moved
        assert sheet.grid.buffer == "d"
        await pilot.press("escape", "escape", "d")
        await until(pilot, lambda: pilot.app.page_name == "debrief")  # type: ignore[attr-defined]


async def test_a_number_of_the_run_sheet_keeps_its_commands(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        was = sheet.desk.session.si("FL.rebound_bleed")
        await pilot.press("s")
        assert sheet.desk.session.si("FL.rebound_bleed") == was + 1


async def test_the_run_sheet_opens_where_letters_are_commands(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        await pilot.pause()
        sheet = pilot.app.screen
        assert isinstance(sheet, Sheet)
        for _ in range(4):
            cell = sheet.grid.cell(sheet.grid.path)
            assert cell is not None
            assert cell.kind is Kind.NUMBER, sheet.grid.path
            await pilot.press("tab")


@pytest.mark.parametrize("path", ["FL.damper", "result", "FL.rebound_bleed"])
async def test_common_tasks_cost_no_more_keys_from_a_cell_of_words(
    season_file: Path, drive: Drive, path: str
) -> None:
    """The budgets of the product's table: a driver's note 2 keys, the next session 3."""
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, path)
        first = ["escape"] if sheet.grid.mode in ("text", "list") else []
        await pilot.press(*first, "a")
        await until(pilot, lambda: isinstance(pilot.app.focused, TextArea))
        assert len([*first, "a"]) <= 2
        await pilot.press("escape")
        await until(pilot, lambda: pilot.app.screen is sheet)
        here = sheet.desk.entity
        await pilot.press(*first, "n")
        assert sheet.desk.entity != here
        assert len([*first, "n"]) <= 3


async def test_the_sheet_comes_up_where_letters_are_commands(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "result")
        await pilot.press("escape", "question_mark", "escape")
        assert sheet.part == "session"  # a box was over it, it was not left
        await pilot.press("escape", "c", "r")
        assert sheet.grid.mode == "commands"


# ── what the footer says ────────────────────────────────────────────────────────────────────────


def _foot(pilot: Pilot[None]) -> str:
    return str(pilot.app.screen.query_one("#keys", Static).content)


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_the_footer_follows_the_cell(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        assert "h Harder" in _foot(pilot)
        await pilot.press("7")
        await pilot.pause()
        assert "Esc As it was" in _foot(pilot)
        assert "Harder" not in _foot(pilot)
        await pilot.press("escape")
        sheet.grid.go("FL.gas_pressure")  # a number, and no knob
        await pilot.pause()
        assert "Harder" not in _foot(pilot)
        assert "n New" in _foot(pilot)
        sheet.grid.go("FL.damper")
        await pilot.pause()
        assert "letters Find " in _foot(pilot)
        assert "n New" not in _foot(pilot)
        await pilot.press("x")
        await pilot.pause()
        assert "↑ ↓ Choose" in _foot(pilot)
        await pilot.press("escape")
        await pilot.pause()
        assert "letters Find " in _foot(pilot)
        assert all(len(line) <= size[0] for line in _foot(pilot).split("\n"))


async def test_the_footer_of_a_form_names_no_letter(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("E")
        await until(pilot, lambda: isinstance(pilot.app.screen, RecordPage))
        await pilot.pause()
        caps = [
            part.split()[0]
            for line in _foot(pilot).split("\n")
            for part in line.split("  ")
            if part.strip()
        ]
        assert "Ctrl-N" in caps
        assert "letters" in caps
        assert not [each for each in caps if len(each) == 1 and each.isalpha()]


async def test_a_form_reaches_its_commands_by_keys_that_are_no_text(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("E")
        await until(pilot, lambda: isinstance(pilot.app.screen, RecordPage))
        await pilot.pause()
        page, count = pilot.app.screen, len(pilot.app.desk.logbook.session_lines())
        await pilot.press("f3")
        await until(pilot, lambda: pilot.app.screen is not page)
        await pilot.press("escape")
        await until(pilot, lambda: pilot.app.screen is page)
        await pilot.press("ctrl+n")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        assert len(pilot.app.desk.logbook.session_lines()) == count + 1


async def test_who_may_only_read_keeps_every_letter(season_file: Path) -> None:
    app = Trackside(season_file, Preferences(author="reader"), read_only=True)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        sheet = await run_sheet_at(pilot, "FL.damper")
        await pilot.press("x", "1")
        assert sheet.grid.buffer is None
        await pilot.press("d")
        await until(pilot, lambda: app.page_name == "debrief")
