"""Open for reading only: every action that writes is off and says so, the file stays as it is."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from textual.pilot import Pilot

from tests.tui.conftest import screen_text, until
from trackside.crew.listener import Listener
from trackside.crew.workspace import Workspace
from trackside.errors import LogbookError
from trackside.preferences import Preferences
from trackside.tui.app import Trackside
from trackside.tui.commands import COMMANDS, PAGES, READING_ONLY, key_line, writes
from trackside.tui.page import Page
from trackside.tui.screens.bring import Bring
from trackside.tui.widgets.ledger import Ledger

SHOWN = [page for page in PAGES if page not in ("record", "build", "handbook")]
PASSED_OVER = ("quit", "find", "bring", "page('handbook')")
"""Leaves; takes the keys to the search line; has a test of its own; only text, and slow."""


def fingerprint(file: Path) -> str:
    """Of the file and of what lies beside it."""
    beside = sorted(path.name for path in file.parent.iterdir())
    return hashlib.sha256(file.read_bytes()).hexdigest() + " ".join(beside)


async def ready(pilot: Pilot[None]) -> Trackside:
    """The app with its damper shed."""
    app = pilot.app
    assert isinstance(app, Trackside)
    await until(pilot, lambda: app.desk.shed is not None)
    return app


async def said(pilot: Pilot[None]) -> str:
    """The screen, once it is quiet."""
    await pilot.pause(0.05)
    app = pilot.app
    assert isinstance(app, Trackside)
    return screen_text(app)


async def test_every_key_of_every_page_leaves_the_file_alone(season_file: Path) -> None:
    before = fingerprint(season_file)
    app = Trackside(season_file, Preferences(), backups=True, read_only=True)
    off = set()
    async with app.run_test(size=(120, 40)) as pilot:
        await ready(pilot)
        for page in SHOWN:
            for command in COMMANDS:
                if page not in (command.pages or ("sheet",)) or command.action in PASSED_OVER:
                    continue
                app.action_page(page)
                await until(pilot, lambda wanted=page: wanted == app.screen.PAGE)
                for ledger in app.screen.query(Ledger):
                    ledger.focus()  # not the search line above it
                for _ in range(3):  # what a page still works out may be drawn over the sentence
                    await pilot.press(command.key.split(",")[0])
                    if not writes(command.action) or READING_ONLY in await said(pilot):
                        break
                else:
                    raise AssertionError(f"{command} does not say that it is off")
                off.add(command.action)
                app.screen.say("") if isinstance(app.screen, Page) else None
                while not isinstance(app.screen, Page):
                    await pilot.press("escape")
                    await pilot.pause(0.02)
    assert len(off & {c.action for c in COMMANDS if writes(c.action)}) >= 15
    assert fingerprint(season_file) == before


async def test_a_kept_set_up_is_compared_but_not_brought_in(season_file: Path) -> None:
    before = fingerprint(season_file)
    app = Trackside(season_file, Preferences(), read_only=True)
    async with app.run_test(size=(120, 40)) as pilot:
        await ready(pilot)
        await pilot.press("k")
        await until(pilot, lambda: app.screen.query(Ledger))
        app.screen.query_one(Ledger).focus()
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, Bring) and app.screen.plan)
        await pilot.press("enter")
        await pilot.pause(0.1)
        assert [note.message for note in app._notifications] == [READING_ONLY]
    assert fingerprint(season_file) == before


async def test_cells_take_no_text(season_file: Path) -> None:
    before = fingerprint(season_file)
    app = Trackside(season_file, Preferences(), read_only=True)
    async with app.run_test(size=(120, 40)) as pilot:
        await ready(pilot)
        for keys in (("r",), ("p", "V"), ("b", "enter")):
            await pilot.press(*keys)
            assert "READING ONLY" in await said(pilot)
            for key in ("7", "enter", "delete", "backspace"):
                app.screen.say("")  # type: ignore[attr-defined]
                await pilot.press(key)
                assert READING_ONLY in await said(pilot), (keys, key)
            await pilot.press("escape")
    assert fingerprint(season_file) == before


async def test_the_key_lines_offer_nothing_that_writes(season_file: Path) -> None:
    for page in PAGES:
        offered = {label for _, label in key_line(page, reading=True)}
        assert offered <= {c.short for c in COMMANDS if not writes(c.action)}
        assert "Undo" not in offered
    assert ("u", "Undo") in key_line("sheet")


def test_what_slips_past_the_keys_is_refused_by_the_logbook(season_file: Path) -> None:
    desk = Workspace(season_file, Preferences(), Listener(), read_only=True)
    before = fingerprint(season_file)
    try:
        with pytest.raises(LogbookError, match="reading only"):
            desk.add("note", {"words": "x"})
        assert desk.take_newest()
        with pytest.raises(LogbookError, match="reading only"):
            desk.new_session()
    finally:
        desk.close()
    assert fingerprint(season_file) == before


async def test_what_another_window_writes_is_seen(season_file: Path) -> None:
    """Two viewers on one file: the reader follows the writer within about a second."""
    reader = Trackside(season_file, Preferences(), read_only=True)
    async with reader.run_test(size=(120, 40)) as pilot:
        await ready(pilot)
        await pilot.press("r")
        writer = Workspace(season_file, Preferences(), Listener())
        writer.take_newest()
        writer.corrections.give(writer.entity, "read off again")
        writer.keep_text("FL.rebound_bleed", "11")
        writer.flush()
        writer.close()
        await until(
            pilot, lambda: "11" in reader.desk.text.shown(reader.desk.session, "FL.rebound_bleed")
        )
