"""The bench of made dampers against plate figures from outside, and against itself."""

from pathlib import Path

import numpy as np
import pytest

from tests.bench import parts_bench
from tests.bench.parts_bench import SPEEDS, BentStack, made_dampers


def test_it_shares_no_code_with_the_program():
    source = Path(parts_bench.__file__).read_text()
    assert "import trackside" not in source
    assert "from trackside" not in source


def test_one_disc_bends_as_the_plate_equation_says():
    # 20 mm, clamped at 10 mm, 0.2 mm thick, 100 N at the edge: 532.0937 µm for small deflections,
    # by sympy's solution of the plate equation and scipy's solve_bvp (computed, not from a book)
    disc = BentStack(((0.020, 0.2e-3),), 0.010, 0.020, (0.01999, 0.020))
    little, much = disc.lifts(np.array([1.0, 100.0]))
    assert 100 * little == pytest.approx(532.0937e-6, rel=2e-3)
    assert much < 0.8 * 100 * little  # far bent it stretches, and is stiffer


def test_discs_alike_share_the_load():
    # n equal discs that slide freely are n times as stiff: derived
    one, four = (
        BentStack(((0.030, 0.2e-3),) * n, 0.014, 0.028, (0.026, 0.028)).lifts(np.array([4.0 * n]))
        for n in (1, 4)
    )
    assert four == pytest.approx(one, rel=5e-3)


def test_a_pyramid_is_softer_than_equal_discs():
    # common practice, no source
    equal, pyramid = (
        BentStack(discs, 0.014, 0.028, (0.026, 0.028)).lifts(np.array([10.0]))[0]
        for discs in (
            ((0.030, 0.2e-3),) * 3,
            ((0.030, 0.2e-3), (0.025, 0.2e-3), (0.020, 0.2e-3)),
        )
    )
    assert pyramid > 1.1 * equal


def test_made_dampers_are_the_same_for_the_same_seed_and_rise_with_speed():
    for one, again in zip(made_dampers(5, 7), made_dampers(5, 7), strict=True):
        hard, soft = one.true_force(0, SPEEDS), one.true_force(one.told.clicks, SPEEDS)
        np.testing.assert_array_equal(hard, again.true_force(0, SPEEDS))
        assert np.all(np.diff(hard) > 0)
        assert np.all(soft < hard)
        assert one.real != one.told
