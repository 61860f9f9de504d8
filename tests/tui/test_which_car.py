"""The next session from a heading of the pit board: of which car, where there are several."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.tui.conftest import Drive, screen_text, until
from trackside.crew.next_session import cars_at
from trackside.logbook import Logbook, put
from trackside.tui.screens.sheet import Sheet
from trackside.tui.screens.which_car import WhichCar


def _event(file: Path) -> str:
    with Logbook.open(file, author="Otto", device="other") as logbook:
        event = put("event", {"venue": "Harrow Fen", "date": "2026-11-01"})
        logbook.write(event)
    return event.entity


@pytest.mark.parametrize(("key", "name"), [("enter", "Coupé"), ("1", "Coupé"), ("2", "Tourer")])
async def test_a_new_event_of_two_cars_asks_of_which(
    season_file: Path, drive: Drive, key: str, name: str
) -> None:
    """The car that ran last is the first: n and Enter open its next session."""
    event = _event(season_file)
    async with drive(season_file) as pilot:
        await pilot.press("home", "n")
        assert isinstance(pilot.app.screen, WhichCar)
        told = screen_text(pilot.app)  # type: ignore[arg-type]
        assert "The next session of which car?" in told
        await pilot.press("9", "x", key)
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        line = pilot.app.desk.line()  # type: ignore[attr-defined]
        assert (line.event, line.car_name) == (event, name)
        assert pilot.app.desk.session.FL.damper  # type: ignore[attr-defined]


async def test_escape_opens_none(season_file: Path, drive: Drive) -> None:
    _event(season_file)
    async with drive(season_file) as pilot:
        count = pilot.app.desk.logbook.session_count()  # type: ignore[attr-defined]
        await pilot.press("home", "n", "escape")
        assert pilot.app.desk.logbook.session_count() == count  # type: ignore[attr-defined]


async def test_on_a_session_its_own_car_is_meant(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("home", "down", "down")
        row = pilot.app.screen.rows[2]  # type: ignore[attr-defined]
        await pilot.press("n")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        assert pilot.app.desk.line().car == row.car  # type: ignore[attr-defined]


async def test_with_one_car_nothing_is_asked(tmp_path: Path, drive: Drive) -> None:
    log = tmp_path / "one.trackside"
    with Logbook.open(log, author="A", device="d") as logbook:
        logbook.write(put("car", {"name": "GT"}))
    _event(log)
    async with drive(log) as pilot:
        await pilot.press("home", "n")
        await until(pilot, lambda: isinstance(pilot.app.screen, Sheet))
        assert pilot.app.desk.line().car_name == "GT"  # type: ignore[attr-defined]


def test_the_cars_of_an_event_come_first_and_the_others_after_them(
    samples_log: Path, tmp_path: Path
) -> None:
    """The second car of a team has no session there until somebody opens its first."""
    log = Path(shutil.copy(samples_log, tmp_path / "season.trackside"))
    event = _event(log)
    with Logbook.open(log, author="Otto", device="other") as logbook:
        assert [name for _, name in cars_at(logbook, event)] == ["Coupé", "Tourer"]
        tourer = next(car for car, name in cars_at(logbook, event) if name == "Tourer")
        start = "2026-11-01 10:00"
        logbook.write(put("session", {"event": event, "car": tourer, "start": start}))
        assert [name for _, name in cars_at(logbook, event)] == ["Tourer", "Coupé"]
        assert [name for _, name in cars_at(logbook, "")] == ["Tourer", "Coupé"]


async def test_an_empty_logbook_lists_the_cars_that_were_entered(
    tmp_path: Path, drive: Drive
) -> None:
    async with drive(tmp_path / "new.trackside") as pilot:
        assert "Cars entered" not in screen_text(pilot.app)  # type: ignore[arg-type]
        await pilot.press("v", *"GT 4", "enter", "escape", "escape")
        text = lambda: screen_text(pilot.app)  # type: ignore[arg-type]  # noqa: E731
        await until(pilot, lambda: "Cars entered already: GT 4. V edits the last." in text())
        await pilot.press("V")
        await until(pilot, lambda: "Car · GT 4" in text())
