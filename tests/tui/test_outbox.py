"""A write that was refused goes again: above what it was typed on, above nothing newer."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Future
from pathlib import Path
from typing import Any

import pytest

from tests.tui.conftest import Drive
from trackside.crew.listener import Listener
from trackside.crew.workspace import Workspace
from trackside.errors import LogbookFull
from trackside.logbook import Logbook, Write, patch
from trackside.preferences import Preferences


@pytest.fixture
def desk(season_file: Path) -> Iterator[Workspace]:
    """A desk with the newest session in hand."""
    desk = Workspace(season_file, Preferences(author="tester"), Listener())
    desk.take_newest()
    yield desk
    desk.close()


def _refuse(patched: pytest.MonkeyPatch, logbook: Logbook) -> None:
    def submit(*_: object, **__: object) -> Future[list]:
        future: Future[list] = Future()
        future.set_exception(LogbookFull("another window holds the logbook", "wait"))
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
    [dispute] = desk.logbook.disputes()
    assert (dispute.entity, dispute.path) == (entity, place)
    assert {side.value for side in dispute.sides} == {"Ben", "Cleo"}
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
