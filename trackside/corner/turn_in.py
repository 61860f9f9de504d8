"""Which end a turn asks first: the front's share of roll damping against that of roll stiffness.

In a steady turn the axles share the roll moment as their stiffness K; while the body rolls they
share it as their damping C as well. Front stiffness share less front damping share is what the
front gets less than its steady part: momentum gives the impulse (C_f − K_f·C/K)·φ for a roll angle
φ reached from rest (derived). A damper moves load in time and makes none: between two settings with
one start and one end, the axles' changes cancel. Above zero the front tyres are asked first.
Roll-centre heights, the tyres' own spring and unsprung masses are left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trackside.corner.axle import Wheel, roll, roll_share
from trackside.corner.wheel import Floats


@dataclass(frozen=True)
class TurnIn:
    """Front shares of roll damping and of roll stiffness, 0 to 1; what the front takes beyond its
    steady share, for each radian of roll (N·m·s). Damping as the wheels' (n,)."""

    damping_share: Floats
    stiffness_share: float
    impulse: Floats

    @property
    def balance(self) -> Floats:
        """Above zero the front is asked first, below zero the rear."""
        return self.damping_share - self.stiffness_share


def turn_in(wheels: Sequence[Wheel], front_bar: float = 0.0, rear_bar: float = 0.0) -> TurnIn:
    """FL, FR, RL, RR with their rates and dampings; bars in N·m/rad.

    >>> at = [(1.2, 0.8), (1.2, -0.8), (-1.4, 0.8), (-1.4, -0.8)]
    >>> rates, dampings = (30e3, 30e3, 20e3, 20e3), (3e3, 3e3, 1e3, 1e3)
    >>> four = [Wheel(*xy, k, c) for xy, k, c in zip(at, rates, dampings)]
    >>> found = turn_in(four)
    >>> f"{found.damping_share:.2f} − {found.stiffness_share:.2f} = {found.balance:+.2f}"
    '0.75 − 0.60 = +0.15'
    """
    front = [wheel for wheel in wheels if wheel.x > 0.0]
    damping, whole = roll(front, None).damping, roll(wheels, None).damping
    share = roll_share(wheels, front_bar, rear_bar)
    return TurnIn(np.asarray(damping / whole), share, np.asarray(damping - share * whole))
