"""When a run begins: what somebody typed is its start; until then it was opened at a time, and no
page calls that its start. The program's own rule, no source."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest
from textual.widgets import Static

from tests.running import Cli
from tests.tui.conftest import Drive, run_sheet_at, screen_text
from trackside.crew import next_session
from trackside.logbook import Logbook, put
from trackside.reports.when_words import when_short, when_words
from trackside.tui.app import Trackside

SIZES = [(80, 24), (120, 40)]


class EarlyMorning(datetime):
    """The clock as the session is opened."""

    @classmethod
    def now(cls, tz: object = None) -> EarlyMorning:  # type: ignore[override]
        return cls(2026, 10, 19, 8, 12)


def desk_of(app: object) -> object:
    assert isinstance(app, Trackside)
    return app.desk


@pytest.mark.parametrize("size", SIZES)
async def test_a_session_just_opened_has_no_start_until_one_is_typed(
    season_file: Path, drive: Drive, size: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(next_session, "datetime", EarlyMorning)
    async with drive(season_file, size) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        await pilot.press("r", "n")
        desk = app.desk
        assert desk.session.start == "2026-10-19 08:12", "it keeps the runs in their order"
        sheet = await run_sheet_at(pilot, "start")
        assert sheet.cells.shown("start").text == ""
        assert "opened" in " ".join(screen_text(app).split())
        heading = str(sheet.query_one("#heading", Static).render())
        assert "· opened 08:12 ·" in heading, "the driver behind it has to have room"
        assert not desk.logbook.next_planned("2026-10-19 08:12")
        await pilot.press("enter", "enter")
        assert desk.session.opened == desk.session.start, "looking at it types nothing"
        sheet.grid.go("start")
        await pilot.press("9", ":", "0", "0", "enter")
        assert desk.session.start == "2026-10-19 09:00", "with its day"
        assert sheet.cells.shown("start").text == "2026-10-19 09:00"
        desk.flush()
        heading = str(sheet.query_one("#heading", Static).render())
        assert "2026-10-19 09:00" in heading
        assert "opened" not in heading
        planned = desk.logbook.next_planned("2026-10-19 08:12")
        assert planned is not None
        assert planned.entity == desk.entity


async def test_the_minute_of_opening_can_be_typed_as_the_start(
    season_file: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(next_session, "datetime", EarlyMorning)
    async with drive(season_file) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        await pilot.press("r", "n")
        assert app.desk.keep_text("start", "8:12")
        assert (app.desk.session.start_said, app.desk.session.opened) == ("2026-10-19 08:12", None)
        app.desk.flush()
        assert not app.desk.line().opened


async def test_an_opened_session_is_not_on_as_if_it_were_planned(
    season_file: Path, drive: Drive, monkeypatch: pytest.MonkeyPatch, cli: Cli
) -> None:
    monkeypatch.setattr(next_session, "datetime", EarlyMorning)
    async with drive(season_file) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        await pilot.press("r", "n")
        app.desk.keep_text("duration", "40")
        app.desk.flush()
        line = app.desk.line()
        assert (when_words(line), when_short(line)) == ("opened 2026-10-19 08:12", "10-19~08:12")
        await pilot.press("p", "down", "up")
        told = " ".join(screen_text(app).split())
        assert "10-19~08:12" in told
        assert "opened 2026-10-19 08:12, start not typed" in told
    table = cli("--log", season_file, "timetable", "2026-10-19").out
    assert "opened 08:12" in table
    assert "08:52" not in table
    assert "opened 2026-10-19 08:12" in cli("--log", season_file, "show", "last").out


async def test_a_time_without_its_day_is_shown(tmp_path: Path, drive: Drive) -> None:
    log = tmp_path / "log.trackside"
    with Logbook.open(log, author="t", device="t") as logbook:
        event = put("event", {"venue": "Harrow Fen", "date": "2026-05-09"})
        run = put("session", {"event": event.entity, "kind": "practice", "start": "10:45"})
        logbook.write(event, run)
    async with drive(log) as pilot:
        told = screen_text(pilot.app)  # type: ignore[arg-type]
        assert "no time" not in told
        assert "10:45" in told
        assert "not run" not in told.replace("not run yet", ""), "nobody knows that it is late"
