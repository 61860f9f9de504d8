"""What cannot be right on a run sheet: marked at its cell, told in full, left as it was typed.

The limits behind the marks are our own, no source; an adjuster's clicks are the samples'.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from textual import events
from textual.widgets import Static

from tests.tui.conftest import Drive, run_sheet_at, screen_text, until
from tests.tui.walking import drawn
from trackside.reports import cautions
from trackside.tui.page import Page
from trackside.tui.screens.sheet import Sheet

SIZES = [(80, 24), (120, 40)]
SLIPS = {
    "FL.tread_inner": ("88 psi", "FL Inner: “psi” is not a unit of temperature: use °C, °F, K."),
    "FR.cold_pressure": ("2.9", "FR Cold: the cold pressure is above the hot one: swapped?"),
    "RL.hot_pressure": (
        "300 psi",
        "RL Hot: 300.0 psi is outside 4.4 to 72.5 psi: right unit, right field?",
    ),
    "FL.bump_bleed": (
        "-1",
        "FL Bump: the bump adjuster has 20 clicks from full hard; -1 is beyond them",
    ),
    "FL.rebound_bleed": (
        "27",
        "FL Rebound: the rebound adjuster has 20 clicks from full hard; 27 is beyond them",
    ),
    "FL.bump_preload": (
        "12.5",
        "FL Bump prel.: the bump preload adjuster has 6 clicks from full soft; 12.5 is beyond them",
    ),
    "RR.damper": (
        "RP-0713-long",
        "RR Damper: RP-0713-long is not in the damper shed: a new damper, or a typo?",
    ),
    "RR.gas_pressure": (
        "full of nitrogen, up to what the gauge can still show",
        "RR Gas: “full of nitrogen, up to what the gauge can still show” is not a number: type it "
        "like 12.5 or 12,5.",
    ),
}
"""The cell → what is typed into it, and the sentence that is told there; the cell's caution follows
where the panel beside it does not show one at length."""


def _row_of(sheet: Sheet, path: str) -> str:
    """The line of cells on which that value stands, its own block only."""
    grid = sheet.grid
    cell = grid.cell(path)
    assert cell is not None
    line = grid.places.line_of[path] - grid._top
    text = grid.render_line(line).text
    width = grid._block_width() + grid.gap
    start = grid.places.column_of(cell) * width
    return text[start : start + width - grid.gap]


@pytest.mark.parametrize("size", SIZES)
async def test_a_slip_is_marked_told_in_full_and_left_as_it_is(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        for path, (typed, told) in SLIPS.items():
            sheet = await run_sheet_at(pilot, path)
            pilot.app.post_message(events.Paste(typed))
            await pilot.press("enter")
            if sheet.grid.picking:  # a new serial is asked about
                await pilot.press("enter")
            sheet.grid.go(path)
            await until(pilot, lambda desk=sheet.desk: desk.is_settled)  # the mark of a save goes
            await pilot.pause()
            row = _row_of(sheet, path)
            assert row.endswith("!"), path
            assert typed[:8] in row
            value = sheet.desk.session.value(path)
            assert getattr(value, "typed", value) == typed
            detail = sheet.query_one("#detail", Static)
            lines = screen_text(pilot.app).split("\n")[detail.region.y : detail.region.bottom]
            there = cautions.on_run_sheet(path)
            beside = [] if cautions.page(there) else [one.short for one in there]
            words = " · ".join([told, *beside])
            assert " ".join(line.strip() for line in lines) == words


@pytest.mark.parametrize("size", [SIZES[0], pytest.param(SIZES[1], marks=pytest.mark.long)])
async def test_a_long_problem_is_told_in_full_on_every_page(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    words = " ".join(f"word{number}" for number in range(20))  # 129 letters
    async with drive(season_file, size) as pilot:
        for name in ("board", "sheet", "clicks", "trend", "debrief", "shelf", "shed"):
            pilot.app.action_page(name)  # type: ignore[attr-defined]
            await drawn(pilot)
            page = pilot.app.screen
            assert isinstance(page, Page)
            for kind, rows in (("error", 2), ("", 1)):
                page.say(words, kind)
                await pilot.pause()
                text = screen_text(pilot.app)
                assert page.query_one("#detail").size.height == rows, name
                assert ("word19" in text) == (kind == "error"), name
                assert "Quit" in text.split("\n")[-1], name


async def test_a_lap_time_that_cannot_be_right_is_marked(season_file: Path, drive: Drive) -> None:
    """Five laps typed where lap times go read as five seconds."""
    async with drive(season_file) as pilot:
        await pilot.press("n")
        for typed, told in (
            ("5", "lap 1: 0:05.000 s is outside 0:10.000 to 30:00.000 s: right unit, right field?"),
            ("1:35.2 soon", "lap 2, “soon”, is no lap time: type it like 1:35.2"),
        ):
            sheet = await run_sheet_at(pilot, "lap_times")
            pilot.app.post_message(events.Paste(typed))
            await pilot.press("enter")
            sheet.grid.go("lap_times")
            await pilot.pause()
            sheet.desk.flush()
            assert _row_of(sheet, "lap_times").endswith("!")
            assert told in " ".join(screen_text(pilot.app).split())
        sheet.grid.edit("")
        pilot.app.post_message(events.Paste("1:35.2 1:34.9"))
        await pilot.press("enter")
        sheet.desk.flush()
        assert not _row_of(sheet, "lap_times").endswith("!")


async def test_lines_pasted_from_a_timing_sheet_are_laps(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        await pilot.press("n")
        for pasted, laps in (
            ("1\t1:52,4\r\n2\t1:35,2\r\n3\t1:34,9\r\n", (112.4, 95.2, 94.9)),
            ("1:52.4 out\n1:35.2\nin", ("1:52.4 out", 95.2, "in")),
            ("Lap;Lap time\n1;1:36,0\n", (96.0,)),
        ):
            sheet = await run_sheet_at(pilot, "lap_times")
            sheet.grid.edit("")
            pilot.app.post_message(events.Paste(pasted))
            await pilot.press("enter")
            sheet.desk.flush()
            assert sheet.desk.session.lap_times == laps
