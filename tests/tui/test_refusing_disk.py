"""Every form on a disk that takes nothing: it keeps its words, says why, and saves once it can."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, TextArea

from tests.book_entries import FORMS_OF_BOOK, STRIP_DOWN, write_book
from tests.faults.refusing import FAULTS, FORMS, Form
from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from trackside.logbook.dampers import builds_of
from trackside.tui.app import Trackside
from trackside.tui.page import Page
from trackside.tui.screens.record import RecordPage
from trackside.tui.screens.sheet import Sheet
from trackside.tui.widgets.ask import Ask

pytestmark = pytest.mark.skipif(os.name != "posix", reason="needs limits and owners of files")

REMEDIES = ("check the disk", "make room", "check who owns")


@pytest.fixture
def season(samples_log: Path) -> Iterator[Path]:
    """A copy of the sample season, in a folder of its own that others may enter."""
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o755)
        copy = Path(shutil.copy(samples_log, Path(name) / "season.trackside"))
        write_book(copy)
        yield copy


async def _open(pilot: Pilot[None], form: Form) -> Ask | None:
    """Go to the page of that form, and open it; its box, where it is one."""
    app = pilot.app
    assert isinstance(app, Trackside)
    kind, _, _ = form.page.partition(".")
    if kind in ("event", "car", "damper", "build", *FORMS_OF_BOOK, *STRIP_DOWN):
        records = _records(app, kind)
        assert isinstance(app.screen, Page)
        app.screen.open_record(records)
        await until(pilot, lambda: isinstance(app.screen, RecordPage) and app.screen.grid.paths)
        assert isinstance(app.screen, RecordPage)
        app.screen.grid.go(form.page)
    elif form.page == "b":
        await pilot.press("b")
        await until(pilot, lambda: getattr(app.screen, "damper", None))
    else:
        await run_sheet_at(pilot, form.page)
    if form.box is None:
        return None
    await pilot.press(*form.keys)
    await until(pilot, lambda: isinstance(app.screen, Ask))
    assert isinstance(app.screen, Ask)
    return app.screen


def _records(app: Trackside, kind: str) -> dict[str, str]:
    logbook = app.desk.logbook
    found = logbook.newest("damper" if kind == "build" else kind)
    if kind != "build":
        return {kind: found}
    serial = str((logbook.state(found) or {})["serial"])
    return {"damper": found, "build": builds_of(logbook, serial)[-1][0]}


def _all(app: Trackside, form: Form) -> list[str]:
    """What stands in the file where the form's words go."""
    kind, *path = form.kept
    found = []
    for _, body in app.desk.logbook.all(kind):
        value: Any = body
        for name in path:
            value = (value or {}).get(name)
        found.append(str(value.get("typed", "") if isinstance(value, dict) else value or ""))
    return found


@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("name", FORMS)
async def test_words_stay_until_the_disk_takes_them(
    name: str, fault: str, drive: Drive, season: Path
) -> None:
    form = FORMS[name]
    async with drive(season) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        opened = await _open(pilot, form)
        stood = _all(app, form).count(form.words)
        with FAULTS[fault](season.parent):
            cell = form.keys if opened is None else ()
            await pilot.press(*cell, *form.words, *([form.save] if form.save else []))
            await until(pilot, lambda: any(r in _flat(app) for r in REMEDIES))
            await until(pilot, lambda: app.desk.is_settled)
            if opened is None:
                assert form.words in _flat(app)
                assert "•" in screen_text(app)
            else:
                assert app.screen is opened
                box = opened.query_one(f"#{form.box}")
                assert isinstance(box, Input | TextArea)
                assert (box.text if isinstance(box, TextArea) else box.value) == form.words
            assert _all(app, form).count(form.words) == stood
        if opened is None:
            page = app.screen
            assert isinstance(page, Sheet | RecordPage)
            page.grid.go("items.Wing" if name == "item" else form.page)
            await pilot.press("enter")
        await pilot.press(form.save or "enter")
        await until(pilot, lambda: _all(app, form).count(form.words) == stood + 1)
        assert "•" not in screen_text(app)
        assert app.desk.flush() == []


def _flat(app: Trackside) -> str:
    return " ".join(screen_text(app).split())
