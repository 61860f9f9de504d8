"""Secant and tangent damping of a curve."""

from __future__ import annotations

import numpy as np
import pytest

from tests.analysis.garage import SHED, corner, session
from trackside.analysis.damping import damping
from trackside.analysis.estimate import estimate
from trackside.errors import BadNumber

SPEEDS = (0.02, 0.05, 0.1, 0.2, 0.4)


@pytest.mark.parametrize("direction", ["bump", "rebound"])
def test_secant_and_slope_of_a_fitted_curve(direction: str) -> None:
    found = estimate(session(corner("HARD", 8, 8)), "FL", direction, SHED, SPEEDS)
    told = damping(found, SHED)
    assert told.secant == pytest.approx(found.force / np.array(SPEEDS))
    # the slope integrated over speed is the force: derived (the fundamental theorem)
    fine = np.linspace(0.02, 0.4, 400)
    curve = estimate(session(corner("HARD", 8, 8)), "FL", direction, SHED, fine)
    slope = damping(curve, SHED).tangent
    risen = np.sum((slope[1:] + slope[:-1]) / 2 * np.diff(fine))
    assert risen == pytest.approx(curve.force[-1] - curve.force[0], rel=2e-3)
    # a digressive damper: beyond the knee the slope is below the secant
    assert told.tangent[-1] < told.secant[-1]


def test_standstill_has_none() -> None:
    still = estimate(session(corner("HARD", 8, 8)), "FL", "bump", SHED, (0.0, 0.1))
    with pytest.raises(BadNumber):
        damping(still, SHED)
