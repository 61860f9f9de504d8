"""What of a damper's flow follows the oil's viscosity, and a curve carried to another oil.

A sheet at one temperature cannot tell leak from bleed: both bend the slow end. So what goes with
viscosity is taken from clearances, not from the fit, with a doubt that says so: a seal's leak (m/s
for each N), and the speed that a needle's passage takes off while the oil is thick (m/s). At a
given force F, thinner oil by m and lighter by d (`oil.ratios`) makes the rod go

    v' = √d·v + leak·(m − 1)·F + passage·(1 − 1/m)

Sources: annular gap flow π·D·h³/(12·μ·l) and laminar passage in series with an orifice, whose flow
is that of the orifice less a constant (textbook; derived). Gaps of 20 to 40 µm over 10 mm on a 40
mm piston: our own, no source; they pass 0.7 to 5 mm/s at 1 MPa with an oil of 13 mPa·s.
Two temperatures, or a sheet whose oil warmed, say more (`learned`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from trackside.damper.curve import Prediction
from trackside.damper.flow import Floats
from trackside.damper.oil import EXPANSION

THINNING = 0.024
"""By which share a usual damper oil thins for each K: our own, no source."""
_GRID = 60
_STEP = 0.05  # of ln, for slopes
_LEAST = 0.2  # of the speed is left, however thick the oil


@dataclass(frozen=True)
class Viscous:
    """ln of leak ((m/s)/N at the sheet's oil) and passage (m/s), and their covariance (2, 2)."""

    logs: tuple[float, float] = (float(np.log(1.5e-6)), float(np.log(4e-4)))
    covariance: tuple[tuple[float, float], tuple[float, float]] = ((0.64, 0.0), (0.0, 0.81))

    @property
    def leak(self) -> float:
        """(m/s)/N at the sheet's oil."""
        return float(np.exp(self.logs[0]))

    @property
    def passage(self) -> float:
        """m/s at the sheet's oil."""
        return float(np.exp(self.logs[1]))

    def shifted(self, change: Floats) -> Viscous:
        """With `change` (2,) added to the logs."""
        return Viscous((self.logs[0] + change[0], self.logs[1] + change[1]), self.covariance)

    def speed_now(
        self, speed: Floats, force: Floats, viscosity_ratio: float, density_ratio: float
    ) -> Floats:
        """Rod speed (m/s) with the oil as it is that makes the force (N) of the sheet's speed."""
        turbulent = np.sqrt(density_ratio) * speed
        more = self.leak * (viscosity_ratio - 1.0) * force
        more = more + self.passage * (1.0 - 1.0 / viscosity_ratio)
        return np.asarray(np.maximum(turbulent + more, _LEAST * turbulent))


def usual_ratio(warmer: float) -> float:
    """The viscosity ratio that so many K make in an oil of which nothing is known."""
    return float(np.exp(THINNING * warmer))


BY_CLEARANCE = Viscous()


@dataclass(frozen=True)
class Carried:
    """ln force (n,) with the oil as it is, its slopes by the logs of `Viscous` (n, 2), and the
    speeds (n,) of the sheet at which that force is made."""

    logs: Floats
    slopes: Floats
    sheet_speed: Floats


def carried(
    curve: Callable[[Floats], Floats],
    speed: Floats,
    viscosity_ratio: float,
    density_ratio: float,
    viscous: Viscous = BY_CLEARANCE,
) -> Carried:
    """A curve (N at m/s above zero, for the sheet's oil) with the oil as it is, at speeds (n,)."""
    first, last = 0.25 * float(speed.min()), 1.6 * float(speed.max())
    grid = np.geomspace(first, last, _GRID)
    force = np.maximum.accumulate(np.maximum(curve(grid), 1e-6))

    def at(what: Viscous) -> tuple[Floats, Floats]:
        now = np.log(what.speed_now(grid, force, viscosity_ratio, density_ratio))
        now = np.maximum.accumulate(now + 1e-9 * np.arange(_GRID))
        wanted = np.log(speed)
        return np.interp(wanted, now, np.log(force)), np.interp(wanted, now, np.log(grid))

    logs, sheet_speed = at(viscous)
    slopes = [
        (at(viscous.shifted(step))[0] - at(viscous.shifted(-step))[0]) / (2.0 * _STEP)
        for step in _STEP * np.eye(2)
    ]
    return Carried(logs, np.column_stack(slopes), np.exp(sheet_speed))


def with_oil(
    predict: Callable[[Floats], Prediction],
    speed: Floats,
    viscosity_ratio: float,
    density_ratio: float,
    viscous: Viscous = BY_CLEARANCE,
) -> Prediction:
    """A prediction for the sheet's oil, carried to another; the doubt of the viscous part widens
    the band. Viscosity ratio one with another density is an oil without data: the force then goes
    with density alone, and the band reaches to where a usual oil (`THINNING`) would put it."""
    moving = speed > 0.0
    force, low, high = (np.zeros_like(speed) for _ in range(3))
    basis = predict(speed[:1]).basis
    if moving.any():
        found = carried(
            lambda grid: predict(grid).force,
            speed[moving],
            viscosity_ratio,
            density_ratio,
            viscous,
        )
        own = predict(found.sheet_speed)
        now = np.exp(found.logs)
        doubt = np.array(viscous.covariance)
        variance = np.einsum("ni,ij,nj->n", found.slopes, doubt, found.slopes)
        reach = 1.96 * np.sqrt(variance) * now
        scale = now / np.maximum(own.force, 1e-9)
        force[moving] = now
        low[moving] = np.maximum(now - np.hypot((own.force - own.low) * scale, reach), 0.0)
        high[moving] = now + np.hypot((own.high - own.force) * scale, reach)
        if viscosity_ratio == 1.0 != density_ratio:
            usual = usual_ratio((density_ratio - 1.0) / EXPANSION)
            other = with_oil(predict, speed[moving], usual, density_ratio, viscous)
            low[moving] = np.minimum(low[moving], other.low)
            high[moving] = np.maximum(high[moving], other.high)
    return Prediction(speed, force, low, high, basis)


def learned(
    seen: Floats, carry: Callable[[Viscous], tuple[Floats, Floats]], noise: Floats, start: Viscous
) -> tuple[Viscous, float, float]:
    """What two temperatures say: the viscous part, the ln of the force that was gained besides, and
    its standard deviation.

    seen (n,): ln force as it is; carry: ln force (n,) foretold and its slopes (n, 2); noise (n, n):
    covariance of seen less foretold. A gain of any size is believed beforehand. Gauss and Newton,
    three steps.
    """
    weight = np.linalg.inv(noise)
    prior = np.linalg.inv(np.array(start.covariance))
    now, gain, spread = start, 0.0, 0.0
    for _ in range(3):
        foretold, slopes = carry(now)
        design = np.column_stack([slopes, np.ones(seen.size)])
        holds = np.zeros((3, 3))
        holds[:2, :2] = prior
        pull = np.zeros(3)
        pull[:2] = prior @ (np.array(start.logs) - np.array(now.logs))
        inverse = np.linalg.inv(design.T @ weight @ design + holds)
        step = inverse @ (design.T @ weight @ (seen - foretold) + pull)
        now = now.shifted(np.clip(step[:2], -1.5, 1.5))
        gain, spread = float(step[2]), float(np.sqrt(inverse[2, 2]))
    left = inverse[:2, :2]
    doubt = ((float(left[0, 0]), float(left[0, 1])), (float(left[1, 0]), float(left[1, 1])))
    return Viscous(now.logs, doubt), gain, spread
