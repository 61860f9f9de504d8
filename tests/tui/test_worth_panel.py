"""The panel beside the cells: its words stand whole at every size."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Static

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from tests.tui.walking import drawn
from trackside.charts import MARKERS
from trackside.records.fields import CORNERS
from trackside.tui.widgets.worth import Worth

SIZES = [(80, 24), (120, 40)]
every_size = pytest.mark.parametrize("size", SIZES, ids=str)


def _panel(pilot: Pilot[None]) -> list[str]:
    """What the screen shows of the panel, line by line."""
    region = pilot.app.screen.query_one(Worth).region
    lines = screen_text(pilot.app).split("\n")  # type: ignore[arg-type]
    return [line[region.x : region.right].strip() for line in lines[region.y : region.bottom]]


@every_size
async def test_a_large_step_is_cautioned_above_the_title_of_its_chart(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        await run_sheet_at(pilot, "FL.rebound_bleed")
        await pilot.press("n")
        await run_sheet_at(pilot, "FL.rebound_bleed")
        await pilot.press(*"hhhhh")
        await until(pilot, lambda: "! large step: cautious out-lap" in _panel(pilot))
        panel = _panel(pilot)
        title = panel.index("! large step: cautious out-lap") + 1
        assert panel[title] == "change since the session before"
        assert panel[title + 1].endswith(f"{MARKERS['after']} as in the table")
        head = next(n for n, line in enumerate(panel) if line.startswith("since session"))
        assert panel[head].split("  ") == ["since session", "one click"]
        assert panel[head + 1].split() == ["mm/s", "N", "±", "before", "harder"]
        for line in panel[head + 2 : head + 6]:
            assert line.endswith("%"), "per cent at that speed"


@every_size
@pytest.mark.parametrize("known", [False, True])
async def test_an_unknown_change_is_cautioned_to_the_last_letter(
    season_file: Path, drive: Drive, size: tuple[int, int], known: bool
) -> None:
    """`known`: the force is, and the one of the session before is not."""
    async with drive(season_file, size) as pilot:
        desk = (await run_sheet_at(pilot, "FL.rebound_bleed")).desk
        if known:
            desk.keep("FL.rebound_bleed", None)
        earlier = desk.entity
        await pilot.press("n")
        await until(pilot, lambda: desk.entity != earlier)
        await run_sheet_at(pilot, "FL.rebound_bleed")
        await pilot.press(*(["7", "enter", "up"] if known else ["delete"]))
        await drawn(pilot)
        panel = _panel(pilot)
        assert ("no estimate" in panel) is not known
        assert "! unknown change: cautious out-lap" in " ".join(panel)


@every_size
async def test_nothing_in_the_panel_is_cut(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    """The warm-up has both ways of counting, and preload knobs that no bench run varied."""
    async with drive(season_file, size) as pilot:
        await pilot.press("home", "down", "down", "down", "enter")
        sheet = await run_sheet_at(pilot, "FL.damper")
        told = []
        for corner in CORNERS:
            for knob in ("bump_bleed", "rebound_bleed"):
                sheet.grid.go(f"{corner}.{knob}")
                await drawn(pilot)
                panel = _panel(pilot)
                assert panel[0].startswith(f"{corner} {knob.partition('_')[0]}")
                assert not [line for line in panel if "…" in line], (corner, knob)
                told += panel
        assert any("preload not measured: left out" in line for line in told)
        assert str(sheet.query_one("#detail", Static).render()).startswith("RR Rebound")
        for times, said in (
            ("", "no lap times yet"),
            ("out 95.1 94.2 121 94.9 133", "slow not drawn"),
        ):
            sheet.desk.keep_text("lap_times", times)
            await run_sheet_at(pilot, "FL.cold_pressure")
            await run_sheet_at(pilot, "FL.hot_pressure")
            await drawn(pilot)
            panel = _panel(pilot)
            assert said in " ".join(panel)
            assert not [line for line in panel if "…" in line], said


async def test_left_on_the_tyres_by_way_of_the_form_it_comes_back_with_the_force(
    season_file: Path, drive: Drive
) -> None:
    """Beside the form the panel is hidden; the part on which the sheet opens again is another."""
    async with drive(season_file) as pilot:
        sheet = await run_sheet_at(pilot, "FL.tread_inner")
        await until(pilot, lambda: "out mid  in" in "\n".join(_panel(pilot)))
        await pilot.press("tab")
        await until(pilot, lambda: sheet.part == "session")
        await pilot.press("escape", "p")
        await until(pilot, lambda: pilot.app.screen is not sheet)
        await pilot.press("r")
        await until(pilot, lambda: pilot.app.screen is sheet and sheet.part == "damper")
        await until(pilot, lambda: _panel(pilot)[0].startswith("FL bump"))
