"""Loops told and drawn: their area against closed forms, every size, every key press."""

import numpy as np
import pytest

from trackside.preferences import Preferences
from trackside.records import DynoRow, DynoSheet, Loop
from trackside.tui.loops import energy, loop_drawing, loop_lines, loops_at

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
    # E = pi * F * X, the ellipse: check-values section 6, n = 1 (derived)
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
        assert any("500" in line for line in drawn)


def test_words_in_the_crews_units() -> None:
    lines = [line for _, line in loop_lines(sheet(4), loops_at(sheet(4), 1), Preferences())]
    assert "Loops at position 4" in lines
    assert any(line.split() == ["500", "78.5"] for line in lines)


def test_an_empty_loop_draws_nothing() -> None:
    bare = Loop(position=4, speed=0.1, displacement=(), force=())
    assert energy(bare) == 0.0
    loop_drawing([bare], 44, 10, Preferences())
