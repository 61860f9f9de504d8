"""No sheet: the shop's rule of thumb says what it is."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.damper.basis import Basis
from trackside.damper.shop import shop_curve
from trackside.errors import BadNumber, NoEstimate

SPEEDS = np.array([0, 13, 25, 50, 100, 200, 500]) * 1e-3


@given(st.floats(50, 5000), st.floats(0.02, 0.3), st.floats(0.01, 0.2), st.floats(0, 4.5))
def test_the_rule_is_kept_at_its_own_speed(force, speed, share, position):
    rule = shop_curve(force, speed, share)
    answer = rule.predict(position, [speed])
    assert answer.force[0] == pytest.approx(force * (1 - share * position), rel=1e-6)
    assert answer.low[0] < answer.force[0] < answer.high[0]


def test_it_never_claims_more_than_a_shop_rule():
    answer = shop_curve(700, 0.05, 0.06).predict(0, SPEEDS)
    assert answer.basis is Basis.SHOP_RULE
    assert (answer.high[1:] > 1.3 * answer.force[1:]).all()


def test_laws_of_a_curve():
    rule = shop_curve(700, 0.05, 0.06)
    force = np.array([rule.predict(n, SPEEDS).force for n in range(12)])
    assert (force[:, 0] == 0).all()
    assert (np.diff(force, axis=1) > 0).all()
    assert (np.diff(force[:, 1:], axis=0) < 0).all()


def test_difference():
    rule = shop_curve(700, 0.05, 0.06)
    change = rule.difference(4, 2, SPEEDS)
    assert change.change[3] == pytest.approx(84.0, rel=1e-6)  # two clicks of 6 % of 700 N
    assert change.percent[3] == pytest.approx(100 * 84 / 532, rel=1e-6)
    assert change.low[3] < 84 < change.high[3]
    assert change.basis is Basis.SHOP_RULE


def test_what_cannot_be():
    with pytest.raises(BadNumber):
        shop_curve(-5, 0.05, 0.06)
    with pytest.raises(BadNumber):
        shop_curve(500, 0.0, 0.06)
    with pytest.raises(NoEstimate):
        shop_curve(500, 0.05, 0.06).predict(17, SPEEDS)
