"""How far a band reaches."""

import pytest
from scipy.special import stdtrit

from trackside.damper.bands import reach


@pytest.mark.parametrize("freedom", [1.0, 1.5, 2.0, 3.0, 7.3, 10.0, 41.0, 1e3, 1e6])
def test_the_reach_is_students(freedom):
    # scipy's quantile of Student's distribution
    assert reach(freedom) == pytest.approx(stdtrit(freedom, 0.975), rel=1e-6)
