"""The strip-down of a damper as a job, from the shed: planned, ticked, its figures typed."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from textual.pilot import Pilot

from tests.crew.test_forecasts import plan_on_hard
from tests.tui.conftest import Drive, run_sheet_at, screen_text, settled, until
from trackside.crew.strip_downs import StripDowns
from trackside.logbook import Logbook
from trackside.logbook.dampers import builds_of
from trackside.preferences import Preferences
from trackside.tui.app import Trackside
from trackside.tui.screens.strip_down import StripDownSteps


@pytest.fixture
def season_file(runs_alone_log: Path, tmp_path: Path) -> Path:
    """A copy of the sample season of one's own, nothing beside its runs."""
    return Path(shutil.copy(runs_alone_log, tmp_path / "season.trackside"))


SERIAL = "FP-0611"


def _text(pilot: Pilot[None]) -> str:
    return " ".join(screen_text(pilot.app).split())  # type: ignore[arg-type]


async def _steps(pilot: Pilot[None]) -> StripDownSteps:
    await until(pilot, lambda: isinstance(pilot.app.screen, StripDownSteps))
    await settled(pilot)
    box = pilot.app.screen
    assert isinstance(box, StripDownSteps)
    return box


async def _plan(pilot: Pilot[None], how: str = "plan") -> StripDownSteps:
    await pilot.press("b")
    await until(pilot, lambda: SERIAL in _text(pilot))
    await pilot.press("home", "B")
    await until(pilot, lambda: f"Strip-down of {SERIAL}" in _text(pilot))
    await pilot.press(*"softer", "tab", *how, "ctrl+s")
    return await _steps(pilot)


async def _tick(pilot: Pilot[None], box: StripDownSteps, times: int = 1) -> None:
    for _ in range(times):
        done = len(box.job.record.done)
        await pilot.press("enter")
        await until(pilot, lambda d=done: len(box.job.record.done) > d and not box.coming)


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_a_strip_down_is_planned_and_worked_through(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        before = len(builds_of(app.desk.logbook, SERIAL))
        box = await _plan(pilot)
        assert "planned, 0 of 9" in _text(pilot)
        assert "Release all gas first" in _text(pilot)
        assert len(builds_of(app.desk.logbook, SERIAL)) == before
        await _tick(pilot, box, 2)
        assert "☑ Taken apart" in _text(pilot)
        await _tick(pilot, box)
        assert len(builds_of(app.desk.logbook, SERIAL)) == before + 1
        assert "build B begun" in _text(pilot)
        assert "maker's torque" in _text(pilot)
        await pilot.press("down", "down", "v")
        await until(pilot, lambda: "Charged to" in _text(pilot))
        await pilot.press(*"14", "enter", *"22", "enter")
        await until(pilot, lambda: StripDowns(app.desk.logbook).of(SERIAL)[0].record.charge_at)
        await pilot.press("escape")
        await until(pilot, lambda: "DAMPER SHED" in _text(pilot))
        await pilot.press("B")
        box = await _steps(pilot)
        await _tick(pilot, box, 6)
        assert "13.89 bar at 20 °C" in _text(pilot) or size[0] < 80
        assert builds_of(app.desk.logbook, SERIAL)[-1][1]["gas_pressure"] == pytest.approx(
            1.389e6, rel=1e-3
        )
        assert box.job.stage == "fitted"
        await pilot.press("escape")
        await until(pilot, lambda: "DAMPER SHED" in _text(pilot))


async def test_the_shed_says_which_job_is_in_hand_and_u_takes_a_tick_back(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file, (120, 40)) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        box = await _plan(pilot, "reseal")
        await _tick(pilot, box)
        await pilot.press("escape")
        await until(pilot, lambda: "strip-down on the bench, 1 of 9 steps done" in _text(pilot))
        await pilot.press("u", "u")
        await until(pilot, lambda: not StripDowns(app.desk.logbook).of(SERIAL)[0].record.done)


async def test_new_seals_are_said_beside_the_sheet_that_never_felt_them(
    season_file: Path, drive: Drive
) -> None:
    with Logbook.open(season_file, author="Otto", device="other") as logbook:
        jobs = StripDowns(logbook)
        logbook.write(jobs.planned(SERIAL, "new seals", reseal=True))
        for step in ("gas_out", "opened", "goes_in"):
            logbook.write(*jobs.turned(jobs.of(SERIAL)[0], step, True))
    async with drive(season_file, (120, 40)) as pilot:
        await pilot.press("b")
        await until(pilot, lambda: "was run with the old seals" in _text(pilot))


async def test_steps_are_added_reworded_and_taken_away(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        box = await _plan(pilot)
        await pilot.press("a", *"Shaft", "ctrl+s")
        await until(pilot, lambda: "□ Shaft" in _text(pilot))
        assert box.job.record.steps[box.job.record.in_order[1]] == "Shaft"
        await until(pilot, lambda: pilot.app.screen is box)
        await pilot.press("down", "e", *" straight", "ctrl+s")
        await until(pilot, lambda: "□ Shaft straight" in _text(pilot))
        await until(pilot, lambda: pilot.app.screen is box)
        await pilot.press("x")
        await until(pilot, lambda: "taken away: Shaft straight" in _text(pilot) and not box.coming)
        assert len(box.job.record.steps) == 9


async def test_a_job_with_steps_open_asks_before_it_is_closed(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        box = await _plan(pilot)
        await pilot.press("c")
        await until(pilot, lambda: "9 steps are open" in _text(pilot))
        await pilot.press(*"no", "ctrl+s")
        await until(pilot, lambda: pilot.app.screen is box)
        assert box.job.is_open
        await pilot.press("c")
        await until(pilot, lambda: "9 steps are open" in _text(pilot))
        await pilot.press(*"yes", "ctrl+s")
        await until(pilot, lambda: not box.job.is_open)


async def test_its_card_is_a_page_to_be_printed(
    season_file: Path, drive: Drive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TRACKSIDE_DATA", str(tmp_path / "data"))
    async with drive(season_file) as pilot:
        await _plan(pilot)
        await pilot.press("P")
        await until(pilot, lambda: "open in a browser and print" in _text(pilot))
    [card] = (tmp_path / "data" / "paper").glob("*strip-down*.html")
    assert "Gas read and released" in card.read_text("utf-8")


async def test_a_logbook_that_is_only_read_opens_no_job(
    season_file: Path,
) -> None:
    with Logbook.open(season_file, author="Otto", device="other") as logbook:
        logbook.write(StripDowns(logbook).planned(SERIAL, "x"))
    app = Trackside(season_file, Preferences(author="tester"), read_only=True)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.desk.shed is not None)
        await pilot.press("b")
        await until(pilot, lambda: SERIAL in _text(pilot))
        await pilot.press("home", "B")
        await pilot.pause(0.2)
        assert not isinstance(app.screen, StripDownSteps)
        assert "only" in _text(pilot)


async def test_a_scan_in_the_damper_cell_picks_the_damper(season_file: Path, drive: Drive) -> None:
    """A hand reader types the code of a label and Enter, faster than any hand."""
    serial = "FP-0625"
    async with drive(season_file) as pilot:
        await run_sheet_at(pilot, "FL.damper")
        await pilot.press(*serial, "enter")
        desk = pilot.app.desk  # type: ignore[attr-defined]
        await until(pilot, lambda: desk.session.FL.damper == serial)


async def test_a_planned_build_is_forecast_and_the_forecast_kept(
    tmp_path: Path, drive: Drive
) -> None:
    file = tmp_path / "hard.trackside"
    with Logbook.open(file, author="Mara", device="d") as logbook:
        plan_on_hard(logbook)
    async with drive(file) as pilot:
        app = pilot.app
        assert isinstance(app, Trackside)
        await pilot.press("b")
        await until(pilot, lambda: "DAMPER SHED" in _text(pilot))
        await pilot.press("B")
        box = await _steps(pilot)
        assert "planned, rebound: stack" in _text(pilot)
        await pilot.press("f")
        await until(pilot, lambda: "Forecast of build B: bump" in _text(pilot))
        await pilot.press("k")
        await until(pilot, lambda: "the bench run is compared with it" in _text(pilot))
        await pilot.press("escape")
        await until(pilot, lambda: app.screen is box)
        await until(pilot, lambda: box.job.record.forecast is not None)
        await until(pilot, lambda: "a forecast of build B was kept" in _text(pilot))
        assert len(box.job.record.forecasts) == 1


async def test_closing_the_damper_up_keeps_its_forecast(tmp_path: Path, drive: Drive) -> None:
    file = tmp_path / "hard.trackside"
    with Logbook.open(file, author="Mara", device="d") as logbook:
        plan_on_hard(logbook)
    async with drive(file) as pilot:
        await pilot.press("b")
        await until(pilot, lambda: "DAMPER SHED" in _text(pilot))
        await pilot.press("B")
        box = await _steps(pilot)
        await _tick(pilot, box, 5)
        await until(pilot, lambda: box.job.record.forecast is not None)
        assert "its forecast is kept" in _text(pilot)
