"""A page speaks of what is under the cursor: the row that is lit is the row that a key acts on, and
the page that comes up says which one it is."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, Static

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from trackside.logbook import Logbook, SessionLine, patch, put
from trackside.records import Reading
from trackside.tui.page import Page
from trackside.tui.screens.board import Board
from trackside.tui.screens.bring import Bring
from trackside.tui.screens.conflicts import Conflicts
from trackside.tui.screens.record import RecordPage
from trackside.tui.screens.shed import ShedPage
from trackside.tui.screens.sheet import Sheet
from trackside.tui.screens.shelf import Shelf
from trackside.tui.screens.trend import TrendPage
from trackside.tui.widgets.ledger import Ledger

SIZES = [(80, 24), (120, 40)]
PAGES = {"r": "RUN SHEET", "c": "CLICK MAP", "t": "TREND", "d": "DEBRIEF", "k": "SHELF"}


async def _on(pilot: Pilot[None], kind: type) -> None:
    await until(pilot, lambda: isinstance(pilot.app.screen, kind) and pilot.app.focused)
    await pilot.pause()


def _heading(pilot: Pilot[None]) -> str:
    return str(pilot.app.screen.query_one("#heading", Static).content)


def _named(line: SessionLine) -> str:
    """A session as headings name it."""
    title = f"{line.kind} {line.number}".strip().capitalize()
    return f"{title} · {line.car_name} · {line.venue} · {line.start}"


def _lit(pilot: Pilot[None]) -> str:
    """The words of the row that is drawn as the cursor's, as a person sees them."""
    ledger = pilot.app.screen.query_one(Ledger)
    return ledger.row_text(ledger.cursor).plain


# ── the pit board ───────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("key", PAGES)
async def test_a_page_key_on_the_pit_board_is_about_the_session_under_the_cursor(
    season_file: Path, drive: Drive, size: tuple[int, int], key: str
) -> None:
    async with drive(season_file, size) as pilot:
        board, newest = pilot.app.screen, pilot.app.desk.entity
        assert isinstance(board, Board)
        await pilot.press("down", "down", "down")
        row = board.rows[board.query_one(Ledger).cursor]
        assert isinstance(row, SessionLine)
        assert row.entity != newest
        await pilot.press(key)
        await until(pilot, lambda: PAGES[key] in _heading(pilot))
        assert pilot.app.desk.entity == row.entity
        assert _named(row) in _heading(pilot)
        await pilot.press(*(("down",) if key == "k" else ()), "p")
        await until(pilot, lambda: pilot.app.screen is board)
        assert board.rows[board.query_one(Ledger).cursor].entity == row.entity


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(
    ("words", "heading"),
    [("debrief", "DEBRIEF"), ("edit the event", "RECORD"), ("handbook: method", "HANDBOOK")],
)
async def test_a_command_by_its_name_does_what_its_key_does(
    season_file: Path, drive: Drive, size: tuple[int, int], words: str, heading: str
) -> None:
    """From the list of commands too, whether the page has the command or every page."""
    async with drive(season_file, size) as pilot:
        board = pilot.app.screen
        assert isinstance(board, Board)
        await pilot.press("down", "down", "down")
        row = board.rows[board.query_one(Ledger).cursor]
        await pilot.press("ctrl+p")
        await until(pilot, lambda: isinstance(pilot.app.focused, Input))
        await pilot.press(*words)
        await until(pilot, lambda: words in screen_text(pilot.app).casefold().replace(words, "", 1))
        await pilot.press("enter")
        await until(
            pilot, lambda: isinstance(pilot.app.screen, Page) and heading in _heading(pilot)
        )
        if heading == "DEBRIEF":
            assert pilot.app.desk.entity == row.entity
        if heading == "RECORD":
            assert pilot.app.view.form == {"event": row.event}


async def test_a_driver_reads_their_own_debrief(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        board, desk = pilot.app.screen, pilot.app.desk
        assert isinstance(board, Board)
        driver = desk.session.driver
        await pilot.press("down")
        while getattr(board.rows[board.query_one(Ledger).cursor], "driver", driver) == driver:
            await pilot.press("down")
        other = board.rows[board.query_one(Ledger).cursor].driver
        await pilot.press("d")
        await until(pilot, lambda: "DEBRIEF" in _heading(pilot))
        assert desk.session.driver == other != driver
        assert other in _heading(pilot)


async def test_on_the_heading_of_an_event_the_keys_are_about_its_newest_session(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        board, desk = pilot.app.screen, pilot.app.desk
        assert isinstance(board, Board)
        ledger = board.query_one(Ledger)
        headings = [n for n, row in enumerate(board.rows) if not isinstance(row, SessionLine)]
        ledger.move(headings[1])
        below = board.rows[headings[1] + 1]
        assert isinstance(below, SessionLine)
        assert below.entity != desk.entity
        await pilot.press("d")
        await until(pilot, lambda: "DEBRIEF" in _heading(pilot))
        assert desk.entity == below.entity


@pytest.mark.parametrize("key", ["enter", *PAGES])
async def test_an_event_without_a_session_has_nothing_to_show(
    season_file: Path, drive: Drive, key: str
) -> None:
    with Logbook.open(season_file, author="Olle", device="b") as logbook:
        logbook.write(put("event", {"venue": "Nordhamn", "date": "2027-03-01"}))
    async with drive(season_file) as pilot:
        board, entity = pilot.app.screen, pilot.app.desk.entity
        await pilot.press("home", key)
        await pilot.pause()
        assert pilot.app.screen is board
        assert pilot.app.desk.entity == entity
        assert "no session in this event yet: n opens one" in screen_text(pilot.app)


async def test_a_record_edited_from_the_board_leaves_the_cursor_on_its_row(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        board = pilot.app.screen
        assert isinstance(board, Board)
        await pilot.press("down", "down", "down")
        row = board.rows[board.query_one(Ledger).cursor]
        for key in ("E", "V"):
            await pilot.press(key)
            await _on(pilot, RecordPage)
            await pilot.press("escape")
            await until(pilot, lambda: pilot.app.screen is board)
            await pilot.pause()
            assert board.rows[board.query_one(Ledger).cursor] == row, key


async def test_undo_from_the_board_goes_to_what_was_undone(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        desk = pilot.app.desk
        await run_sheet_at(pilot, "FL.camber")
        changed = desk.entity
        await pilot.press("-", "2", "enter")
        await until(pilot, lambda: desk.is_kept("FL.camber"))
        await pilot.press("p", "down", "down", "u")
        await pilot.pause()
        await pilot.press("u")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        assert desk.entity == changed


# ── trend, conflicts ────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("key", ["r", "c", "d", "k", "enter"])
async def test_a_page_key_on_the_trend_is_about_the_session_under_the_cursor(
    season_file: Path, drive: Drive, size: tuple[int, int], key: str
) -> None:
    async with drive(season_file, size) as pilot:
        desk, newest = pilot.app.desk, pilot.app.desk.entity
        await pilot.press("t")
        await until(pilot, lambda: getattr(pilot.app.screen, "rows", None))
        page = pilot.app.screen
        assert isinstance(page, TrendPage)
        await until(pilot, lambda: not page.calculating)
        await pilot.press("left", "left")
        await pilot.pause()
        lit = page.rows.entities[page.cursor]
        assert lit != newest
        await pilot.press(key)
        await until(pilot, lambda: PAGES.get(key, "RUN SHEET") in _heading(pilot))
        assert desk.entity == lit
        assert _named(desk.line()) in _heading(pilot)


async def test_the_cursor_of_the_conflicts_stays_with_its_conflict(
    season_file: Path, drive: Drive
) -> None:
    places = ("FL.camber", "FR.camber", "RL.camber")

    def set_all(logbook: Logbook, session: str, typed: str, only: tuple[str, ...]) -> None:
        reading = Reading.of_text(typed, "angle")
        assert reading is not None
        for path in only:
            logbook.write(patch("session", session, {path: reading.body()}))

    async with drive(season_file) as pilot:
        desk = pilot.app.desk
        older = desk.logbook.session_lines(limit=3)[2].entity
        with Logbook.open(season_file, author="Otto", device="laptop-b") as other:
            desk.logbook.take_up(older)
            other.take_up(older)
            set_all(other, older, "-3,1", places)
            set_all(desk.logbook, older, "-2,5", places[1:])
            await pilot.press("!")
            await _on(pilot, Conflicts)
            page = pilot.app.screen
            assert isinstance(page, Conflicts)
            await until(pilot, lambda: len(page.rows) == 2)
            page.query_one(Ledger).move(1)
            lit = page.rows[1].path
            set_all(desk.logbook, older, "-2,5", places[:1])
            page.redraw()
            assert len(page.rows) == 3
            assert page.rows[page.query_one(Ledger).cursor].path == lit
            await pilot.press("r")
            await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
            await until(pilot, lambda: desk.entity == older)


# ── the shelf ───────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("size", SIZES)
async def test_on_the_shelf_the_row_that_is_lit_is_the_row_taken(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        await pilot.press("k")
        await _on(pilot, Shelf)
        page = pilot.app.screen
        assert isinstance(page, Shelf)
        await until(pilot, lambda: len(page.rows) > 2)
        for at in range(len(page.rows)):
            await pilot.press("down")  # out of the search line, or one further down
            lit, row = _lit(pilot), page.rows[at]
            assert row.title.split()[0] in lit
            await pilot.press("enter")
            await _on_bring(pilot, row.entity)
            await pilot.press("escape")
            await _on(pilot, Shelf)
            assert _lit(pilot) == lit


async def _on_bring(pilot: Pilot[None], entity: str) -> None:
    await until(pilot, lambda: isinstance(pilot.app.screen, Bring) and pilot.app.screen.plan)
    await pilot.pause()
    assert pilot.app.screen.row.entity == entity


async def test_new_words_light_the_set_up_that_they_fit_best(
    season_file: Path, drive: Drive
) -> None:
    """An earlier visit left the cursor on another row: it is not what these words found."""
    async with drive(season_file) as pilot:
        desk = pilot.app.desk
        for n, title in enumerate(("Green Lane", "Lane Green", "Lane Green again")):
            desk.add("kept", {"session": desk.entity, "title": title, "why": f"zebra {n}"})
        await pilot.press("k")
        await _on(pilot, Shelf)
        page = pilot.app.screen
        assert isinstance(page, Shelf)
        await until(pilot, lambda: len(page.rows) > 4)
        await pilot.press("down", "down", "down")
        await pilot.press("slash", *"zebra", "enter")
        await until(pilot, lambda: len(page.rows) == 3)
        assert page.query_one(Ledger).cursor == 0
        best = page.rows[0].entity
        await pilot.press("enter")
        await _on_bring(pilot, best)


async def test_a_set_up_kept_meanwhile_leaves_the_cursor_on_its_row(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        desk = pilot.app.desk
        await pilot.press("k")
        await _on(pilot, Shelf)
        page = pilot.app.screen
        assert isinstance(page, Shelf)
        await until(pilot, lambda: len(page.rows) > 2)
        await pilot.press("down", "down")
        row, count = page.rows[1], len(page.rows)
        desk.add("kept", {"session": desk.entity, "title": "kept at another window"})
        page.redraw()
        await until(pilot, lambda: len(page.rows) == count + 1)
        assert page.rows[0] != row
        assert page.rows[page.query_one(Ledger).cursor] == row


# ── the damper shed ─────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("size", SIZES)
async def test_after_a_new_damper_the_cursor_is_on_it(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        await pilot.press("b")
        await _on(pilot, ShedPage)
        page = pilot.app.screen
        assert isinstance(page, ShedPage)
        await pilot.press("n")
        await until(pilot, lambda: isinstance(pilot.app.focused, Input))
        await pilot.press(*"HH-9", "enter")
        await _on(pilot, RecordPage)
        await pilot.press("escape")
        await _on(pilot, ShedPage)
        assert _lit(pilot).split()[0] == "HH-9"
        await pilot.press("enter")
        await _on(pilot, RecordPage)
        assert "Damper HH-9" in _heading(pilot)
        await pilot.press("escape")
        await _on(pilot, ShedPage)
        await until(pilot, lambda: page.desk.shed.damper("HH-9"))
        await pilot.pause()
        assert _lit(pilot).split()[0] == "HH-9"
        await pilot.press("l")
        await until(pilot, lambda: isinstance(pilot.app.focused, Input))
        assert "Dyno sheet of HH-9, build A" in screen_text(pilot.app)


async def test_a_damper_is_acted_on_before_the_shed_has_been_read_again(
    season_file: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with drive(season_file) as pilot:
        app = pilot.app
        await pilot.press("b")
        await _on(pilot, ShedPage)
        page = app.screen
        assert isinstance(page, ShedPage)
        monkeypatch.setattr(app, "make_ready", lambda: None)  # a slow disk: the shed stays old
        await pilot.press("n")
        await until(pilot, lambda: isinstance(app.focused, Input))
        await pilot.press(*"HH-9", "enter")
        await _on(pilot, RecordPage)
        await pilot.press("escape")
        await _on(pilot, ShedPage)
        assert app.desk.shed.damper("HH-9") is None
        assert _lit(pilot).split()[0] == "HH-9"
        await pilot.press("l")
        await until(pilot, lambda: isinstance(app.focused, Input))
        assert "Dyno sheet of HH-9, build A" in screen_text(app)
        await pilot.press("escape")
        await pilot.press("B")
        await until(pilot, lambda: "Strip-down of HH-9" in screen_text(app))


async def test_a_sheet_loaded_right_after_a_strip_down_belongs_to_the_new_build(
    season_file: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with drive(season_file) as pilot:
        app = pilot.app
        await pilot.press("b")
        await _on(pilot, ShedPage)
        monkeypatch.setattr(app, "make_ready", lambda: None)  # a slow disk: the shed stays old
        serial = app.screen.damper.serial
        await pilot.press("B")
        await until(pilot, lambda: "Strip-down of" in screen_text(app))
        await pilot.press(*"new shims", "tab", *"yes", "enter")
        await _on(pilot, RecordPage)
        version = app.desk.logbook.state(app.view.form["build"])["version"]
        await pilot.press("escape")
        await _on(pilot, ShedPage)
        assert app.desk.shed.build(serial).version != version
        await pilot.press("l")
        await until(pilot, lambda: isinstance(app.focused, Input))
        assert f"Dyno sheet of {serial}, build {version}" in screen_text(app)


async def test_the_cursor_follows_a_serial_that_is_put_right(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("b")
        await _on(pilot, ShedPage)
        page = pilot.app.screen
        assert isinstance(page, ShedPage)
        await pilot.press("n")
        await until(pilot, lambda: isinstance(pilot.app.focused, Input))
        await pilot.press(*"HH-9", "enter")
        await _on(pilot, RecordPage)
        entity = pilot.app.view.form["damper"]
        await pilot.press("enter", *["backspace"] * 4, *"ZZ-1", "enter")
        await until(pilot, lambda: pilot.app.desk.logbook.state(entity)["serial"] == "ZZ-1")
        await pilot.press("escape")
        await _on(pilot, ShedPage)
        assert _lit(pilot).split()[0] == "ZZ-1"
        await until(pilot, lambda: page.desk.shed.damper("ZZ-1"))
        await pilot.pause()
        assert _lit(pilot).split()[0] == "ZZ-1"


async def test_the_click_map_opened_from_the_shed_is_that_of_the_damper_under_the_cursor(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        desk = pilot.app.desk
        await pilot.press("b")
        await _on(pilot, ShedPage)
        page = pilot.app.screen
        assert isinstance(page, ShedPage)
        serial = desk.session.corner("RR").damper
        at = next(n for n, damper in enumerate(desk.shed.dampers) if damper.serial == serial)
        page.query_one(Ledger).move(at)
        await pilot.press("c")
        await until(pilot, lambda: "CLICK MAP" in _heading(pilot))
        assert pilot.app.view.corner == "RR"


# ── records ─────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("size", SIZES)
async def test_a_record_opens_on_its_first_part_and_cell(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        await pilot.press("b")
        await _on(pilot, ShedPage)
        await pilot.press("enter")
        await _on(pilot, RecordPage)
        page = pilot.app.screen
        assert isinstance(page, RecordPage)
        part, cell = page.part, page.grid.path
        assert cell == page.grid.paths[0]
        await pilot.press("tab", "down", "down", "down")
        assert page.part != part
        await pilot.press("pageup")  # another build of the same record: the part stays
        await pilot.pause()
        assert page.part != part
        await pilot.press("escape")
        await _on(pilot, ShedPage)
        await pilot.press("down", "enter")
        await _on(pilot, RecordPage)
        assert (page.part, page.grid.path) == (part, cell)


# ── the order of sessions ───────────────────────────────────────────────────────────────────────
