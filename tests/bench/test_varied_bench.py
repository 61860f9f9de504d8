"""The third bench: it shares nothing, obeys the laws of dampers, and is as wide as it says."""

from pathlib import Path

import numpy as np
import pytest

from tests.bench import varied_bench
from tests.bench.varied_bench import SPEEDS, VALVES, varied_dampers, wide_dampers


def test_it_shares_no_code_with_the_program():
    source = Path(varied_bench.__file__).read_text()
    assert "import trackside" not in source
    assert "from trackside" not in source


@pytest.mark.parametrize("valve", VALVES)
def test_opening_the_needle_lowers_the_force_and_speed_raises_it(valve):
    for damper in varied_dampers(valve, 6):
        even = np.array([damper.true_force(p, SPEEDS) for p in range(damper.clicks + 1)])
        assert (np.diff(even, axis=1) > 0).all()
        # detents are not even, so a click may give a little back; a tenth of the travel may not
        assert (even[:-3] - even[3:] > -0.01 * even[:-3]).all()
        assert (even[0] > even[-1]).all()


def test_the_wide_ones_span_twenty_to_one_and_end_in_friction():
    ratios, slopes = [], []
    for damper in wide_dampers(20):
        hard, soft = (damper.true_force(p, np.array([0.05, 0.1, 0.25])) for p in (0, 25))
        ratios.append(hard[0] / soft[0])
        oil = soft - damper.friction
        slopes.append(np.log(oil[2] / oil[1]) / np.log(2.5))
        assert soft[0] < 25.0
    assert 12 < np.median(ratios) < 45
    assert 1.5 < np.median(slopes) < 2.1  # near the square of speed where the needle is wide open


def test_the_same_seed_is_the_same_sheet():
    damper = next(varied_dampers("mixed", 1, 5))
    one, again, other = (damper.measure([0, 4], seed)[3] for seed in (9, 9, 10))
    np.testing.assert_array_equal(one, again)
    assert not np.array_equal(one, other)
