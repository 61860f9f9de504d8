"""Bump stops: curves by hand, packers, and the wheel."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.corner.bump_stop import CurveStop, TableStop, added_at_wheel, starts_at
from trackside.errors import BadNumber

CURVE = CurveStop(50e3, 1.0, 0.020)
TABLE = TableStop(((0.005, 400.0), (0.010, 1300.0), (0.015, 3100.0)))


def test_three_numbers_by_hand():
    # F = k·x/(1 − x/X)ⁿ: half way, 50·10/0.5 = 1000 N; slope k·[(1−s) + n·s]/(1−s)² = 4k; derived
    assert CURVE.force(0.010) == pytest.approx(1000)
    assert CURVE.rate(0.010) == pytest.approx(200e3)
    assert CURVE.rate(0.0) == pytest.approx(50e3)  # the contact rate
    assert np.isnan(CURVE.force(0.020))
    spring = CurveStop(50e3, 0.0, 0.020)  # no stiffening: a spring
    assert spring.force(0.010) == pytest.approx(500)
    assert spring.rate(0.019) == pytest.approx(50e3)


def test_a_table_keeps_its_points_and_ends_with_them():
    np.testing.assert_allclose(TABLE.force([0, 0.005, 0.010, 0.015]), [0, 400, 1300, 3100])
    assert np.isnan(TABLE.force(0.016))
    assert np.all(np.diff(TABLE.force(np.linspace(0, 0.015, 200))) > 0)


@given(st.floats(0.0, 0.0149))
def test_the_rate_is_the_slope(x):
    step = 1e-7
    for stop in (CURVE, TABLE):
        slope = (stop.force(x + step) - stop.force(x)) / step
        assert stop.rate(x) == pytest.approx(float(slope), rel=1e-3)


def test_packers_bring_it_in_sooner_by_their_height():
    assert starts_at(0.030) == pytest.approx(0.030)
    assert starts_at(0.030, 0.012) == pytest.approx(0.018)
    assert starts_at(0.010, 0.012) == pytest.approx(-0.002)  # already on it at static


def test_at_the_wheel_by_hand():
    # MR 0.8, gap 20, packers 4: at 25 mm wheel travel the rod moves 20 mm, the stop 4 mm:
    # 50·4/0.8 = 250 N, ·0.8 = 200 N; slope 50/0.8² = 78.125 N/mm, ·0.64 = 50 N/mm; derived
    force, rate = added_at_wheel(CURVE, [0.0, 0.020, 0.025, 0.030], 0.020, 0.004, 0.8)
    assert force[:2] == pytest.approx([0, 0])
    assert rate[:2] == pytest.approx([0, 0])
    assert force[2] == pytest.approx(200)
    assert rate[2] == pytest.approx(50e3)
    assert force[3] > force[2]
    static, _ = added_at_wheel(CURVE, 0.0, 0.002, 0.004, 0.8)
    assert static > 0


@pytest.mark.parametrize(
    "make",
    [
        lambda: TableStop(()),
        lambda: TableStop(((0.005, 400.0),)),
        lambda: TableStop(((0.005, 400.0), (0.004, 500.0))),
        lambda: TableStop(((0.005, 400.0), (0.010, 400.0))),
        lambda: TableStop(((0.005, float("nan")), (0.010, 400.0))),
        lambda: CurveStop(0.0, 1.0, 0.02),
        lambda: CurveStop(1e4, -1.0, 0.02),
        lambda: CurveStop(1e4, 1.0, float("nan")),
    ],
)
def test_curves_that_cannot_be(make):
    with pytest.raises(BadNumber):
        make()
