"""Backups by themselves, behind the first page and after an event; what failed, what was replaced,
a clock that is wrong and who signs stand on the pit board."""

from __future__ import annotations

import asyncio
import os
import shutil
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from textual.pilot import Pilot

from tests.tui.conftest import screen_text, until
from trackside.errors import LogbookFull
from trackside.logbook import Logbook, put
from trackside.logbook.backups_beside import backups, backups_of
from trackside.logbook.restore import restore
from trackside.logbook.rotation import keep_backups
from trackside.preferences import Preferences, device_file
from trackside.tui.app import Trackside


async def test_a_start_makes_one_backup(samples_log: Path, tmp_path: Path) -> None:
    log = Path(shutil.copy(samples_log, tmp_path / "team.trackside"))
    app = Trackside(log, backups=True)
    async with app.run_test(size=(80, 24)) as pilot:
        for _ in range(200):
            if backups(backups_of(log)):
                break
            await asyncio.sleep(0.05)
        await pilot.pause()
        app.make_ready()  # the shed is read again whenever it changes: no second backup
        await pilot.pause(0.3)
    [made] = backups(backups_of(log))
    with Logbook.open(made.path, read_only=True) as copy, Logbook.open(log, read_only=True) as live:
        assert copy.lines() == live.lines()


async def test_no_backup_unless_asked(samples_log: Path, tmp_path: Path) -> None:
    log = Path(shutil.copy(samples_log, tmp_path / "team.trackside"))
    async with Trackside(log).run_test(size=(80, 24)) as pilot:
        await pilot.pause(0.5)
    assert backups(backups_of(log)) == []


async def _board(pilot: Pilot[None], words: str) -> None:
    await until(pilot, lambda: words in screen_text(pilot.app))  # type: ignore[arg-type]


async def test_a_new_event_makes_one(samples_log: Path, tmp_path: Path) -> None:
    log = Path(shutil.copy(samples_log, tmp_path / "team.trackside"))
    app = Trackside(log, Preferences(author="tester"), backups=True)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: len(backups(backups_of(log))) == 1)
        await until(pilot, lambda: not app.backing.is_busy)
        await pilot.press("e")
        await until(pilot, lambda: len(backups(backups_of(log))) == 2)


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_what_failed_stands_on_the_pit_board_with_the_age_of_the_last(
    samples_log: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, size: tuple[int, int]
) -> None:
    log = Path(shutil.copy(samples_log, tmp_path / "team.trackside"))
    with Logbook.open(log) as logbook:
        made = keep_backups(logbook)
        assert made is not None
        os.utime(made, times=(time.time() - 3 * 3600,) * 2)
        logbook.write(put("note", {"words": "new"}))

    def full(*_: object, **__: object) -> None:
        raise LogbookFull("the disk is full", "make room")

    with monkeypatch.context() as patched:
        patched.setattr("trackside.crew.backups.keep_backups", full)
        app = Trackside(log, Preferences(author="tester"), backups=True)
        async with app.run_test(size=size) as pilot:
            await _board(pilot, "No backup: the disk is full: make room; the last good one is 3 h")
            patched.undo()
            patched.setattr("trackside.crew.backups.AGAIN_S", 0.2)
            await until(pilot, lambda: "No backup" not in screen_text(app))
    assert len(backups(backups_of(log))) == 2


async def test_a_logbook_restored_under_an_open_window_is_said_there(
    samples_log: Path, tmp_path: Path
) -> None:
    log = Path(shutil.copy(samples_log, tmp_path / "team.trackside"))
    with Logbook.open(log) as logbook:
        made = keep_backups(logbook)
    assert made is not None
    app = Trackside(log, Preferences(author="tester"))
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        kept = restore(made, log)
        await _board(pilot, "restored while it was open here")
        await pilot.press("e")
        await _board(pilot, "nothing")
    with Logbook.open(log, read_only=True) as live, Logbook.open(made, read_only=True) as copy:
        assert live.lines() == copy.lines()
    assert kept is not None


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_a_clock_that_was_set_back_is_said_and_gives_no_time(
    samples_log: Path, tmp_path: Path, size: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("trackside.logbook.uuid7._last", 0)  # and back to what it was, behind this
    log = Path(shutil.copy(samples_log, tmp_path / "team.trackside"))
    ahead = datetime.now(UTC) + timedelta(days=1)
    with Logbook.open(log, device=device_file(), clock=lambda: ahead) as logbook:
        logbook.write(put("note", {"words": "written before the clock was set back"}))
    app = Trackside(log, Preferences(author="tester"))
    async with app.run_test(size=size) as pilot:
        await _board(pilot, "The clock of this computer is wrong")
        await until(pilot, lambda: app.desk.shed is not None)
        await pilot.press("n")
        await until(pilot, lambda: app.desk.has_session and app.desk.session.status == "planned")
        assert app.desk.session.start == ""
        await _board(pilot, "clock was set back: type the start")
        newest = await asyncio.to_thread(app.desk.logbook.session, "last")
        assert newest == app.desk.entity
    async with Trackside(log, Preferences(author="tester")).run_test(size=size) as pilot:
        await _board(pilot, "The clock of this computer is wrong")
        await pilot.press("e")
        desk, view = pilot.app.desk, pilot.app.view  # type: ignore[attr-defined]
        await until(pilot, lambda: view.form.get("event"))
        assert "date" not in (desk.logbook.state(view.form["event"]) or {"date": ""})


async def test_the_login_name_is_said_once(samples_log: Path, tmp_path: Path) -> None:
    log = Path(shutil.copy(samples_log, tmp_path / "team.trackside"))
    for said in (True, False):
        app = Trackside(log)
        async with app.run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda app=app: app.desk.shed is not None)
            await pilot.pause()
            assert ("Signed as" in screen_text(app)) == said
            app.desk.keep_text("result", f"P{said}")
            app.desk.flush()
            await pilot.pause(0.2)
    async with Trackside(log, Preferences(author="Mara")).run_test(size=(80, 24)) as pilot:
        assert "Signed as" not in screen_text(pilot.app)  # type: ignore[arg-type]
