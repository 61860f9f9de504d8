"""A write that was refused goes again: above what it was typed on, above nothing newer."""

from __future__ import annotations

import time
from collections.abc import Iterator
from concurrent.futures import Future
from pathlib import Path
from threading import Thread
from typing import Any

import pytest

from tests.tui.conftest import Drive, run_sheet_at, screen_text
from trackside.crew.listener import Listener
from trackside.crew.workspace import Workspace
from trackside.errors import LogbookFull, TracksideError, UnknownRecord
from trackside.logbook import Logbook, Write, patch
from trackside.preferences import Preferences
from trackside.tui.app import Trackside
from trackside.tui.screens.help import HelpCard
from trackside.tui.watching import NO_LONGER_HELD


@pytest.fixture
def desk(season_file: Path) -> Iterator[Workspace]:
    """A desk with the newest session in hand."""
    desk = Workspace(season_file, Preferences(author="tester"), Listener())
    desk.take_newest()
    yield desk
    desk.close()


def _refuse(
    patched: pytest.MonkeyPatch, logbook: Logbook, why: str = "another window holds the logbook"
) -> None:
    def submit(*_: object, **__: object) -> Future[list]:
        future: Future[list] = Future()
        future.set_exception(LogbookFull(why, "wait"))
        return future

    patched.setattr(logbook, "submit", submit)


@pytest.mark.parametrize("again", ["the session", "a record"])
def test_a_value_tried_again_stands_beside_another_windows(
    desk: Workspace, season_file: Path, monkeypatch: pytest.MonkeyPatch, again: str
) -> None:
    session = again == "the session"
    entity = desk.entity if session else desk.session.car
    kind, place = ("session", "driver") if session else ("car", "name")
    desk.outbox.take_up(entity)
    with monkeypatch.context() as patched:
        _refuse(patched, desk.logbook)
        if session:
            desk.keep_text("driver", "Ben")
        else:
            desk.amend("car", entity, {"name": "Ben"})
    with Logbook.open(season_file, author="Otto", device="laptop-b") as other:
        other.write(patch(kind, entity, {place: "Cleo"}))
    assert desk.catch_up()
    assert (desk.outbox.take_up(entity) or {})[place] == "Ben"
    assert desk.flush() == []
    [dispute] = desk.logbook.open_conflicts()
    assert (dispute.entity, dispute.path) == (entity, place)
    assert {version.value for version in dispute.versions} == {"Ben", "Cleo"}
    assert desk.catch_up()  # now it is taken up, and the conflict is looked for
    assert not desk.catch_up()


def test_what_goes_with_a_refused_value_undoes_nothing_newer(
    desk: Workspace, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The laps are refused twice, so that the newer status is kept before them."""
    submit, refused = desk.logbook.submit, []

    def busy(write: Write, **more: Any) -> Future[list]:
        if "laps" not in write.body or len(refused) == 2:
            return submit(write, **more)
        refused.append(write)
        future: Future[list] = Future()
        future.set_exception(LogbookFull("another window holds the logbook", "wait"))
        return future

    monkeypatch.setattr(desk.logbook, "submit", busy)
    monkeypatch.setattr(
        desk, "_done_by", lambda path, _: {"status": "done"} if path == "laps" else {}
    )
    desk.keep_text("laps", "77")
    desk.keep_text("status", "aborted")
    assert len(refused) == 2
    assert desk.flush() == []
    state = desk.logbook.state(desk.entity) or {}
    assert (state["laps"]["typed"], state["status"]) == ("77", "aborted")


async def test_no_look_at_the_logbook_waits_behind_a_save(
    season_file: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with drive(season_file) as pilot:
        app = pilot.app
        desk, under_way, looks = app.desk, Future[list](), []  # type: ignore[attr-defined]
        with monkeypatch.context() as patched:
            patched.setattr(desk.logbook, "submit", lambda write, **_: under_way)
            patched.setattr(desk.logbook, "data_version", lambda: looks.append(1) or desk._seen)
            desk.keep_text("driver", "Ben")
            app._tick()  # type: ignore[attr-defined]
            assert not looks
            under_way.set_exception(LogbookFull("another window holds the logbook", "wait"))
            app._tick()  # type: ignore[attr-defined]
            assert looks


def test_a_reading_that_failed_is_done_again(
    desk: Workspace, season_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Logbook.open(season_file, author="Otto", device="laptop-b") as other:
        other.write(patch("session", desk.entity, {"driver": "Cleo"}))

    def fails() -> None:
        raise LogbookFull("another window holds the logbook", "wait")

    with monkeypatch.context() as patched:
        patched.setattr(desk, "again", fails)
        with pytest.raises(LogbookFull):
            desk.catch_up()
    assert desk.catch_up()
    assert desk.session.driver == "Cleo"
    assert not desk.catch_up()


def test_one_refusal_is_told_for_a_write_and_none_for_a_retry_that_says_the_same(
    desk: Workspace, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[tuple[str, str]] = []

    def refused(path: str, error: TracksideError) -> None:
        told.append((path, str(error).partition(";")[0]))

    monkeypatch.setattr(desk._listener, "refused", refused)
    with monkeypatch.context() as patched:
        _refuse(patched, desk.logbook, "the disk is full")
        desk.outbox.send(desk.entity, patch("session", desk.entity, {"driver": "Ben", "laps": "7"}))
        desk.outbox.again()
        desk.outbox.again()
        assert [path for path, _ in told] == ["driver"]
        desk.outbox.again(aloud=True)  # somebody asked
        desk.outbox.again()
        assert len(told) == 2
        _refuse(patched, desk.logbook, "the folder is gone")
        desk.outbox.again(silent=True)
        assert len(told) == 2
        desk.outbox.again()  # what was not told yet is still new
        desk.outbox.again()
        assert len(told) == 3
        assert "the folder is gone" in told[-1][1]
        gone = Future[list]()
        gone.set_exception(UnknownRecord("that session is gone", "undo brings it back"))
        patched.setattr(desk.logbook, "submit", lambda *_, **__: gone)
        desk.outbox.again(silent=True)  # this one does not go again
        assert "that session is gone" in told[-1][1]


@pytest.mark.parametrize("kept", [False, True])
def test_two_threads_that_try_again_send_each_write_once(
    desk: Workspace, monkeypatch: pytest.MonkeyPatch, kept: bool
) -> None:
    """The tick tries again while a flush does, in a thread of its own, as the program ends."""
    outbox, seen = desk.outbox, []
    threads = [Thread(target=lambda: seen.append(outbox.again()))]
    with monkeypatch.context() as patched:
        _refuse(patched, desk.logbook)
        desk.keep_text("laps", "77")
    sent: list[Write] = []

    def submit(write: Write, **_: object) -> Future[list]:
        sent.append(write)
        meanwhile()
        return Future()

    def meanwhile() -> None:
        for thread in threads:
            if not thread.ident:
                thread.start()
                thread.join(0.1)

    if kept:
        assert desk.flush() == []
        waiting = outbox._waiting
        monkeypatch.setattr(outbox, "_waiting", lambda: [*waiting(), *(meanwhile() or ())])
    with monkeypatch.context() as patched:
        patched.setattr(desk.logbook, "submit", submit)
        outbox.again()
        threads[0].join()
    assert seen == [None]
    assert len(sent) == (0 if kept else 1)
    outbox._sent.clear()  # futures of the test: nobody fulfils them


async def test_a_retry_by_itself_lets_an_error_end_and_says_nothing_while_somebody_types(
    season_file: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with drive(season_file) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)

        async def retry() -> None:
            app.watching.again_at = 0.0
            app._tick()
            await pilot.pause()

        with monkeypatch.context() as patched:
            sheet = await run_sheet_at(pilot, "laps")
            _refuse(patched, app.desk.logbook, "the disk is full")
            await pilot.press("7", "enter")
            assert "the disk is full" in app.view.news[0]
            until = app.view.news[2]
            await retry()
            assert app.view.news[2] == until
            sheet.grid.go("laps")
            await pilot.press("8")
            _refuse(patched, app.desk.logbook, "the folder is gone")
            await retry()
            assert app.view.news[2] == until
            await pilot.press("escape")
            await retry()
            assert "the folder is gone" in screen_text(app)


async def test_under_a_box_a_refusal_is_one_toast_for_all_places_and_retries(
    season_file: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with drive(season_file) as pilot:
        app, toasts = pilot.app, []
        assert isinstance(app, Trackside)
        await pilot.press("question_mark")
        assert isinstance(app.screen, HelpCard)
        with monkeypatch.context() as patched:
            patched.setattr(app, "notify", lambda text, **_: toasts.append(text))
            _refuse(patched, app.desk.logbook, "the disk is full")
            body = {"driver": "Ben", "laps": "7"}
            app.desk.outbox.send(app.desk.entity, patch("session", app.desk.entity, body))
            for _ in range(3):
                app.watching.again_at = 0.0
                app._tick()
            await pilot.pause()
        assert len(toasts) == 1
        app.desk.outbox._sent.clear()


@pytest.mark.parametrize("over", ["an error", "a box"])
async def test_that_the_file_is_free_again_is_said_after_what_stood_over_it(
    over: str, season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        if over == "an error":
            app.watching.held = True
            app.view.tell("refused", "error", 60)
            app.watching.say_held()
            app.view.news = ("refused", "error", time.monotonic())
        else:
            await pilot.press("question_mark")
            app.watching.held = True
            app.watching.say_held()
            app.view.news = ("", "", 0.0)
            await pilot.press("escape")
        app.watching.say_held()
        assert app.view.news[0] == NO_LONGER_HELD
        assert not app.watching.held
