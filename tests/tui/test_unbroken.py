"""What fails in an action, a widget, a timer or a thread is a line on the page; nothing ends."""

from __future__ import annotations

import asyncio
from inspect import signature
from pathlib import Path
from typing import Any

import pytest
from rich.style import Style
from textual import events
from textual.app import App
from textual.command import CommandList
from textual.geometry import Size
from textual.message_pump import MessagePump
from textual.widgets import Static

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from trackside.crew import error_log
from trackside.errors import LogbookFull
from trackside.preferences import data_folder
from trackside.tui import messages
from trackside.tui.app import Trackside
from trackside.tui.page import Page
from trackside.tui.screens.board import Board
from trackside.tui.unbroken import Unbroken
from trackside.tui.widgets.grid import Grid
from trackside.tui.widgets.typed import Typed

pytestmark = pytest.mark.mishaps


def _fails(*_: object, **__: object) -> None:
    raise KeyError("a fault of the test")


def _log() -> str:
    path = data_folder() / error_log.NAME
    return path.read_text("utf-8") if path.exists() else ""


def test_the_private_names_of_textual_that_stand_behind_it_are_there() -> None:
    """Textual has no public hook for what goes wrong. Should a later version call these otherwise,
    this says so; that it still calls them is what the next test is for."""
    assert callable(vars(App).get("_handle_exception")), "App._handle_exception is gone"
    assert "_handle_exception" in vars(Unbroken)
    dispatch = vars(MessagePump).get("_dispatch_message")
    assert callable(dispatch), "MessagePump._dispatch_message is gone"
    assert hasattr(dispatch, "__wrapped__"), "errors in handlers are not caught any more"
    assert list(signature(dispatch).parameters) == ["self", "message"]
    assert list(signature(App._handle_exception).parameters) == ["self", "error"]


@pytest.mark.parametrize("where", ["action", "handler", "timer", "thread", "idle", "compose"])
async def test_a_fault_is_a_line_on_the_page_and_ends_nothing(
    where: str, drive: Drive, season_file: Path
) -> None:
    async with drive(season_file) as pilot:
        monkeypatch = pytest.MonkeyPatch()
        app = pilot.app
        assert isinstance(app, Trackside)
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        if where == "action":
            monkeypatch.setattr(type(sheet), "action_note", _fails)
            await pilot.press("a")
        elif where == "handler":
            monkeypatch.setattr(Grid, "step", _fails)
            await pilot.press("down")
        elif where == "timer":
            app.set_timer(0.01, _fails)
        elif where == "thread":
            app.run_worker(_fails, thread=True)
        elif where == "idle":
            app.call_after_refresh(_fails)
        else:
            monkeypatch.setattr("trackside.tui.screens.help.HelpCard.compose", _fails)
            await pilot.press("question_mark")
        await until(pilot, lambda: "KeyError" in _log())
        monkeypatch.undo()
        await pilot.pause(0.1)
        page = next(s for s in reversed(app.screen_stack) if isinstance(s, Page))
        said = str(page.query_one("#detail", Static).content)
        assert "a fault in the program (" in said
        assert error_log.NAME in said
        await pilot.press("escape")
        await pilot.press("escape")
        await run_sheet_at(pilot, "FL.rebound_bleed")
        await pilot.press("7", "enter")  # it takes keys as before
        await until(pilot, lambda: app.desk.outbox.is_settled)
        assert app.desk.session.corner("FL").value("rebound_bleed").si == 7  # type: ignore[union-attr]


async def test_what_fails_at_every_frame_neither_fills_the_log_nor_stops_the_keys(
    drive: Drive, season_file: Path
) -> None:
    async with drive(season_file) as pilot:
        monkeypatch = pytest.MonkeyPatch()
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        monkeypatch.setattr(Grid, "render_line", _fails)
        for _ in range(40):
            sheet.grid.refresh()
            await asyncio.sleep(0.02)
        assert 1 <= _log().count("Traceback") <= 20
        monkeypatch.undo()
        sheet.grid.refresh()
        await pilot.pause()
        assert "Rebound" in screen_text(pilot.app)  # type: ignore[arg-type]


async def test_the_palette_turns_pages(drive: Drive, season_file: Path) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("ctrl+p", "pagedown", "pageup", "x", "pagedown", "pageup", "escape")
        await pilot.pause()
        assert _log() == ""


@pytest.mark.parametrize("size", [(1, 1), (2, 2), (4, 9), (20, 5)])
async def test_the_palette_without_room_ends_nothing(
    size: tuple[int, int], drive: Drive, season_file: Path
) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("ctrl+p")
        await pilot.resize_terminal(*size)
        await pilot.press("pagedown", "x", "pageup", "down", "escape")
        await pilot.resize_terminal(80, 24)
        await pilot.press("r")
        assert "RUN SHEET" in screen_text(pilot.app)  # type: ignore[arg-type]


async def test_a_click_on_a_command_that_has_gone_is_on_nothing(
    drive: Drive, season_file: Path
) -> None:
    """The row is still drawn when the words typed meanwhile have left fewer rows."""
    async with drive(season_file) as pilot:
        await pilot.press("ctrl+p")
        listed = pilot.app.screen.query_one(CommandList)
        await until(pilot, lambda: listed.option_count)
        click = events.Click(listed, 2, 1, 0, 0, 1, False, False, False)
        click.style = Style.from_meta({"option": listed.option_count + 3})
        listed.post_message(click)
        await pilot.pause(0.1)
        assert _log() == ""


@pytest.mark.parametrize("opens", ["ctrl+p", "question_mark", "a"])
async def test_a_box_that_is_left_twice_takes_no_page_with_it(
    opens: str, drive: Drive, season_file: Path
) -> None:
    """A second Enter, or a click, is still on its way to a box that has gone."""
    async with drive(season_file) as pilot:
        await run_sheet_at(pilot, "FL.rebound_bleed")
        await pilot.press(opens)
        box = pilot.app.screen
        assert not isinstance(box, Page)
        for _ in range(3):
            box.dismiss(None)
        await pilot.pause()
        assert "RUN SHEET" in screen_text(pilot.app)  # type: ignore[arg-type]
        assert _log() == ""


async def test_a_click_beyond_a_screen_that_shrank(drive: Drive, season_file: Path) -> None:
    async with drive(season_file, (120, 40)) as pilot:
        await pilot.resize_terminal(60, 20)
        for kind in (events.MouseMove, events.MouseDown, events.MouseUp):
            await pilot.app.on_event(kind(None, 110, 38, 0, 0, 1, False, False, False, 110, 38))
        await pilot.pause()
        await pilot.press("r")
        assert _log() == ""


@pytest.mark.parametrize("way", ["click", "blur"])
async def test_keys_find_their_cell_again_after_the_focus_was_taken(
    way: str, drive: Drive, season_file: Path
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        if way == "click":
            place = (300, 90)
            beyond = events.MouseDown(None, *place, 0, 0, 1, False, False, False, *place)
            await pilot.app.on_event(beyond)
        else:
            pilot.app.post_message(events.AppBlur())
        await pilot.pause()
        assert sheet.focused is None
        waited: list[bool] = []
        with pytest.MonkeyPatch.context() as patched:
            patched.setattr("trackside.tui.key_queue.AT_LAST", 60.0)  # nothing waits for its end
            patched.setattr(pilot.app, "_pass_over", lambda _: waited.append(True))
            async with asyncio.timeout(30):
                await pilot.press("-", "1", ".", "5", "enter")
        assert not waited
        assert str(sheet.desk.session.value("FL.camber").typed) == "-1.5"  # type: ignore[union-attr]


@pytest.mark.parametrize("text", ["", "12,5", "漢字漢字", "x" * 300])
@pytest.mark.parametrize("room", range(-20, 12))
def test_a_cell_has_a_window_of_any_width(text: str, room: int) -> None:
    for caret in range(len(text) + 1):
        typed = Typed(text)
        typed.caret = caret
        before, under, after = typed.window(room)
        assert text.endswith(f"{before}{under.strip()}{after}")


@pytest.mark.parametrize("width", [1, 2, 5, 12, 16, 24, 27, 28, 29, 30])
async def test_a_cell_is_typed_in_on_a_screen_of_any_width(
    width: int, drive: Drive, season_file: Path
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.rebound_bleed")
        async with asyncio.timeout(20):
            await pilot.press("1")
            await pilot.resize_terminal(width, max(1, width // 2))
            await pilot.press("2", "backspace", "home", "end", "enter")
            await pilot.resize_terminal(80, 24)
        assert sheet.grid.buffer is None
        assert _log() == ""


async def test_two_sizes_in_a_row_do_not_answer_each_other_for_ever(
    drive: Drive, season_file: Path
) -> None:
    async with drive(season_file) as pilot:
        monkeypatch = pytest.MonkeyPatch()
        screen, laid_out = pilot.app.screen, 0
        lay_out = Page._refresh_layout

        def counted(page: Page, *arguments: Any) -> None:
            nonlocal laid_out
            laid_out += 1
            lay_out(page, *arguments)

        monkeypatch.setattr(Page, "_refresh_layout", counted)
        sizes = Size(80, 23), Size(80, 24)
        for size in sizes * 2:
            screen.post_message(events.Resize(size, size))
            screen.call_later(lambda: None)  # else the second takes the place of the first
        await asyncio.sleep(0.5)
        laid_out = 0
        await asyncio.sleep(0.5)
        monkeypatch.undo()
        assert laid_out <= 1
        assert screen.size == Size(80, 24)


def test_the_log_goes_where_it_can_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stands_in_the_way = tmp_path / "file"
    stands_in_the_way.write_text("")
    monkeypatch.setenv("TRACKSIDE_DATA", str(stands_in_the_way))
    monkeypatch.setattr(error_log, "gettempdir", lambda: str(tmp_path))
    assert error_log.note(KeyError("x")) == tmp_path / error_log.NAME
    monkeypatch.setattr(error_log, "gettempdir", lambda: str(stands_in_the_way))
    assert error_log.note(KeyError("x")) is None


def test_the_log_stays_small(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(error_log, "MOST", 2000)
    for n in range(100):
        path = error_log.note(KeyError(n))
    assert path is not None
    assert path.stat().st_size < 2500
    assert "KeyError: 99" in path.read_text("utf-8")


async def test_what_comes_late_from_a_thread_finds_no_page_and_nothing_fails(
    drive: Drive, season_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The program is ending and its pages are gone: threads and timers still report."""
    async with drive(season_file) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        app.watching.displaced = False
        with monkeypatch.context() as ending:
            ending.setattr(Trackside, "screen_stack", [])
            app.on_notices_changed(messages.NoticesChanged())
            app.on_failed(messages.Failed(LogbookFull("no room", "make some")))
            app.on_not_kept(messages.NotKept("driver", LogbookFull("no room", "make some")))
            app.on_kept(messages.Kept("driver"))
            app.on_printed(messages.Printed(Path("page.html")))
            app.watching.say_conflicts(1)
            app.watching.say_displaced()
            app.watching.once_again()
            app.watching.held = True
            app.watching.say_held()
            app.not_taken(["x"])
        assert app.page_shown is app.screen
    assert not _log()


async def test_keys_that_still_wait_as_the_program_ends_are_let_go(
    drive: Drive, season_file: Path
) -> None:
    async with drive(season_file) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
    assert not app.screen_stack
    await app.on_event(events.Key("s", "s"))
    assert not app._typed
    await app.on_event(events.Click(None, 2, 1, 0, 0, 1, False, False, False))
    assert not _log()


@pytest.mark.parametrize("width", [1, 9])
async def test_the_palette_turns_pages_in_any_room(
    width: int, drive: Drive, season_file: Path
) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("ctrl+p")
        for height in (1, 4):
            await pilot.resize_terminal(width, height)
            await pilot.press("pagedown", "down", "pageup")
        await pilot.resize_terminal(80, 24)
        await pilot.press("pagedown", "x", "pagedown", "escape")
        assert _log() == ""


async def test_a_click_beyond_the_palette_of_a_screen_that_shrank(
    drive: Drive, season_file: Path
) -> None:
    async with drive(season_file, (120, 40)) as pilot:
        await pilot.press("ctrl+p")
        palette, place = pilot.app.screen, (110, 38)
        click = events.Click(palette, *place, 0, 0, 1, False, False, False, *place)
        await pilot.resize_terminal(60, 20)
        palette.post_message(click)  # the press came while the screen was larger
        await pilot.pause()
        assert _log() == ""
        await pilot.press("escape")
        await pilot.press("ctrl+p")
        await pilot.click(offset=(0, 19))  # beside the list: it goes
        await pilot.pause()
        assert isinstance(pilot.app.screen, Page)


async def test_a_press_on_what_has_just_gone(drive: Drive, season_file: Path) -> None:
    async with drive(season_file) as pilot:
        goes = Static("it goes")
        goes.styles.dock = "top"
        await pilot.app.screen.mount(goes)
        await until(pilot, lambda: goes.region)
        x, y = goes.region.offset
        await goes.remove()
        assert pilot.app.screen.get_widget_at(x, y)[0] is goes  # not laid out again yet
        for kind in (events.MouseMove, events.MouseDown, events.MouseUp):
            await pilot.app.on_event(kind(None, x, y, 0, 0, 1, False, False, False, x, y))
        await pilot.pause()
        assert _log() == ""


@pytest.mark.parametrize("key", ["delete", "backspace", "enter", "1", "left", "+", "l"])
async def test_keys_on_a_sheet_without_cells(key: str, drive: Drive, tmp_path: Path) -> None:
    async with drive(tmp_path / "new.trackside") as pilot:
        await pilot.press("r")
        assert not pilot.app.screen.grid.paths  # type: ignore[attr-defined]
        await pilot.press(key)
        await pilot.pause()
        assert _log() == ""


@pytest.mark.parametrize("asking", ["clock", "logbook", "fault"])
async def test_what_still_asks_as_the_program_ends_makes_no_error_of_it(
    asking: str, drive: Drive, season_file: Path
) -> None:
    """The pit board's clock asked a logbook that was closed already, and the program ended with a
    traceback instead of its own code."""
    async with drive(season_file) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        board = app.screen
        assert isinstance(board, Board)
        ask = {
            "clock": board._look_at_time_table,
            "logbook": lambda: board.desk.logbook.next_planned("2026-01-01 08:00"),
            "fault": _fails,
        }[asking]
        leave = app.exit

        def leave_and_be_asked(*arguments: Any, **named: Any) -> None:
            board.call_later(ask)
            leave(*arguments, **named)

        app.exit = leave_and_be_asked  # type: ignore[method-assign]
        await pilot.press("q")
        await until(pilot, lambda: app.is_over and not app.is_running)
    assert app.return_code == 0
    assert ("KeyError" in _log()) == (asking == "fault")
