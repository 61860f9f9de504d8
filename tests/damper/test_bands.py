"""How far a band reaches."""

import numpy as np
import pytest
from scipy.special import stdtrit

from trackside.damper.bands import around, reach
from trackside.damper.clicks import ForceSteps
from trackside.damper.fit import SheetRows, fit_sheet


@pytest.mark.parametrize("freedom", [1.0, 1.5, 2.0, 3.0, 7.3, 10.0, 41.0, 1e3, 1e6])
def test_the_reach_is_students(freedom):
    # scipy's quantile of Student's distribution
    assert reach(freedom) == pytest.approx(stdtrit(freedom, 0.975), rel=1e-6)


def test_a_band_is_even_in_the_logarithm_until_it_is_wider_than_its_force():
    force = np.array([0.0, 100.0, 100.0, 0.2, 0.2])
    low, high = around(force, np.array([5.0, 10.0, 100.0, 20.0, 40.0]))
    np.testing.assert_allclose(low[:3] * high[:3], force[:3] ** 2)
    assert high[4] == pytest.approx(2 * high[3])
    assert high[3] < 3 * 20.0


@pytest.mark.parametrize("position", [10.0, 12.0])
def test_a_force_of_less_than_the_scatter_has_a_band_of_newtons(position):
    """A loose valve with a run that a seal's stick spoiled: ends in newtons, as anybody expects."""
    speed = np.array([0.0055, 0.1, 0.275, 0.78, 3.0])
    force = np.array([17.1, 14.4, 19.7, 25.1, 50.5])
    rows = SheetRows(np.full(5, 10.0), ["bump"] * 5, speed, force)
    fit = fit_sheet(rows, click_law=ForceSteps(0.01, 0.1)).bump
    found = fit.predict(position, np.array([1e-5, 1e-3, 0.05, 1.0]))
    assert (found.high < 1e3).all()
    assert (found.low <= found.force).all()
    assert (found.force <= found.high).all()
