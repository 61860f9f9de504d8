"""The flow network as a function of the numbers that a fit is free to turn, with its slopes.

Numbers are scaled to a sheet's largest force and speed, so that all are of order one:

    [bleed steps ≥ 0 | crack steps ≥ 0 | ln opening | ln port | ln knee | leak ≥ 0 | friction ≥ 0]

Bleed steps add up from full hard, crack steps from full soft: both laws rise the way the
adjuster works, whatever the numbers are.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from trackside.damper.flow import Floats, FlowPath, force_at


@dataclass(frozen=True)
class Point:
    """Scaled force at m speeds, its slopes by the free numbers, (m, p), by bleed and by crack.

    pressure: the force less friction; by_flow: its slope by oil that passes beside it; shared_flow:
    what passes at that pressure at the hardest measured position.
    """

    force: Floats
    slopes: Floats
    by_bleed: Floats
    by_crack: Floats
    pressure: Floats
    by_flow: Floats
    shared_flow: Floats


@dataclass(frozen=True)
class Network:
    """Layout and scale: `bleeds` and `cracks` measured positions; largest force N, speed m/s."""

    bleeds: int
    cracks: int
    force: float
    speed: float

    @property
    def size(self) -> int:
        """How many numbers are free."""
        return self.bleeds + self.cracks + 5

    @property
    def bleed_sums(self) -> Floats:
        """Matrix from bleed steps to the bleed at each position."""
        return _sums(self.bleeds)

    @property
    def crack_sums(self) -> Floats:
        """Matrix from crack steps to the crack at each position."""
        return _sums(self.cracks).T

    def nodes(self, free: Floats) -> tuple[Floats, Floats]:
        """Scaled bleed and crack at the measured positions."""
        return (
            self.bleed_sums @ free[: self.bleeds],
            self.crack_sums @ free[self.bleeds : self.bleeds + self.cracks],
        )

    def path(self, free: Floats, bleed: float, crack: float) -> FlowPath:
        """The flow path in SI for a scaled bleed and crack."""
        root = np.sqrt(self.force)
        return FlowPath(
            leak=free[-2] * self.speed / self.force,
            bleed=max(bleed, 0.0) * self.speed / root,
            crack=max(crack, 0.0) * self.force,
            opening=np.exp(free[-5]) * self.speed / root**3,
            port=np.exp(free[-4]) * self.speed / root,
            knee=np.exp(free[-3]) * self.force,
        )

    def at(
        self,
        free: Floats,
        speed: Floats,
        bleed_weights: Floats,
        crack_weights: Floats,
        viscosity_ratio: float = 1.0,
        density_ratio: float = 1.0,
    ) -> Point:
        """Force and slopes at m scaled speeds; weights (m, bleeds) and (m, cracks) on the nodes.

        Friction acts on a moving rod only.
        """
        bleeds, cracks = self.nodes(free)
        bleed = np.maximum(bleed_weights @ bleeds, 0.0)
        crack = np.maximum(crack_weights @ cracks, 0.0)
        point = self.through(free, speed, bleed, crack, viscosity_ratio, density_ratio)
        point.slopes[:, : self.bleeds] = point.by_bleed[:, None] * (bleed_weights @ self.bleed_sums)
        point.slopes[:, self.bleeds : self.bleeds + self.cracks] = point.by_crack[:, None] * (
            crack_weights @ self.crack_sums
        )
        return point

    def through(
        self,
        free: Floats,
        speed: Floats,
        bleed: Floats,
        crack: Floats,
        viscosity_ratio: float = 1.0,
        density_ratio: float = 1.0,
    ) -> Point:
        """Force and slopes at m scaled speeds, bleeds and cracks; no slopes by the nodes."""
        bleeds, _ = self.nodes(free)
        leak = free[-2] * viscosity_ratio
        turn = np.sqrt(density_ratio)
        opening, port = np.exp(free[-5]) * turn, np.exp(free[-4]) * turn
        knee = np.exp(free[-3])
        force = force_at(speed, FlowPath(leak, bleed * turn, crack, opening, port, knee))
        root = np.sqrt(force)
        moving = np.where(speed > 0.0, 1.0, 0.0)
        reach = np.hypot(force - crack, knee)
        lift = 0.5 * opening * (force - crack + reach)
        shape = 1.0 / np.sqrt(1.0 + (lift / port) ** 2)
        valve, by_lift = lift * shape, shape**3
        gain = leak + root * by_lift * lift / reach
        with np.errstate(divide="ignore", invalid="ignore"):
            gain = gain + 0.5 * (bleed * turn + valve) / root
            stiff = np.where(force > 0.0, -1.0 / gain, 0.0)
        by_bleed = stiff * root * turn
        by_crack = -stiff * root * by_lift * lift / reach
        slopes = np.zeros((speed.size, self.size))
        slopes[:, -5] = stiff * root * by_lift * lift
        slopes[:, -4] = stiff * root * (lift / port) ** 3 * shape**3 * port
        slopes[:, -3] = stiff * root * by_lift * 0.5 * opening * knee**2 / reach
        slopes[:, -2] = stiff * force * viscosity_ratio
        slopes[:, -1] = moving
        shared = (valve + bleeds[0] * turn) * root + leak * force
        return Point(force + free[-1] * moving, slopes, by_bleed, by_crack, force, stiff, shared)


@lru_cache(maxsize=64)
def _sums(count: int) -> Floats:
    """Matrix from steps to what they add up to; not to be written to."""
    sums = np.tril(np.ones((count, count)))
    sums.setflags(write=False)
    return sums
