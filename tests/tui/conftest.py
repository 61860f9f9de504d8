"""The real app over a copy of the sample season, at a stated size, away from the user's files."""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from textual.css.model import RuleSet
from textual.css.stylesheet import Stylesheet
from textual.pilot import Pilot

from trackside.logbook.attached import folder_of
from trackside.preferences import Preferences
from trackside.tui.app import Trackside, build
from trackside.tui.screens.sheet import Sheet

LAST_DAY = date(2026, 5, 9)
"""A day on which no sample event is over."""

Drive = Callable[..., AbstractAsyncContextManager[Pilot[None]]]


@pytest.fixture(autouse=True, scope="session")
def _stylesheets_are_parsed_once() -> Iterator[None]:
    """Each app reads the same stylesheets: the rules of one text, with one theme's colours, are
    parsed for the first app and shared, as an app shares them among its own parsings."""
    parse, shared = Stylesheet._parse_rules, dict[tuple[object, ...], list[RuleSet]]()

    def once(sheet: Stylesheet, *text: Any, **more: Any) -> list[RuleSet]:
        asked = (*text, *sorted(more.items()), frozenset(sheet._variables.items()))
        if asked not in shared:
            shared[asked] = parse(sheet, *text, **more)
        return shared[asked]

    with pytest.MonkeyPatch.context() as patching:
        patching.setattr(Stylesheet, "_parse_rules", once)
        yield


@pytest.fixture(autouse=True)
def _at_the_last_event(monkeypatch: pytest.MonkeyPatch) -> None:
    """The samples' last event is going on: no correction is asked for its reason."""
    monkeypatch.setattr("trackside.crew.moments.today", lambda: LAST_DAY)


@pytest.fixture(autouse=True)
def _page_by_page(monkeypatch: pytest.MonkeyPatch) -> None:
    """A hand looks: the next key is pressed when the page that the one before opened is there.
    Keys pressed earlier than that have tests of their own."""
    press = Pilot.press

    async def looking(pilot: Pilot[None], *keys: str) -> None:
        for key in keys:
            await press(pilot, key)
            await settled(pilot)

    monkeypatch.setattr(Pilot, "press", looking)


async def settled(pilot: Pilot[None]) -> None:
    """Wait until every key has been dealt with, and the page is there for the next."""
    app = pilot.app
    assert isinstance(app, Trackside)
    for _ in range(20_000):
        if not app.is_running or app._exit or (app.settled and not app._message_queue.qsize()):
            return
        await asyncio.sleep(0.001)
    raise AssertionError("keys are still waiting")


@pytest.fixture
def season_file(samples_log: Path, tmp_path: Path) -> Path:
    """A copy of the sample season of one's own."""
    copy = tmp_path / "season.trackside"
    shutil.copy(samples_log, copy)
    shutil.copytree(folder_of(samples_log), folder_of(copy))
    return copy


@pytest.fixture
def drive() -> Drive:
    """`async with drive(path, (80, 24)) as pilot`: the app, ready with its damper shed."""

    @asynccontextmanager
    async def driving(path: Path, size: tuple[int, int] = (80, 24)) -> AsyncIterator[Pilot[None]]:
        app = build(path, Preferences(author="tester"))
        async with app.run_test(size=size) as pilot:
            await until(pilot, lambda: app.desk.shed is not None)
            await pilot.pause()
            yield pilot

    return driving


async def until(pilot: Pilot[None], holds: Callable[[], object], tries: int = 400) -> None:
    """Wait for something to hold."""
    for _ in range(tries):
        if holds():
            return
        await pilot.pause(0.02)
    raise AssertionError("it never came to hold")


def screen_text(app: Trackside) -> str:
    """What the screen shows, as lines of text."""
    strips = app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in strip) for strip in strips)


async def run_sheet_at(pilot: Pilot[None], path: str) -> Sheet:
    """The run sheet with its cursor on that cell, whichever part it is on."""
    if not isinstance(pilot.app.screen, Sheet):
        await pilot.press("r")
    await until(pilot, lambda: isinstance(pilot.app.screen, Sheet) and pilot.app.screen.grid.paths)
    sheet = pilot.app.screen
    assert isinstance(sheet, Sheet)
    for _ in range(6):
        if path in sheet.grid.paths:
            break
        await pilot.press("tab")
    sheet.grid.go(path)
    await pilot.pause()
    return sheet
