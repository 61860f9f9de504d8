"""A key writes run sheet and debrief to be printed: whole, named, never over another file."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from tests.tui.walking import drawn
from trackside.errors import LogbookError
from trackside.logbook import Logbook, patch
from trackside.preferences import PAPERS, Preferences, data_folder
from trackside.reports import html
from trackside.reports.printing import file_name, write_new
from trackside.tui.app import Trackside


def _files() -> list[str]:
    folder = data_folder() / "paper"
    return sorted(file.name for file in folder.iterdir()) if folder.exists() else []


def test_the_papers_of_the_preferences_are_those_that_are_printed() -> None:
    assert set(PAPERS) == set(html.PAPERS)


@pytest.mark.parametrize("key", ["r", "d"])
async def test_the_page_is_written_and_its_place_told(
    season_file: Path, drive: Drive, key: str
) -> None:
    async with drive(season_file) as pilot:
        await pilot.press(key)
        await drawn(pilot)
        page, desk = pilot.app.screen, pilot.app.desk
        await pilot.press("P")
        await until(pilot, lambda: len(_files()) == 1)
        await until(pilot, lambda: "open in a browser and print: " in screen_text(pilot.app))
        assert pilot.app.screen is page
        await pilot.press("P", "P")
        await until(pilot, lambda: len(_files()) == 3)
    kind = {"r": "run-sheet", "d": "debrief"}[key]
    line = desk.session.start[:10]
    assert all(name.startswith(line) and kind in name for name in _files())
    assert _files()[0].endswith("-2.html")
    text = (data_folder() / "paper" / _files()[-1]).read_text("utf-8")
    assert text.startswith("<!doctype html>")
    assert text.rstrip().endswith("</html>")
    assert "size: A4" in text


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
@pytest.mark.parametrize("key", ["P", "Y"])
async def test_where_the_file_is_can_be_read_to_its_end(
    season_file: Path,
    drive: Drive,
    key: str,
    size: tuple[int, int],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:
    long = tmp_path / "a-folder-with-a-rather-long-name" / ("and-one-more-" * 5).rstrip("-")
    monkeypatch.setenv("TRACKSIDE_DATA", str(long))
    async with drive(season_file, size) as pilot:
        await pilot.press("r")
        await drawn(pilot)
        await pilot.press(key)
        folder = data_folder() / ("paper" if key == "P" else "copied")
        await until(pilot, lambda: folder.is_dir() and any(folder.iterdir()))
        (file,) = folder.iterdir()

        def shown() -> bool:
            return str(file) in "".join(map(str.strip, screen_text(pilot.app).split("\n")))

        await until(pilot, shown)
        assert "…" not in str(pilot.app.screen.query_one("#detail").render())


async def test_what_is_half_typed_stands_on_the_paper_in_the_paper_size_of_the_crew(
    season_file: Path,
) -> None:
    app = Trackside(season_file, Preferences(author="tester", paper="letter"))
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        await run_sheet_at(pilot, "FL.gas_pressure")
        await pilot.press(*"9.87")
        await pilot.press("enter", "P")
        await until(pilot, _files)
        await until(pilot, lambda: "print:" in screen_text(app))
    text = (data_folder() / "paper" / _files()[0]).read_text("utf-8")
    assert "size: letter" in text
    assert "9.87 bar" in text


async def test_a_hostile_kind_leads_nowhere_else(season_file: Path, drive: Drive) -> None:
    with Logbook.open(season_file, author="tester") as logbook:
        entity = logbook.session_lines(limit=1)[0].entity
        logbook.write(patch("session", entity, {"kind": "../../<b>[/ " + "x" * 5000}))
    async with drive(season_file) as pilot:
        await pilot.press("d")
        await drawn(pilot)
        await pilot.press("P")
        await until(pilot, _files)
        await until(pilot, lambda: "print:" in screen_text(pilot.app))
    assert len(_files()) == 1


async def test_a_folder_that_cannot_be_made_is_said(season_file: Path, drive: Drive) -> None:
    data_folder().mkdir(parents=True, exist_ok=True)
    (data_folder() / "paper").write_text("in the way", "utf-8")
    async with drive(season_file) as pilot:
        await pilot.press("d")
        await drawn(pilot)
        await pilot.press("P")
        # folded where the folder's name is long
        await until(pilot, lambda: "cannot be written" in " ".join(screen_text(pilot.app).split()))
    assert (data_folder() / "paper").read_text("utf-8") == "in the way"


async def test_without_a_session_nothing_is_written(tmp_path: Path, drive: Drive) -> None:
    async with drive(tmp_path / "empty.trackside") as pilot:
        await pilot.press("d", "P")
        await pilot.pause()
        assert "no session yet" in screen_text(pilot.app)
    assert _files() == []


async def test_before_the_dyno_sheets_are_read_it_says_so(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("d")
        await drawn(pilot)
        pilot.app.desk.shed = None
        await pilot.press("P")
        await pilot.pause()
        assert "still being read" in screen_text(pilot.app)
    assert _files() == []


async def test_where_it_is_only_read_nothing_is_written(season_file: Path) -> None:
    app = Trackside(season_file, Preferences(author="tester"), read_only=True)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        await pilot.press("d", "P")
        await pilot.pause()
        assert "read-only: nothing can be changed" in screen_text(app)
    assert _files() == []


@pytest.mark.parametrize(
    ("words", "name"),
    [("a/b", "a-b"), ("../..", ""), ("race 2 ", "race-2"), ("Größe 🏁", "Größe"), ("con:", "con")],
)
def test_a_name_is_of_letters_and_digits(words: str, name: str) -> None:
    assert file_name(words) == name


def test_nothing_half_written_is_left(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: int) -> None:
        raise OSError(28, os.strerror(28))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(LogbookError, match="No space left"):
        write_new(tmp_path, "sheet", "text")
    assert list(tmp_path.iterdir()) == []


async def test_a_run_to_be_set_is_printed_with_what_to_do(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("r")
        await drawn(pilot)
        pilot.app.desk.new_session()
        await pilot.press("P")
        await until(pilot, lambda: len(_files()) == 2)
        await until(pilot, lambda: "what to do" in " ".join(screen_text(pilot.app).split()))
    run_sheet, to_do = sorted(_files(), key=lambda name: "to-do" in name)
    assert "run-sheet" in run_sheet
    text = (data_folder() / "paper" / to_do).read_text("utf-8")
    assert "<h1><bdi" in text
    assert "To do: " in text
