"""No sheet at all: a curve from the shop's own rule of thumb, with a band that says so.

One force is known, at full hard and one reference speed, and what share of it a click takes.
The shape of the curve around that point is generic: our own, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trackside.damper.basis import Basis
from trackside.damper.clicks import Acts, ForceSteps
from trackside.damper.curve import Difference, Prediction
from trackside.damper.flow import Floats, FlowPath, force_at
from trackside.errors import BadNumber

# The generic shape, all our own, no source.
_CRACK = 0.7  # crack force as a share of the known force
_LEAK = 0.02  # share of the oil that leaks past the seal at the known point
_BLEED = 0.5  # share that the base bleed carries there with the needle shut
_PORT = 6.0  # port coefficient over the whole flow coefficient at the known point

# The band, on the virtual bench of the tests (no outside source). Slower than the known point a
# stack that has not opened holds the force up, so the true force lies above far more than below;
# clicks open a needle by area, so part of the way the force falls faster than even steps say.
_FORCE_DOUBT = 0.15  # standard deviation of ln force at the known point's speed
_SLOWER_UP, _SLOWER_DOWN = 0.5, 0.25  # and more for each factor e slower than it
_FASTER = 0.1  # or faster
_STEP_UP, _STEP_DOWN = 0.35, 0.65  # of ln(force ratio) that clicks make
_CHANGE_UP, _CHANGE_DOWN = 0.5, 0.57  # of ln of the change that clicks make
_REACH = 1.96


@dataclass(frozen=True)
class ShopCurve:
    """A direction known by a rule of thumb; answers like a fitted one, basis "shop rule"."""

    hard: FlowPath
    steps: ForceSteps
    acts: Acts = "bleed"

    @property
    def positions(self) -> tuple[float, ...]:
        """None: no bench is behind a rule."""
        return ()

    preloads = positions

    @property
    def takes_preload(self) -> bool:
        """A rule speaks of the bleed adjuster alone."""
        return False

    @property
    def limits(self) -> None:
        """None: a rule knows no discs."""

    def basis(self, position_from_hard: float, preload_from_hard: float | None = None) -> Basis:
        """The shop rule, wherever the adjusters stand."""
        return Basis.SHOP_RULE

    def path(self, position_from_hard: float, preload_from_hard: float | None = None) -> FlowPath:
        """The flow path at a position."""
        return self.steps.path_at(self.hard, 0.0, position_from_hard, self.acts)

    def predict(
        self,
        position_from_hard: float,
        speeds: ArrayLike,
        preload_from_hard: float | None = None,
        viscosity_ratio: float = 1.0,
        density_ratio: float = 1.0,
    ) -> Prediction:
        """Force at speeds (m/s); the band is a judgement, not a measurement."""
        speed = np.atleast_1d(np.asarray(speeds, float))
        oil = viscosity_ratio, density_ratio
        hard = force_at(speed, self.hard, *oil)
        force = force_at(speed, self.path(position_from_hard), *oil)
        away = _log(speed / self.steps.reference_speed)
        moved = _log(np.divide(force, hard, out=np.ones_like(hard), where=hard > 0.0))
        up = _band(np.where(away < 0.0, _SLOWER_UP, _FASTER) * away, _STEP_UP * moved)
        down = _band(np.where(away < 0.0, _SLOWER_DOWN, _FASTER) * away, _STEP_DOWN * moved)
        return Prediction(speed, force, force / down, force * up, Basis.SHOP_RULE)

    def force(
        self,
        position_from_hard: float,
        speeds: ArrayLike,
        preload_from_hard: float | None = None,
    ) -> Floats:
        """Force (n,) of `predict`, without its band."""
        return self.predict(position_from_hard, speeds, preload_from_hard).force

    def difference(
        self,
        position_a: float,
        position_b: float,
        speeds: ArrayLike,
        preload_a: float | None = None,
        preload_b: float | None = None,
        viscosity_ratio: float = 1.0,
        density_ratio: float = 1.0,
    ) -> Difference:
        """Force at b less force at a; the known force's doubt scales it, the click's adds to it."""
        oil = viscosity_ratio, density_ratio
        speed = np.atleast_1d(np.asarray(speeds, float))
        a = self.predict(position_a, speed, None, *oil).force
        change = self.predict(position_b, speed, None, *oil).force - a
        away = _log(speed / self.steps.reference_speed)
        up = np.exp(_REACH * np.hypot(_CHANGE_UP, _SLOWER_UP * np.minimum(away, 0.0)))
        ends = change * np.exp(-_REACH * _CHANGE_DOWN), change * up
        percent = 100.0 * np.divide(change, a, out=np.zeros_like(a), where=a > 0.0)
        return Difference(
            speed, change, percent, np.minimum(*ends), np.maximum(*ends), Basis.SHOP_RULE
        )


def _band(shape: Floats, steps: Floats) -> Floats:
    """The factor that 95 % reach to, from the doubts of ln force."""
    return np.exp(_REACH * np.sqrt(_FORCE_DOUBT**2 + shape**2 + steps**2))


def _log(ratio: Floats) -> Floats:
    """ln, kept within a factor of a thousand: zero speed is as far away as 1/1000."""
    return np.log(np.clip(ratio, 1e-3, 1e3))


def shop_curve(
    full_hard_force: float,
    reference_speed: float,
    share: float,
    acts: Acts = "bleed",
) -> ShopCurve:
    """The rule: force (N) at full hard and reference speed (m/s), share of it that a click takes.

    Raises BadNumber for a share outside 0 to 1, or a force or speed that is not above zero.
    """
    if not 0.0 < full_hard_force < np.inf:
        raise BadNumber("the full-hard force must be above zero", "enter it in newtons or lbf")
    steps = ForceSteps(share, reference_speed)
    flow = reference_speed / np.sqrt(full_hard_force)  # whole coefficient at the known point
    leak, bleed, port = _LEAK * reference_speed / full_hard_force, _BLEED * flow, _PORT * flow
    crack = _CRACK * full_hard_force
    valve = (1.0 - _LEAK - _BLEED) * flow
    lift = valve / np.sqrt(1.0 - (valve / port) ** 2)
    hard = FlowPath(leak, bleed, crack, lift / (full_hard_force - crack), port)
    return ShopCurve(hard, steps, acts)
