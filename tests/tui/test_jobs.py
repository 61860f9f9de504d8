"""The job list over pit board, run sheet and debrief: added, ticked and taken away with a key."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from textual.pilot import Pilot

from tests.tui.conftest import Drive, screen_text, settled, until
from trackside.logbook import Logbook, put
from trackside.preferences import Preferences
from trackside.tui.app import Trackside
from trackside.tui.screens.jobs import JobList
from trackside.tui.screens.sheet import Sheet
from trackside.tui.widgets.ask import Ask


@pytest.fixture
def season_file(runs_alone_log: Path, tmp_path: Path) -> Path:
    """A copy of the sample season of one's own, nothing beside its runs."""
    return Path(shutil.copy(runs_alone_log, tmp_path / "season.trackside"))


SIZES = [(60, 20), (80, 24), (120, 40)]


def _text(pilot: Pilot[None]) -> str:
    return " ".join(screen_text(pilot.app).split())  # type: ignore[arg-type]


def _with_jobs(file: Path, *words: str) -> list[str]:
    """Jobs of the newest session's car, written down for it."""
    with Logbook.open(file, author="Otto", device="other") as logbook:
        line = logbook.session_lines(limit=1)[0]
        body = {"car": line.car, "session": line.entity}
        writes = [put("job", {**body, "words": one}) for one in words]
        logbook.write(*writes)
    return [write.entity for write in writes]


async def _list(pilot: Pilot[None]) -> JobList:
    await until(pilot, lambda: isinstance(pilot.app.screen, JobList))
    await settled(pilot)
    box = pilot.app.screen
    assert isinstance(box, JobList)
    return box


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("keys", [(), ("r",), ("d",)])
async def test_a_job_is_added_and_ticked_from_every_page_of_a_session(
    season_file: Path, drive: Drive, size: tuple[int, int], keys: tuple[str, ...]
) -> None:
    async with drive(season_file, size) as pilot:
        await pilot.press(*keys, "home", "down") if not keys else await pilot.press(*keys)
        desk = pilot.app.desk  # type: ignore[attr-defined]
        await pilot.press("o")
        box = await _list(pilot)
        assert "No job yet" in _text(pilot)
        await pilot.press("a", *"Pads", "enter", "J", "o", "ctrl+s")
        await until(pilot, lambda: "added: Pads" in _text(pilot))
        assert "□ Pads: Jo" in _text(pilot)
        [job] = desk.jobs.all()
        assert job.record.session == desk.logbook.session_lines(limit=1)[0].entity
        await pilot.press("enter")
        await until(pilot, lambda: "☑ Pads: Jo" in _text(pilot) and not box.coming)
        await pilot.press("escape")
        await until(pilot, lambda: pilot.app.screen is not box)
        await until(pilot, lambda: "done: Pads" in _text(pilot))
        await pilot.press("u", "u")
        await until(pilot, lambda: desk.jobs.all()[0].is_open)


async def test_pit_board_and_run_sheet_count_what_is_to_do(season_file: Path, drive: Drive) -> None:
    _with_jobs(season_file, "Pads", "Hub")
    async with drive(season_file) as pilot:
        await until(pilot, lambda: "2 jobs to do: Coupé 2. o lists them." in _text(pilot))
        await pilot.press("r")
        await until(pilot, lambda: "Race 1 · 2 jobs to do · Coupé" in _text(pilot))
        await pilot.press("o")
        await _list(pilot)
        await pilot.press("enter", "enter", "escape")
        await until(pilot, lambda: "jobs to do" not in _text(pilot))
        await pilot.press("n")
        await until(pilot, lambda: "Race 2, to set" in _text(pilot))


async def test_another_car_is_chosen_and_words_are_changed(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("o", "a", *"Hub", "enter", "enter", "ctrl+u", *"Tour", "enter")
        await until(pilot, lambda: "Tourer □ Hub" in _text(pilot).replace("  ", " "))
        await _list(pilot)
        await pilot.press("e")
        await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
        await pilot.press(*" RL", "ctrl+s")
        await until(pilot, lambda: "job changed" in _text(pilot))
        await until(pilot, lambda: "words: Hub → Hub RL" in _text(pilot))
        [job] = pilot.app.desk.jobs.all()  # type: ignore[attr-defined]
        assert job.line is not None
        assert (job.car_name, job.line.car_name) == ("Tourer", "Tourer")


async def test_taken_away_and_brought_back(season_file: Path, drive: Drive) -> None:
    _with_jobs(season_file, "Pads [/", "Hub")
    async with drive(season_file) as pilot:
        await pilot.press("o")
        box = await _list(pilot)
        await pilot.press("x")
        await until(pilot, lambda: "taken away: Pads [/" in _text(pilot) and not box.coming)
        assert len(box.rows) == 1
        await pilot.press("escape", "u", "u")
        desk = pilot.app.desk  # type: ignore[attr-defined]
        await until(pilot, lambda: len(desk.jobs.all()) == 2)


async def test_read_only_nothing_is_changed(season_file: Path) -> None:
    _with_jobs(season_file, "Pads")
    app = Trackside(season_file, Preferences(author="tester"), read_only=True)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        for key in ("o", "a", "e", "x", "enter"):
            await pilot.press(key)
        assert isinstance(app.screen, JobList)
        assert "read-only" in _text(pilot)
        assert [job.is_open for job in app.desk.jobs.all()] == [True]


async def test_help_tells_the_keys_of_the_list_and_comes_back_to_it(
    season_file: Path, drive: Drive
) -> None:
    _with_jobs(season_file, "Pads")
    async with drive(season_file) as pilot:
        await pilot.press("r", "o")
        box = await _list(pilot)
        assert "JOBS Coupé 64 · 1 job to do" in _text(pilot), "whose list it is"
        await pilot.press("question_mark")
        assert "tick the job, or open it again" in _text(pilot)
        await pilot.press("question_mark")
        assert pilot.app.screen is box


async def test_help_tells_the_keys_of_the_verdicts(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("r", "j")
        await pilot.press("question_mark")
        assert "edit the note or the reason" in _text(pilot)
        await pilot.press("escape", "escape")
        assert isinstance(pilot.app.screen, Sheet)
