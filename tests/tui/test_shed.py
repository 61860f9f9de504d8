"""The damper shed: what is told of a damper, strip-downs, and sheets from files."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from textual.widgets import Static, TextArea

from tests.tui.conftest import Drive, screen_text, until
from trackside.errors import BadSheet
from trackside.logbook.samples import samples_folder
from trackside.records import Build
from trackside.review.shed import fit_of
from trackside.tui.bench_words import sheet_drawing, sheet_lines
from trackside.tui.dampers import sheet_of
from trackside.tui.screens.record import RecordPage
from trackside.tui.screens.shed import ShedPage
from trackside.tui.widgets.ask import Ask

SIZES = [(80, 24), (120, 40)]
ASKED = {"date": "2026-11-01", "counted": "", "gas": "no"}


async def _shed(pilot, serial: str = "") -> ShedPage:  # type: ignore[no-untyped-def]
    await pilot.press("b")
    await until(pilot, lambda: isinstance(pilot.app.screen, ShedPage) and pilot.app.focused)
    page = pilot.app.screen
    await until(pilot, lambda: page.places)
    if serial:
        page.wanted = serial
        page.redraw()
        await pilot.pause()
    return page


def _words(page: ShedPage) -> str:
    return str(page.query_one("#words", Static).content)


@pytest.mark.parametrize("size", SIZES)
async def test_a_damper_is_told(season_file: Path, drive: Drive, size: tuple[int, int]) -> None:
    async with drive(season_file, size) as pilot:
        page = await _shed(pilot, "TW-2241")
        text = _words(page)
        assert text.index("Build B") < text.index("Build A")
        assert "clicks from full" in text
        assert "at 20 °C" in text
        assert "2026-10-18 RL" in screen_text(pilot.app)


@pytest.mark.parametrize("size", SIZES)
async def test_its_sheet_is_fitted_and_drawn(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    async with drive(season_file, size) as pilot:
        page = await _shed(pilot, "RP-0713")
        await pilot.press("tab")
        await until(pilot, lambda: "% rms" in _words(page))
        shed = page.desk.shed
        build = shed.build("RP-0713")
        fit = fit_of(shed.sheet(build), build)
        assert f"{fit.rebound.rms_percent:.1f} % rms" in _words(page)
        await until(pilot, lambda: "┤" in screen_text(pilot.app))
        assert "stack leaves its seat at" in _words(page)


def test_every_sample_sheet_can_be_drawn(samples) -> None:  # type: ignore[no-untyped-def]
    from trackside.preferences import Preferences
    from trackside.review.shed import Shed

    shed = Shed.of(samples)
    for sheet in shed.sheets:
        build = shed.build(sheet.damper, sheet.build)
        fit = fit_of(sheet, build)
        drawing = sheet_drawing(sheet, build, fit, 60, 16, Preferences())
        told = "\n".join(line for _, line in sheet_lines(sheet, build, fit, Preferences()))
        assert "nan" not in told
        assert "inf" not in told
        assert [len(line) for line in drawing.plain().split("\n")] == [60] * 16


async def test_a_strip_down_copies_the_build_and_forgets_the_charge(
    season_file: Path, drive: Drive
) -> None:
    async with drive(season_file) as pilot:
        page = await _shed(pilot, "RP-0713")
        old = page.desk.shed.build("RP-0713")
        await pilot.press("B")
        await until(pilot, lambda: isinstance(pilot.app.focused, TextArea))
        assert "Release all pressure before opening" in screen_text(pilot.app)
        await pilot.press(*"new seal", "escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, RecordPage))
        await until(pilot, lambda: page.desk.shed.build("RP-0713").version == "B")
        new = page.desk.shed.build("RP-0713")
        assert (new.adjusters, new.piston_diameter) == (old.adjusters, old.piston_diameter)
        assert new.gas_pressure is None
        assert new.work == "new seal"
        assert page.desk.shed.sheet(new) is None
        await pilot.press("u")
        await until(pilot, lambda: page.desk.shed.build("RP-0713").version == "A")


async def test_leaving_the_strip_down_empty_writes_nothing(season_file: Path, drive: Drive) -> None:
    async with drive(season_file) as pilot:
        page = await _shed(pilot, "RP-0713")
        await pilot.press("B")
        await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
        await pilot.press("escape")
        await pilot.pause()
        assert len(page.desk.shed.builds_of("RP-0713")) == 1
        assert page.desk.logbook.undo() == []


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("position,direction,speed_mm_s\n0,bump,50\n", "no column force_N"),
        ("", "is empty"),
        ("position,direction,speed_mm_s,force_N\n0,up,50,100\n", "line 2"),
    ],
)
def test_a_bad_file_is_told_with_its_line(tmp_path: Path, text: str, why: str) -> None:
    file = tmp_path / "bad.csv"
    file.write_text(text)
    with pytest.raises(BadSheet, match=why):
        sheet_of(Build(damper="X", version="A"), {"path": str(file), **ASKED})


@pytest.mark.parametrize("path", ["nowhere.csv", "", "/", "\x00", "~nobody-here/x.csv"])
def test_a_path_that_cannot_be_read_is_told(path: str) -> None:
    with pytest.raises(BadSheet, match="cannot be read"):
        sheet_of(Build(damper="X", version="A"), {"path": path, **ASKED})


async def test_a_sheet_that_cannot_be_fitted_is_not_taken_in(
    season_file: Path, drive: Drive, tmp_path: Path
) -> None:
    file = tmp_path / "two.csv"
    file.write_text("position,direction,speed_mm_s,force_N\n0,bump,50,100\n0,bump,100,200\n")
    async with drive(season_file) as pilot:
        page = await _shed(pilot, "RP-0713")
        many = len(page.desk.shed.sheets)
        await pilot.press("l")
        await until(pilot, lambda: isinstance(pilot.app.screen, Ask))
        pilot.app.focused.value = str(file)
        await pilot.press("enter", "enter", "enter", "enter")
        await until(pilot, lambda: "not taken in" in screen_text(pilot.app))
        assert len(page.desk.shed.sheets) == many


async def test_a_file_named_in_quotes_is_found(tmp_path: Path) -> None:
    file = tmp_path / "a sheet.csv"
    shutil.copy(samples_folder() / "dyno" / "FP-0611-A.csv", file)
    sheet = sheet_of(Build(damper="X", version="A"), {"path": f" '{file}' ", **ASKED})
    assert (sheet.damper, sheet.build, len(sheet.rows)) == ("X", "A", 100)


def test_the_bleed_alone_is_told_as_a_force(samples) -> None:  # type: ignore[no-untyped-def]
    """An orifice of coefficient b passes v at F = (v/b)² (orifice law, derived)."""
    from trackside.preferences import Preferences
    from trackside.review.shed import Shed

    shed = Shed.of(samples)
    build = shed.build("SA-3107")
    sheet = shed.sheet(build)
    fit = fit_of(sheet, build)
    bleed = next(p.value for p in fit.bump.parameters if p.name == "bleed at 9")
    lines = [line for _, line in sheet_lines(sheet, build, fit, Preferences())]
    told = next(line for line in lines if line.startswith(" bleed at 9: "))
    assert told.startswith(f" bleed at 9: {(0.05 / bleed) ** 2:.0f} N (")
    assert told.endswith("alone at 50 mm/s")
