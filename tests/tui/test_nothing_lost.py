"""What is typed survives refusals, resizes, changes of session, Escape, quitting and cut-offs."""

from __future__ import annotations

from concurrent.futures import Future
from pathlib import Path

import pytest
from textual.widgets import Input, Static, TextArea

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from trackside.errors import LogbookFull
from trackside.logbook import Logbook
from trackside.records import Reading
from trackside.tui.screens.sheet import Sheet
from trackside.tui.widgets.ask import HOLD_AFTER, Ask


def _refuse(monkeypatch: pytest.MonkeyPatch, logbook: Logbook) -> None:
    def submit(*_: object, **__: object) -> Future[list]:
        future: Future[list] = Future()
        future.set_exception(LogbookFull("the disk is full", "make room"))
        return future

    monkeypatch.setattr(logbook, "submit", submit)


async def test_a_refused_value_stays_and_goes_through_later(
    season_file: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        with monkeypatch.context() as patched:
            _refuse(patched, sheet.desk.logbook)
            await pilot.press("-", "1", ".", "1", "1", "enter")
            await until(
                pilot, lambda: "disk is full" in str(sheet.query_one("#detail", Static).render())
            )
            assert not sheet.desk.is_kept("FL.camber")
            sheet.desk.again()
            value = sheet.desk.session.value("FL.camber")
            assert isinstance(value, Reading)
            assert value.typed == "-1.11"
        sheet.grid.go("FL.toe")
        await pilot.press("2", "enter")
        await until(pilot, lambda: sheet.desk.is_kept("FL.camber"))
        state = sheet.desk.logbook.state(sheet.desk.entity)
        assert state is not None
        assert state["FL"]["camber"]["typed"] == "-1.11"
        assert state["FL"]["toe"]["typed"] == "2"


async def test_a_refused_axle_stays_on_both_sides_and_a_newer_value_is_not_undone(
    season_file: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch
) -> None:
    left, right = "FL.rebound_bleed", "FR.rebound_bleed"
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, left)
        desk = sheet.desk
        was = desk.session.si(right)
        with monkeypatch.context() as patched:
            _refuse(patched, desk.logbook)
            await pilot.press("H")
            await until(pilot, lambda: "disk is full" in screen_text(pilot.app))
            assert [sheet.cells.shown(path).mark for path in (left, right)] == ["•", "•"]
            desk.again()
            assert desk.session.si(right) == was + 1  # that damper counts from full soft
        await pilot.press("3", "enter")
        await until(pilot, lambda: desk.is_kept(left) and desk.is_kept(right))
        assert desk.flush() == []
        assert [sheet.cells.shown(path).mark for path in (left, right)] == ["", ""]
        state = desk.logbook.state(desk.entity) or {}
        assert state["FL"]["rebound_bleed"]["si"] == 3
        assert state["FR"]["rebound_bleed"]["si"] == was + 1


async def test_a_session_dropped_elsewhere_holds_back_no_other(
    season_file: Path, drive: Drive
) -> None:
    from trackside.logbook import drop

    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        gone = sheet.desk.entity
        with Logbook.open(season_file, author="other") as other:
            other.write(drop("session", gone))
        sheet.desk.keep_text("FL.camber", "-1.5")
        sheet.desk.logbook.flush()
        lines = sheet.desk.logbook.session_lines(limit=2)
        sheet.desk.take(next(line.entity for line in lines if line.entity != gone))
        sheet.desk.keep_text("FL.camber", "-2.5")
        assert sheet.desk.flush() == [] or sheet.desk.is_kept("FL.camber")
        state = sheet.desk.logbook.state(sheet.desk.entity)
        assert state is not None
        assert state["FL"]["camber"]["typed"] == "-2.5"


async def test_quitting_names_what_is_refused_and_the_second_time_leaves(
    season_file: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        with monkeypatch.context() as patched:
            _refuse(patched, sheet.desk.logbook)
            await pilot.press("-", "1", "enter")
            await pilot.press("q")
            await pilot.pause()
            assert pilot.app.is_running
            assert "FL.camber" in str(sheet.query_one("#detail", Static).render())
            assert sheet.desk.logbook.state(sheet.desk.entity) is not None  # still open
            await pilot.press("q")
            await pilot.pause()
        assert pilot.app._exit


async def test_a_resize_while_typing_keeps_the_text_in_its_field(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file, (120, 40)) as pilot:
        sheet = await run_sheet_at(pilot, "FL.spring_rate")
        damper = sheet.desk.session.value("FL.damper")
        await pilot.press("1", "2", "0")
        await pilot.resize_terminal(80, 24)
        await pilot.pause(0.3)
        await pilot.press("enter")
        await pilot.pause()
        value = sheet.desk.session.value("FL.spring_rate")
        assert isinstance(value, Reading)
        assert value.typed == "120"
        assert sheet.desk.session.value("FL.damper") == damper


async def test_text_typed_before_a_new_session_stays_with_the_old_one(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.hot_pressure")
        old = sheet.desk.entity
        await pilot.press("1", ".", "7", "7")
        sheet.action_new_session()
        await pilot.pause()
        assert sheet.desk.entity != old
        assert sheet.desk.session.value("FL.hot_pressure") is None
        sheet.desk.take(old)
        value = sheet.desk.session.value("FL.hot_pressure")
        assert isinstance(value, Reading)
        assert value.typed == "1.77"


async def test_escape_writes_nothing_and_holds_the_words(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        kept = len(sheet.desk.logbook.all("kept"))
        for key in ("K", "escape"):
            await pilot.press(key)
            await pilot.pause()
        assert len(sheet.desk.logbook.all("kept")) == kept
        notes = len(sheet.desk.logbook.notes(sheet.desk.entity))
        await pilot.press("a")
        await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
        await pilot.press(*"lazy", "escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        assert len(sheet.desk.logbook.notes(sheet.desk.entity)) == notes
        await pilot.press("a")
        await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
        assert pilot.app.screen.query_one(TextArea).text == "lazy"
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        assert sheet.desk.logbook.notes(sheet.desk.entity)[-1][1]["words"] == "lazy"
        assert sheet.desk.held("Driver's note") == {}


async def test_an_open_form_survives_quitting(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await run_sheet_at(pilot, "FL.camber")
        await pilot.press("a")
        await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
        await pilot.press(*"pushes")
        await pilot.press("ctrl+q")
    async with drive(season_file) as pilot:
        await run_sheet_at(pilot, "FL.camber")
        await pilot.press("a")
        await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
        assert pilot.app.screen.query_one(TextArea).text == "pushes"


async def test_a_half_typed_cell_is_offered_again_after_a_cut_off(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        await pilot.press("-", "2", ",", "7")
        await pilot.pause(HOLD_AFTER + 0.3)
        sheet.desk.logbook.flush()
        sheet.grid.typed = None  # as a killed program leaves it: nothing handed up
        pilot.app.ending.kept = True  # type: ignore[attr-defined]
        sheet.desk.logbook.close()
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        assert "half typed" in str(sheet.query_one("#detail", Static).render())
        assert "-2,7" in screen_text(pilot.app)
        await pilot.press("enter", "enter")
        value = sheet.desk.session.value("FL.camber")
        assert isinstance(value, Reading)
        assert value.typed == "-2,7"
        assert sheet.desk.half_typed == {}


async def test_leaving_a_cell_untouched_changes_nothing(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "RL.gas_pressure")
        before = sheet.desk.session.value("RL.gas_pressure")
        await pilot.press("enter", "enter")
        await pilot.pause()
        assert sheet.desk.session.value("RL.gas_pressure") == before


async def test_an_item_is_not_lost_by_naming_it_again(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        before = dict(sheet.desk.session.items)
        await pilot.press("i")
        await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
        pilot.app.screen.query_one("#name", Input).value = next(iter(before))
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        assert sheet.desk.session.items == before


@pytest.mark.parametrize("key", ["n", "e", "v"])
async def test_a_logbook_that_cannot_be_written_says_so(
    season_file: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch, key: str
) -> None:
    async with drive(season_file) as pilot:

        def write(*_: object, **__: object) -> None:
            raise LogbookFull("the disk is full", "make room")

        monkeypatch.setattr(pilot.app.desk.logbook, "write", write)  # type: ignore[attr-defined]
        await pilot.press(key)
        await pilot.pause()
        assert "disk is full" in screen_text(pilot.app)


@pytest.mark.parametrize("cell", ["bump_stop", "damper"])
async def test_a_second_hang_up_does_not_cut_the_first_short(
    season_file: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch, cell: str
) -> None:
    exits: list[int] = []
    monkeypatch.setattr("trackside.tui.ending.os._exit", exits.append)
    async with drive(season_file) as pilot:
        app = pilot.app
        sheet = await run_sheet_at(pilot, f"FL.{cell}")
        await pilot.press("enter", "9", "8")
        assert sheet.grid.buffer is not None
        assert sheet.grid.buffer.endswith("98")
        hold = app.desk.hold

        def interrupted(path: str, text: str) -> None:
            hold(path, text)
            if not text:  # the draft is gone, the value not yet kept
                app.ending.hung_up()

        monkeypatch.setattr(app.desk, "hold", interrupted)
        app.ending.hung_up()
        assert exits == [129]
        stands = app.desk.logbook.state(app.desk.entity)["FL"][cell]
        drafts = [draft.text for draft in app.desk.logbook.drafts()]
        assert any("98" in text for text in (stands, *drafts)), (stands, drafts)


async def test_a_refused_value_is_tried_again_by_itself(
    season_file: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("trackside.tui.watching.AGAIN_S", 0.2)
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.camber")
        with monkeypatch.context() as patched:
            _refuse(patched, sheet.desk.logbook)
            await pilot.press(*"-1.11", "enter")
            await until(pilot, lambda: "disk is full" in screen_text(pilot.app))  # type: ignore[arg-type]
        await until(pilot, lambda: sheet.desk.is_kept("FL.camber"))
        assert sheet.cells.shown("FL.camber").mark == ""
