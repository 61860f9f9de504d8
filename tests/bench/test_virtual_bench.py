"""The virtual bench itself: it obeys the laws of dampers, repeats, and shares nothing."""

from pathlib import Path

import numpy as np

from tests.bench import virtual_bench
from tests.bench.virtual_bench import SPEEDS, population, virtual_damper


def test_it_shares_no_code_with_the_program():
    assert "import trackside" not in Path(virtual_bench.__file__).read_text()
    assert "from trackside" not in Path(virtual_bench.__file__).read_text()


def test_dampers_obey_the_laws_of_dampers():
    for damper in population(12):
        for direction in ("bump", "rebound"):
            force = np.array(
                [damper.true_force(direction, p, SPEEDS) for p in range(damper.clicks + 1)]
            )
            assert (np.diff(force, axis=1) > 0).all()
            assert (np.diff(force, axis=0) <= 0).all()
            assert 50 < force[0, -1] < 10_000


def test_the_same_seed_is_the_same_sheet():
    one, other = (virtual_damper(5).measure([0, 4], 9).as_csv() for _ in range(2))
    assert one == other
    assert one != virtual_damper(5).measure([0, 4], 10).as_csv()


def test_csv():
    lines = virtual_damper(5).measure([0, 4], 9).as_csv().splitlines()
    assert lines[0] == "position,direction,speed_mm_s,force_N"
    assert len(lines) == 1 + 2 * 2 * SPEEDS.size
    assert lines[1].startswith("0,bump,13,")


def test_scatter_is_as_stated():
    damper = virtual_damper(5)
    true = damper.true_force("bump", 3, SPEEDS)
    seen = np.array([damper.measure([3], seed).columns[3][: SPEEDS.size] for seed in range(200)])
    expected = np.hypot(0.015 * true, 2.0)
    np.testing.assert_allclose(seen.std(axis=0), expected, rtol=0.2)
