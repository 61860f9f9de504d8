"""Damping of a corner's damper at its rod: force over speed, and the slope of the curve."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trackside.analysis.estimate import Estimate, estimate_at
from trackside.analysis.shed import Shed
from trackside.corner.wheel import Floats, secant_damping, tangent_damping

_STEP = 0.01  # of the speed, to either side


@dataclass(frozen=True)
class Damping:
    """N·s/m at the estimate's rod speeds, each (n,): `secant` is force over speed, what a whole
    stroke feels; `tangent` the slope, what a small ripple on it feels."""

    secant: Floats
    tangent: Floats


def damping(estimate: Estimate, shed: Shed) -> Damping:
    """Both dampings of a curve whose speeds are above zero. BadNumber at standstill."""
    speed = np.asarray(estimate.speed)
    secant = secant_damping(estimate.force, speed)
    around = speed[:, None] * np.array([1.0 - _STEP, 1.0, 1.0 + _STEP])
    force = estimate_at(estimate.setting, shed, around.ravel()).force.reshape(around.shape)
    tangent = [tangent_damping(f, v)[1] for f, v in zip(force, around, strict=True)]
    return Damping(secant, np.array(tangent))
