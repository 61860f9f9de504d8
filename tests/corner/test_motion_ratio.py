"""A motion ratio against travel: points kept, integrals by hand, range said."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.corner.motion_ratio import MotionTable
from trackside.corner.wheel import wheel_rate
from trackside.errors import BadNumber

LINEAR = MotionTable(((-0.04, 0.66), (0.0, 0.70), (0.06, 0.76)))  # 1.0 per metre
FLAT = MotionTable(((-0.05, 0.75), (0.05, 0.75)))


def test_points_are_kept_and_nothing_shoots_over():
    table = MotionTable(((-0.03, 0.6), (0.0, 0.62), (0.02, 0.8), (0.05, 0.81)))
    np.testing.assert_allclose(table.at([-0.03, 0.0, 0.02, 0.05]), [0.6, 0.62, 0.8, 0.81])
    assert np.all(np.diff(table.at(np.linspace(-0.03, 0.05, 300))) >= 0)


def test_by_hand():
    # MR = 0.70 + z: at 30 mm 0.73; damper travel 0.70·30 + 30²/2000 = 21.45 mm; derived
    assert LINEAR.at(0.03) == pytest.approx(0.73)
    assert LINEAR.slope(0.03) == pytest.approx(1.0)
    assert LINEAR.damper_travel(0.03) == pytest.approx(0.02145)
    assert LINEAR.damper_travel(-0.02) == pytest.approx(-0.0138)
    # 100 N/mm pushing 3 kN: 53.29 N/mm, and 3 N/mm for the rising ratio
    assert LINEAR.wheel_rate(0.03, 100e3, 3000) == pytest.approx(56.29e3)


def test_a_flat_table_is_a_number():
    # 100 N/mm at MR 0.75 is 56.25 N/mm, as k·MR²: derived (virtual work)
    assert FLAT.wheel_rate(0.01, 100e3, 5000) == pytest.approx(wheel_rate(100e3, 0.75))
    assert FLAT.damper_travel(0.02) == pytest.approx(0.015)


@given(st.floats(-0.039, 0.059))
def test_rate_is_the_slope_of_the_force(z):
    step, preload, k = 1e-6, 2000.0, 80e3

    def force(at):
        return (preload + k * LINEAR.damper_travel(at)) * LINEAR.at(at)

    slope = (force(z + step) - force(z - step)) / (2 * step)
    pushing = preload + k * LINEAR.damper_travel(z)
    assert LINEAR.wheel_rate(z, k, pushing) == pytest.approx(float(slope), rel=1e-5)


def test_outside_the_range_nothing_is_guessed():
    assert LINEAR.range == (-0.04, 0.06)
    with pytest.raises(BadNumber, match="from -40 to 60 mm"):
        LINEAR.at(0.07)
    for points in ((), ((0.0, 0.7),), ((0.0, 0.7), (0.0, 0.8)), ((0.0, 0.7), (0.1, 0.0))):
        with pytest.raises(BadNumber):
            MotionTable(points)


def test_wheel_travel_is_the_inverse_of_damper_travel():
    # a law: the way there and back
    table = MotionTable(((-0.03, 0.65), (0.0, 0.72), (0.04, 0.85)))
    for travel in (-0.03, -0.011, 0.0, 0.02, 0.04):
        there = float(table.damper_travel(travel))
        assert table.wheel_travel(there) == pytest.approx(travel, abs=1e-9)
    with pytest.raises(BadNumber, match="mm of damper travel only"):
        table.wheel_travel(0.05)
