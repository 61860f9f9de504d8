"""Sheets that must not be fitted, each with its own sentence."""

import numpy as np
import pytest

from tests.bench.virtual_bench import SPEEDS, virtual_damper
from trackside.damper.sheet import MOST_FITTED, SheetRows, fitted_rows, sides
from trackside.errors import BadSheet

N = SPEEDS.size


def columns(positions=(0, 4, 8)):
    """A sheet in bump; harder is stronger."""
    position, speed, force = [], [], []
    for p in positions:
        position += [p] * N
        speed += list(SPEEDS)
        force += list(1500 * SPEEDS**0.7 / (1 + 0.1 * p))
    return np.array(position, float), ["bump"] * len(speed), np.array(speed), np.array(force)


def refused(*sheet) -> str:
    with pytest.raises(BadSheet) as error:
        sides(SheetRows(*sheet))
    assert error.value.remedy
    return str(error.value)


def test_a_good_sheet_is_taken():
    side = sides(SheetRows(*columns()))["bump"]
    assert side.rows.tolist() == list(range(3 * N))


def test_virtual_dampers_are_taken():
    for seed in range(20):
        damper = virtual_damper(seed)
        assert set(sides(SheetRows(*damper.measure([0, 3, 6], seed).columns))) == {
            "bump",
            "rebound",
        }


def test_standstill_rows_are_left_out():
    position, direction, speed, force = columns()
    speed[0], force[0] = 0.0, 9.0
    assert sides(SheetRows(position, direction, speed, force))["bump"].rows[0] == 1


def test_a_hole_names_its_row():
    position, direction, speed, force = columns()
    force[4] = np.nan
    assert "row 5 has no force" in refused(position, direction, speed, force)


def test_too_few():
    assert "4 speeds" in refused([0, 0], ["bump"] * 2, [0.1, 0.2], [10, 20])
    assert "empty" in refused([], [], [], [])
    assert "differ in length" in refused([0.0], ["bump"] * 2, [0.1, 0.2], [10, 20])


def test_direction_words():
    position, direction, speed, force = columns()
    direction[2] = "compression"
    assert "row 3" in refused(position, direction, speed, force)


def test_signs_and_units():
    position, direction, speed, force = columns()
    assert "below zero" in refused(position, direction, speed, -force)
    assert "mm/s" in refused(position, direction, speed * 1000, force)
    assert "unit" in refused(position, direction, speed, force * 1000)


def test_a_force_that_falls_with_speed():
    position, direction, speed, force = columns()
    force[N : 2 * N] = force[N : 2 * N][::-1]
    message = refused(position, direction, speed, force)
    assert "4 clicks" in message
    assert "falls" in message


def test_one_odd_row_is_left_to_the_robust_fit():
    position, direction, speed, force = columns()
    force[5] *= 0.6
    sides(SheetRows(position, direction, speed, force))


def test_counted_from_the_other_end():
    position, direction, speed, force = columns()
    assert "counted from full soft?" in refused(8 - position, direction, speed, force)


def test_preload_counted_from_the_other_end():
    position, direction, speed, force = columns()
    with pytest.raises(BadSheet, match="preload adjuster counted"):
        sides(SheetRows(np.zeros_like(position), direction, speed, force, None, 8 - position))


def test_more_positions_than_a_damper_has():
    position, direction, speed, force = columns(range(200))
    assert "200 runs" in refused(position, direction, speed, force)


def test_rows_that_are_fitted_reach_from_the_slowest_to_the_fastest_of_each_run():
    speed = np.tile(np.linspace(0.002, 0.5, 150), 3)
    position = np.repeat([0.0, 4.0, 8.0], 150)
    force = 1500 * speed**0.7 / (1 + 0.1 * position)
    side = sides(SheetRows(position, ["bump"] * 450, speed, force))["bump"]
    chosen = fitted_rows(side)
    assert 200 < chosen.size <= MOST_FITTED
    for place in (0.0, 4.0, 8.0):
        run = side.speed[chosen][side.position[chosen] == place]
        assert (run[0], run[-1]) == (0.002, 0.5)
        assert (run < 0.1).sum() > 25  # slow rows tell the bleed


def test_the_scatter_of_very_many_rows_is_no_fall():
    speed = np.linspace(0.01, 0.5, 200)
    scatter = 1.0 + 0.015 * np.random.default_rng(1).standard_normal(200)
    force = 900 * speed**0.1 * scatter
    sides(SheetRows(np.zeros(200), ["bump"] * 200, speed, force))
    with pytest.raises(BadSheet, match="falls"):
        sides(SheetRows(np.zeros(200), ["bump"] * 200, speed, force[::-1]))
