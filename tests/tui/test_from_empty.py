"""From an empty logbook to curves, with keys alone: event, car, damper, dyno sheet, session."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from tests.tui.conftest import Drive, screen_text, until
from trackside.analysis.estimate import estimate
from trackside.logbook.samples import samples_folder
from trackside.preferences import Preferences
from trackside.tui.app import Trackside, build
from trackside.tui.screens.record import RecordPage
from trackside.tui.screens.shed import ShedPage
from trackside.tui.screens.sheet import Sheet

SIZES = [(80, 24), (120, 40)]


async def _on(pilot: Pilot[None], kind: type) -> None:
    await until(pilot, lambda: isinstance(pilot.app.screen, kind) and pilot.app.focused)
    await pilot.pause()


async def _cell(pilot: Pilot[None], key: str, text: str) -> None:
    """Go to the cell by keys of the page, type, Enter."""
    page = pilot.app.screen
    for _ in range(4):
        if key in page.grid.paths:
            break
        await pilot.press("tab")
    page.grid.go(key)
    await pilot.press("enter", *text, "enter")
    await pilot.pause()


@pytest.mark.parametrize("key", ["b", "a"])
async def test_nothing_is_called_empty_before_it_is_read(
    season_file: Path, monkeypatch: pytest.MonkeyPatch, key: str
) -> None:
    monkeypatch.setattr(Trackside, "_read_shed", lambda *_: None)
    app = build(season_file, Preferences(author="tester"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("b")
        await until(pilot, lambda: app.page_name != "board" and app.focused)
        if key == "a":
            app.screen.action_note()  # type: ignore[attr-defined]
        await pilot.pause()
        shown = screen_text(app)
        assert "reading the" in shown
        assert "No dampers yet" not in shown
        assert "no session yet" not in shown


@pytest.mark.parametrize("size", SIZES)
async def test_a_crew_starts_from_nothing(
    tmp_path: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(tmp_path / "new.trackside", size) as pilot:
        app = pilot.app
        assert "The logbook is empty" in screen_text(app)

        await pilot.press("e")
        await _on(pilot, RecordPage)
        await until(pilot, lambda: app.screen.grid.buffer is not None)
        await pilot.press(*"Hollin Ring", "enter", "escape")
        await until(pilot, lambda: "Hollin Ring" in screen_text(app))

        await pilot.press("v")
        await _on(pilot, RecordPage)
        await until(pilot, lambda: app.screen.grid.buffer is not None)
        await pilot.press(*"Wedge", "enter")
        await _cell(pilot, "car.FL.motion_ratio", "0,8")
        await _cell(pilot, "car.FL.mass", "660 lb")
        await pilot.press("escape")

        await pilot.press("b")
        await _on(pilot, ShedPage)
        await pilot.press("n")
        await until(pilot, lambda: isinstance(app.focused, Input))
        await pilot.press(*"X-1", "enter")
        await _on(pilot, RecordPage)
        await _cell(pilot, "build.gas_pressure", "12")
        app.screen.grid.go("build.gas_pressure")
        await until(pilot, lambda: "regulator" in screen_text(app))
        for name in ("bump", "rebound"):
            await _cell(pilot, f"build.adjusters.{name}_bleed.clicks", "20")
            await _cell(pilot, f"build.adjusters.{name}_bleed.counted_from", "hard")
        await pilot.press("escape")
        await _on(pilot, ShedPage)
        await until(pilot, lambda: app.desk.shed.build("X-1").bleed_adjuster("rebound"))

        await pilot.press("l")
        await until(pilot, lambda: isinstance(app.focused, Input))
        app.focused.value = str(samples_folder() / "dyno" / "FP-0611-A.csv")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: app.desk.shed.sheets)

        await pilot.press("p")
        await pilot.pause()
        await pilot.press("n")
        await _on(pilot, Sheet)
        sheet = app.screen
        for path, text in (("FL.damper", "X-1"), ("FL.rebound_bleed", "7")):
            sheet.grid.go(path)
            await pilot.press("enter", *text, "enter")
            await pilot.pause()
        desk = app.desk
        line = desk.line()
        assert (line.venue, line.car_name) == ("Hollin Ring", "Wedge")
        found = estimate(desk.session, "FL", "rebound", desk.shed, [0.1])
        assert str(found.basis) == "between clicks"
        await until(pilot, lambda: "rebound 7 of 20 from full hard" in screen_text(app))
        car = desk.shed.cars[line.car].FL
        assert car.motion_ratio == 0.8
        # pound: 0.45359237 kg by definition
        assert car.mass == pytest.approx(660 * 0.45359237, rel=1e-12)
