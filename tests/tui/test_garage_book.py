"""The garage book on screen: a part's list, an entry typed in, put right, taken off and brought
back."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from textual.pilot import Pilot

from tests.book_entries import write_book
from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from tests.tui.walking import drawn
from trackside.preferences import Preferences
from trackside.reports.garage_book import PARTS
from trackside.tui.app import Trackside
from trackside.tui.commands import READING_ONLY, key_line
from trackside.tui.screens.book import BookPage
from trackside.tui.screens.record import RecordPage


@pytest.fixture
def season_file(runs_alone_log: Path, tmp_path: Path) -> Path:
    """A copy of the sample season of one's own, nothing beside its runs."""
    return Path(shutil.copy(runs_alone_log, tmp_path / "season.trackside"))


TYRES, WEIGHTS, HOURS, WEATHER = 0, 1, 2, 3
"""How many tabs lead to each part."""
SIZES = [(80, 24), (120, 40)]


async def open_book(pilot: Pilot[None], tabs: int = 0) -> BookPage:
    """Go to the book, so many parts further on."""
    await pilot.press("g", *["tab"] * tabs)
    await until(pilot, lambda: isinstance(pilot.app.screen, BookPage))
    page = pilot.app.screen
    assert isinstance(page, BookPage)
    await drawn(pilot)
    return page


def flat(pilot: Pilot[None]) -> str:
    """The screen's words, however they are folded."""
    return " ".join(screen_text(pilot.app).split())  # type: ignore[arg-type]


@pytest.mark.parametrize("size", SIZES)
async def test_a_car_is_weighed(season_file: Path, drive: Drive, size: tuple[int, int]) -> None:
    async with drive(season_file, size) as pilot:
        page = await open_book(pilot, WEIGHTS)
        assert "not weighed yet" in flat(pilot)
        await pilot.press("n", *"290", "enter")
        record = pilot.app.screen
        assert isinstance(record, RecordPage)
        for corner, kg in {"FR": "288", "RL": "305", "RR": "300"}.items():
            assert record.grid.path == f"weighing.{corner}.mass", "Enter goes on as on the car"
            await pilot.press(*kg, "enter")
        record.grid.go("weighing.FR.mass")
        await pilot.pause()
        assert "1183.0 kg in all" in flat(pilot)
        assert "cross (FR + RL) 50.1 %" in flat(pilot)
        assert "wheels chocked" in flat(pilot)
        record.grid.go("weighing.driver")
        await pilot.press(*"in", "enter", "escape")
        await until(pilot, lambda: pilot.app.screen is page)
        await drawn(pilot)
        assert "driver in, fuel not said" in flat(pilot)
        assert "48.9 %" in flat(pilot)
        assert "Cross FR+RL" in flat(pilot)
        [found] = page.rows
        assert found.weighing.car == page.desk.session.car
        assert found.balance.corners["FL"] == 290


async def test_read_only_the_book_names_no_key_that_writes(season_file: Path) -> None:
    write_book(season_file)
    app = Trackside(season_file, Preferences(author="tester"), read_only=True)
    async with app.run_test(size=(80, 24)) as pilot:
        page = await open_book(pilot, WEIGHTS)
        shown = [label for key, label in key_line("book", reading=True)]
        assert "Edit" in shown  # to look at it whole
        assert {"New", "Take off"}.isdisjoint(shown)
        for key in ("n", "x"):
            await pilot.press(key)
            await until(pilot, lambda: READING_ONLY in flat(pilot))
            assert app.page_name == "book"
            await pilot.press("down")
        assert len(page.rows) == 1


async def test_one_that_was_taken_off_comes_back(season_file: Path, drive: Drive) -> None:
    write_book(season_file)
    async with drive(season_file) as pilot:
        page = await open_book(pilot, WEIGHTS)
        assert len(page.rows) == 1
        await pilot.press("x")
        await until(pilot, lambda: not page.rows)
        assert "taken off" in flat(pilot)
        await pilot.press("u", "u")
        await until(pilot, lambda: len(page.rows) == 1)
        assert "2026-05-08 18:00" in flat(pilot)


async def test_the_cursor_is_on_the_entry_that_was_opened(season_file: Path, drive: Drive) -> None:
    write_book(season_file)
    write_book(season_file)
    async with drive(season_file) as pilot:
        page = await open_book(pilot, WEIGHTS)
        await pilot.press("down", "enter")
        assert isinstance(pilot.app.screen, RecordPage)
        await pilot.press("escape")
        await until(pilot, lambda: pilot.app.screen is page)
        await drawn(pilot)
        assert page.under_cursor is page.rows[1]


async def test_without_a_car_nothing_is_written(tmp_path: Path, drive: Drive) -> None:
    async with drive(tmp_path / "empty.trackside") as pilot:
        page = await open_book(pilot, WEIGHTS)
        await pilot.press("n")
        await until(pilot, lambda: "pit board enters one" in flat(pilot))
        assert pilot.app.screen is page
        assert page.desk.logbook.all("weighing") == []


@pytest.mark.parametrize("size", SIZES)
async def test_a_tyre_set_is_entered_and_picked_on_a_run(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        page = await open_book(pilot, TYRES)
        await pilot.press("n", *"Q9", "enter")
        record = pilot.app.screen
        assert isinstance(record, RecordPage)
        record.grid.go("tyre_set.laps")
        await pilot.press(*"20", "enter", "escape")
        await until(pilot, lambda: pilot.app.screen is page)
        await drawn(pilot)
        assert "set Q9: 20 laps, 0 heat cycles" in flat(pilot)
        sheet = await run_sheet_at(pilot, "tyre_set")
        await pilot.press(*"q9", "enter")
        await until(pilot, lambda: sheet.desk.session.tyre_set == "Q9")
        sheet.grid.go("tyre_set")
        await until(pilot, lambda: "20 laps, 0 heat cycles before this run" in flat(pilot))
        sheet.grid.go("tyre_age")
        await pilot.press("delete")
        await until(pilot, lambda: "20 (from the runs)" in flat(pilot))
        await pilot.press(*"31", "enter")
        sheet.grid.go("tyre_age")
        await until(pilot, lambda: "the runs come to 20: which is right?" in flat(pilot))


async def test_a_set_that_only_runs_name_is_entered_by_enter(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        page = await open_book(pilot, TYRES)
        name = page.rows[0].name
        assert page.rows[0].record is None
        assert "only runs name it" in flat(pilot)
        await pilot.press("x")
        assert "only runs name it, on their run sheets" in flat(pilot)
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, RecordPage))
        await pilot.press("escape")
        await until(pilot, lambda: pilot.app.screen is page)
        await drawn(pilot)
        assert page.under_cursor.name == name
        assert page.under_cursor.record is not None
        assert page.under_cursor.runs > 0


async def test_a_set_that_ran_keeps_its_name(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        page = await open_book(pilot, TYRES)
        await pilot.press("enter")
        record = pilot.app.screen
        assert isinstance(record, RecordPage)
        record.grid.go("tyre_set.name")
        await pilot.press(*"Z1", "enter")
        await until(pilot, lambda: "enter the other one as a new set" in flat(pilot))
        record.grid.go("tyre_set.name")
        await pilot.press("enter", "ctrl+u", *page.rows[0].name, "enter")
        assert record.trouble == {}


@pytest.mark.parametrize("size", SIZES)
async def test_the_weather_is_read_and_stands_beside_an_empty_cell(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        page = await open_book(pilot, WEATHER)
        start = page.desk.session.start
        await pilot.press("n", *"17", "enter")
        record = pilot.app.screen
        assert isinstance(record, RecordPage)
        record.grid.go("weather.at")
        at = f"{start[:10]} 13:45"
        await pilot.press("enter", "ctrl+u", *start[:10], "space")
        await pilot.press(*"13:45", "enter", "escape")
        await until(pilot, lambda: pilot.app.screen is page)
        await drawn(pilot)
        assert f"read {at} air 17 °C" in flat(pilot)
        sheet = await run_sheet_at(pilot, "air_temperature")
        typed = sheet.desk.session.air_temperature
        assert typed is not None
        await until(pilot, lambda: "at 13:45" not in flat(pilot))  # the run's own comes first
        await pilot.press("delete")
        await until(pilot, lambda: "read 17 °C at 13:45" in flat(pilot))
        assert sheet.desk.session.air_temperature is None


async def test_an_engine_counts_the_runs_since_it_went_in(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        page = await open_book(pilot, HOURS)
        day = page.desk.session.start[:10]
        await pilot.press("n", *"engine", "enter")
        record = pilot.app.screen
        assert isinstance(record, RecordPage)
        for path, text in (("start", "10"), ("limit", "10"), ("since", day)):
            record.grid.go(f"counter.{path}")
            await pilot.press("enter", "ctrl+u", *text, "enter")
        await pilot.press("escape")
        await until(pilot, lambda: pilot.app.screen is page)
        await drawn(pilot)
        assert "engine: 10" in flat(pilot)
        assert page.rows[0].runs > 0
        sheet = await run_sheet_at(pilot, "run_time")
        await pilot.press(*"30", "enter")
        await until(pilot, lambda: sheet.desk.session.si("run_time") == 1800)
        driven = page.rows[0].driven
        await pilot.press("escape")
        page = await open_book(pilot)
        await until(pilot, lambda: page.rows and page.rows[0].driven != driven)
        assert "beyond the shop's limit" in flat(pilot)


def test_what_an_empty_part_says_is_not_cut_at_80_columns() -> None:
    said = [part.empty for part in PARTS] + ["n writes the first one down."]
    assert max(map(len, said)) < 79


async def test_an_entry_tells_its_history(season_file: Path, drive: Drive) -> None:
    async with drive(season_file, (120, 40)) as pilot:
        await open_book(pilot, WEIGHTS)
        assert "n writes the first one down." in screen_text(pilot.app)  # type: ignore[arg-type]
        await pilot.press("n", *"290", "enter", "escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, BookPage))
        await until(pilot, lambda: "tester" in flat(pilot))
        assert "written down" in flat(pilot)
        assert "FL.mass: – → 290" in flat(pilot)
