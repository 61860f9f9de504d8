"""A form whose answers are refused keeps them and says why; what is half typed outlives a kill."""

from __future__ import annotations

import asyncio
import shutil
import sqlite3
import time
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, TextArea

from tests.faults.forms import WAYS, words_outlive_a_kill
from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from trackside.errors import LogbookFull
from trackside.logbook import Logbook, turns
from trackside.logbook.dampers import builds_of
from trackside.logbook.drafts import Aside
from trackside.preferences import data_folder
from trackside.tui.app import Trackside
from trackside.tui.page import Page
from trackside.tui.screens.record import RecordPage
from trackside.tui.screens.sheet import Sheet
from trackside.tui.widgets.ask import HOLD_AFTER, Ask

FORMS = {"a": ("note", "words"), "y": ("change", "reason"), "K": ("kept", "why")}
"""The key of each form about a session, the kind it writes, and its box of lines."""


@contextmanager
def _held_by_another(path: Path) -> Iterator[None]:
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        yield
        other.execute("ROLLBACK")


@pytest.fixture
def waits_shortly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(turns, "WAIT_S", 0.7)


async def _opened(pilot: Pilot[None], key: str) -> Ask:
    await run_sheet_at(pilot, "FL.camber")
    await pilot.press(key)
    await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
    assert isinstance(pilot.app.screen, Ask)
    return pilot.app.screen


@pytest.mark.parametrize("key", FORMS)
async def test_a_refused_save_keeps_the_form_and_its_words_and_says_why(
    key: str, drive: Drive, season_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kind, box = FORMS[key]
    async with drive(season_file) as pilot:
        desk = pilot.app.desk  # type: ignore[attr-defined]
        before = len(desk.logbook.all(kind))
        form = await _opened(pilot, key)

        def full(*_: object, **__: object) -> None:
            raise LogbookFull("the disk is full", "make room")

        with monkeypatch.context() as patched:
            patched.setattr(desk.logbook, "write", full)
            await pilot.press(*"pushes", "ctrl+s")
            await until(pilot, lambda: "disk is full" in screen_text(pilot.app))  # type: ignore[arg-type]
        assert pilot.app.screen is form
        await pilot.press(*" on")
        assert form.query_one(f"#{box}", TextArea).text == "pushes on"
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        assert len(desk.logbook.all(kind)) == before + 1


@pytest.mark.usefixtures("waits_shortly")
async def test_a_form_waits_for_another_window_without_freezing(
    drive: Drive, season_file: Path
) -> None:
    async with drive(season_file) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        form = await _opened(pilot, "a")
        await pilot.press(*"pushes")
        await until(pilot, lambda: app.desk.is_settled and form._held.get("words") == "pushes")
        with _held_by_another(season_file):
            last, longest = time.monotonic(), 0.0
            form.finish()
            while form.coming:
                await asyncio.sleep(0.02)
                now = time.monotonic()
                last, longest = now, max(longest, now - last)
            assert "another window" in screen_text(app) or "not saved" in screen_text(app)
            assert longest < 0.5
        assert app.screen is form
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(app.screen, Sheet))


@pytest.mark.usefixtures("waits_shortly")
async def test_words_that_could_not_be_held_stay_in_memory(drive: Drive, season_file: Path) -> None:
    async with drive(season_file) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        await _opened(pilot, "a")
        with _held_by_another(season_file):
            await pilot.press(*"pushes", "escape")
            form = await _opened(pilot, "a")
            assert form.query_one("#words", TextArea).text == "pushes"
            await pilot.press("escape")
        assert app.desk.flush() == []
    with Logbook.open(season_file, device=_device(season_file)) as logbook:
        assert "pushes" in [draft.text for draft in logbook.drafts()]


@pytest.mark.parametrize("form", ["cell", "half a cell", "a", "y", "K", "event", "build"])
async def test_what_the_logbook_may_not_write_waits_in_a_file_of_its_own(
    form: str, drive: Drive, season_file: Path
) -> None:
    aside = Aside(data_folder(), season_file)
    async with drive(season_file) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        kind = "damper" if form == "build" else form
        found = app.desk.logbook.newest(kind)
        records = dict.fromkeys((kind,) if found else (), found)
        if form == "build":
            serial = str((app.desk.logbook.state(found) or {})["serial"])
            records["build"] = builds_of(app.desk.logbook, serial)[-1][0]
        if records:
            assert isinstance(app.screen, Page)
            app.screen.open_record(records)
            await until(pilot, lambda: isinstance(app.screen, RecordPage) and app.screen.grid.paths)
            assert isinstance(app.screen, RecordPage)
            app.screen.grid.go("build.work" if form == "build" else "event.title")
        elif form in FORMS:
            await _opened(pilot, form)
        else:
            await run_sheet_at(pilot, "FL.camber")
        app.desk.logbook._rows("PRAGMA query_only = 1")
        await pilot.press(*"-1", *(["enter"] if form in ("cell", "event", "build") else []))
        await until(pilot, lambda: "-1" in aside.read().values())
        if form in ("cell", "event", "build"):
            await until(pilot, lambda: "•" in screen_text(app))
            await until(pilot, lambda: "may not be written" in screen_text(app))
        app.desk.logbook._rows("PRAGMA query_only = 0")
        await pilot.press("escape")
        assert app.desk.flush() == []
        await until(pilot, lambda: "-1" not in aside.read().values())


def _device(path: Path) -> str:
    with closing(sqlite3.connect(path)) as reader:
        [(device,)] = reader.execute("SELECT device FROM draft").fetchall()
    return str(device)


async def test_a_mark_of_doubt_does_not_hide_that_a_cell_is_not_in_the_file(
    drive: Drive, season_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.hot_pressure")
        monkeypatch.setattr(sheet.cells, "problem", lambda path: "doubt")
        assert sheet.cells.shown("FL.camber").mark == "!"
        monkeypatch.setattr(sheet.desk, "is_kept", lambda path: False)
        assert sheet.cells.shown("FL.camber").mark == "•"


@pytest.mark.parametrize(("keys", "words"), WAYS)
def test_a_kill_half_a_second_after_the_last_key_loses_no_word(
    keys: Sequence[str], words: str, season_file: Path, tmp_path: Path
) -> None:
    assert words_outlive_a_kill(season_file, tmp_path, keys, words)


async def test_a_half_typed_cell_of_a_record_is_offered_again(
    drive: Drive, season_file: Path
) -> None:
    async with drive(season_file) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        await pilot.press("e")
        await until(pilot, lambda: isinstance(app.screen, RecordPage) and app.screen.grid.paths)
        page = app.screen
        assert isinstance(page, RecordPage)
        opened = dict(app.view.form)
        await pilot.press(*"Quarry")
        await pilot.pause(HOLD_AFTER + 0.3)
        app.desk.logbook.flush()
        page.grid.typed = None  # as a killed program leaves it: nothing handed up
        app.ending.kept = True
        app.desk.logbook.close()
    async with drive(season_file) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        assert isinstance(app.screen, Page)
        app.screen.open_record(opened)
        await until(pilot, lambda: isinstance(app.screen, RecordPage) and app.screen.grid.paths)
        assert isinstance(app.screen, RecordPage)
        app.screen.grid.go("event.venue")
        assert "Quarry" in screen_text(app)
        await pilot.press("enter", "enter")
        await until(pilot, lambda: app.desk.is_settled)
        await until(pilot, lambda: not app.desk.drafts.of(opened["event"]))
        assert (app.desk.logbook.state(opened["event"]) or {})["venue"] == "Quarry"


async def test_what_is_typed_in_one_record_does_not_reach_the_next(
    drive: Drive, season_file: Path
) -> None:
    async with drive(season_file) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        await pilot.press("e")
        await until(pilot, lambda: isinstance(app.screen, RecordPage) and app.screen.grid.paths)
        page, first = app.screen, app.view.form["event"]
        assert isinstance(page, RecordPage)
        await pilot.press(*"Quarry")
        page.view.form = {"car": app.desk.logbook.newest("car")}
        page.redraw()
        await pilot.pause()
        assert page.grid.typed is None
        assert app.desk.drafts.of(first) == {"event.venue": "Quarry"}


async def test_a_correction_from_a_form_asks_its_reason_over_the_form(
    drive: Drive, season_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from datetime import date

    monkeypatch.setattr("trackside.crew.moments.today", lambda: date(2030, 1, 1))
    async with drive(season_file) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        sheet = await run_sheet_at(pilot, "FL.camber")
        name = next(iter(sheet.desk.session.items))
        form = await _opened(pilot, "i")
        form.query_one("#name", Input).value = name
        form.query_one("#text", Input).value = "hole 9"
        await pilot.press("ctrl+s")
        await until(pilot, lambda: app.screen is not form)
        await pilot.press(*"misread", "enter")
        await until(pilot, lambda: isinstance(app.screen, Sheet))
        assert sheet.desk.session.items[name] == "hole 9"


@pytest.mark.parametrize("kind", ["", "event"])
async def test_a_cell_emptied_while_another_holds_the_file_is_held_as_emptied(
    kind: str, drive: Drive, season_file: Path, tmp_path: Path
) -> None:
    aside, copy = Aside(data_folder(), season_file), tmp_path / "copy.trackside"

    async def at_the_cell(pilot: Pilot[None]) -> Sheet | RecordPage:
        if not kind:
            return await run_sheet_at(pilot, "FL.camber")
        app = pilot.app
        assert isinstance(app, Trackside)
        assert isinstance(app.screen, Page)
        app.screen.open_record({"event": app.desk.logbook.newest("event")})
        await until(pilot, lambda: isinstance(app.screen, RecordPage) and app.screen.grid.paths)
        assert isinstance(app.screen, RecordPage)
        app.screen.grid.go("event.altitude")
        await pilot.pause()
        return app.screen

    async with drive(season_file) as pilot:
        page = await at_the_cell(pilot)
        path = page.grid.path
        stood = page.grid._show(path).text
        assert stood
        with _held_by_another(season_file):
            await pilot.press("delete")
            await until(pilot, lambda: "∅" in aside.read().values())
            assert page.grid._show(path).mark == "•"
            killed = {place: text for place, text in aside.read().items() if text == "∅"}
            shutil.copy(season_file, copy)  # as a kill leaves it
        await until(pilot, lambda: not aside.read())
        assert page.grid._show(path).text == ""
    Aside(data_folder(), copy).put(killed)
    async with drive(copy) as pilot:
        page = await at_the_cell(pilot)
        assert page.grid._show(path).mark == "…"
        assert "emptied, and not saved yet" in screen_text(pilot.app)  # type: ignore[arg-type]
        await pilot.press("enter")
        assert page.grid.buffer == ""
        await pilot.press("enter")
        show = page.grid._show
        await until(pilot, lambda: show(path).mark == "" and show(path).text == "")
        app = pilot.app
        assert isinstance(app, Trackside)
        assert app.desk.flush() == []
        assert not app.desk.logbook.drafts()


@pytest.mark.usefixtures("waits_shortly")
@pytest.mark.parametrize("keys", ["n", "pe", "pv", "u", "bn"])
async def test_what_a_hold_refuses_says_so_and_costs_nothing_typed(
    keys: str, drive: Drive, season_file: Path
) -> None:
    async with drive(season_file) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        sheet = await run_sheet_at(pilot, "FL.camber")
        entity, sessions = app.desk.entity, app.desk.logbook.session_count()
        with _held_by_another(season_file):
            await pilot.press(*"-1.11", "enter")
            for key in keys:
                await pilot.press(key)
            if keys == "bn":
                await pilot.press(*"ZZ-901", "enter")
            await until(pilot, lambda: "another window" in screen_text(app).lower())
        await until(pilot, lambda: sheet.desk.is_kept("FL.camber"))
        state = app.desk.logbook.state(entity) or {}
        assert state["FL"]["camber"]["typed"] == "-1.11"
        assert app.desk.logbook.session_count() == sessions
