"""Loops told and drawn: their area against closed forms, every size, every key press."""

from pathlib import Path

import numpy as np
import pytest
from textual.widgets import Static

from tests.tui.conftest import Drive, screen_text, until
from trackside.logbook import Logbook, patch
from trackside.preferences import Preferences
from trackside.records import DynoRow, DynoSheet, Loop
from trackside.reports.loops import NO_LOOPS, energy, loop_drawing, loop_lines, loops_at
from trackside.tui.screens.shed import ShedPage

TURN = np.linspace(0, 2 * np.pi, 100, endpoint=False)


def ellipse(position: float, speed: float, start: int = 0) -> Loop:
    """Of a linear damper: 25 mm either way, 1000 N at 0.5 m/s."""
    angle = np.roll(TURN, start)
    return Loop(
        position=position,
        speed=speed,
        displacement=tuple(0.025 * np.sin(angle)),
        force=tuple(200 + 2000 * speed * np.cos(angle)),
    )


def sheet(*positions: float) -> DynoSheet:
    loops = tuple(ellipse(p, v) for p in positions for v in (0.5, 0.1, 0.3))
    return DynoSheet(rows=(DynoRow(4, "bump", 0.1, 300.0),), date="2026-05-01", loops=loops)


@pytest.mark.parametrize("start", [0, 17, 60])
def test_energy_of_a_linear_damper(start: int) -> None:
    # E = π·F·X, the area of the ellipse of a linear damper: derived
    assert energy(ellipse(4, 0.5, start)) == pytest.approx(np.pi * 1000 * 0.025, rel=1e-3)


def test_the_key_goes_round_positions_and_the_curve() -> None:
    shown = [loops_at(sheet(8, 4), turn) for turn in range(4)]
    assert [[loop.position for loop in loops] for loops in shown] == [[], [4] * 3, [8] * 3, []]
    assert [loop.speed for loop in shown[1]] == [0.1, 0.3, 0.5]
    assert loops_at(sheet(), 1) == []


@pytest.mark.parametrize(("width", "height"), [(44, 10), (66, 25), (20, 4)])
def test_drawing(width: int, height: int) -> None:
    loops = loops_at(sheet(4), 1)
    drawn = loop_drawing(loops, width, height, Preferences()).plain().splitlines()
    assert len(drawn) == height
    assert max(map(len, drawn)) <= width
    if width > 20:
        for label in ("a 100 mm/s", "b 300 mm/s", "c 500 mm/s"):
            assert any(label in line for line in drawn)
            on_lines = sum(line.replace(label, "").count(label[0]) for line in drawn[1:])
            assert on_lines >= 2, "on the way in and on the way out"


def test_words_in_the_crews_units() -> None:
    lines = [line for _, line in loop_lines(sheet(4), loops_at(sheet(4), 1), Preferences())]
    assert "Loops at position 4" in lines
    assert any(line.split() == ["500", "78.5"] for line in lines)
    imperial = loop_lines(sheet(4), loops_at(sheet(4), 1), Preferences(preset="imperial"))
    # 78.5 J / 1.35582 (1 ft·lbf = 1.355818 J: NIST SP 811, from memory), 0.5 m / 0.0254
    assert any(line.split() == ["19.69", "57.9"] for _, line in imperial)


def test_an_empty_loop_draws_nothing() -> None:
    bare = Loop(position=4, speed=0.1, displacement=(), force=())
    assert energy(bare) == 0.0
    loop_drawing([bare], 44, 10, Preferences())


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_the_shed_shows_loop_and_curve(
    season_file: Path, drive: Drive, size: tuple[int, int]
) -> None:
    loops = [loop.body() for loop in sheet(4, 8).loops]
    with Logbook.open(season_file, author="tester") as logbook:
        entity = next(e for e, b in logbook.all("sheet") if b["damper"] == "RP-0713")
        logbook.write(patch("sheet", entity, {"loops": loops}))
    async with drive(season_file, size) as pilot:
        await pilot.press("b")
        await until(pilot, lambda: isinstance(pilot.app.screen, ShedPage))
        page = pilot.app.screen
        await until(pilot, lambda: page.places)
        page.wanted = "RP-0713"
        page.redraw()
        await pilot.pause()

        def words() -> str:
            return str(page.query_one("#words", Static).content)

        for position in (4, 8):
            await pilot.press("o")
            await until(pilot, lambda p=position: f"Loops at position {p}" in words())
            await until(pilot, lambda: "bump up, closing right" in screen_text(pilot.app))
            assert "78.5" in words()
        await pilot.press("o")
        await until(pilot, lambda: "% rms" in words())
        assert "closing right" not in screen_text(pilot.app)
        page.wanted = "SA-3107"
        page.redraw()
        await pilot.pause()
        await pilot.press("o")
        await pilot.pause()
        assert NO_LOOPS[:40] in screen_text(pilot.app)
