"""A build that was never on the bench, its damper being there in another build with the same parts
on record: the bench's curve; and what the parts make of one build against another."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from trackside.damper.basis import Basis, weakest
from trackside.damper.curve import Difference, Prediction
from trackside.damper.flow import Floats, FlowPath, force_at
from trackside.damper.parts import PartsCurve, revalved
from trackside.damper.sheet_fit import DirectionFit
from trackside.records import Build

_PATH_AT = 0.5
"""Rod speed (m/s) at which the flow path makes the force of the curve; elsewhere it is near."""

REBUILT = 0.05
"""Half the 95 % band of what a strip-down alone changes, as a share of the force, with the parts on
record the same: discs lie another way, the nut holds otherwise, the oil is new. Our own, no source.
"""

_ALIKE = ("piston_diameter", "rod_diameter", "piston", "preload", "bleed", "needle", "oil")
"""What both directions share inside a damper."""


@dataclass(frozen=True)
class Ratio:
    """Force of one build over that of another, less one, at each rod speed; `less` and `more` are
    the reach of its 95 % band below and above, as shares of the first build's force."""

    share: Floats
    less: Floats
    more: Floats


@dataclass(frozen=True)
class CarriedCurve:
    """A direction measured in another build of the damper that has the same parts on record: the
    bench's curve holds, as far as a strip-down leaves it (`REBUILT`)."""

    bench: DirectionFit

    @property
    def positions(self) -> tuple[float, ...]:
        """The bench's measured positions of the bleed adjuster."""
        return self.bench.positions

    @property
    def preloads(self) -> tuple[float, ...]:
        """The bench's measured positions of the preload adjuster."""
        return self.bench.preloads

    @property
    def takes_preload(self) -> bool:
        """Whether the bench varied the preload adjuster."""
        return self.bench.takes_preload

    @property
    def limits(self) -> None:
        """None: the discs of the other build were on a bench."""

    def basis(self, position_from_hard: float, preload_from_hard: float | None = None) -> Basis:
        """The bench's at this position, and no firmer than the parts that carry it over."""
        return weakest(self.bench.basis(position_from_hard, preload_from_hard), Basis.FROM_PARTS)

    def predict(
        self,
        position_from_hard: float,
        speeds: ArrayLike,
        preload_from_hard: float | None = None,
        viscosity_ratio: float = 1.0,
        density_ratio: float = 1.0,
    ) -> Prediction:
        """Force at speeds (m/s); its band holds the bench's and the ratio's."""
        oil = viscosity_ratio, density_ratio
        found = self.bench.predict(position_from_hard, speeds, preload_from_hard, *oil)
        by = ratio(None, None, position_from_hard, found.speed, preload_from_hard, *oil)
        force = found.force * (1.0 + by.share)
        below = np.hypot((found.force - found.low) * (1.0 + by.share), found.force * by.less)
        above = np.hypot((found.high - found.force) * (1.0 + by.share), found.force * by.more)
        basis = weakest(found.basis, Basis.FROM_PARTS)
        low = np.maximum(force - below, 0.0)
        return Prediction(found.speed, force, low, force + above, basis)

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
    ) -> Difference:
        """Force at b less force at a. The knob's own steps are the bench's; where the parts make
        another ratio at b than at a, all of that is in the band."""
        moved = self.bench.difference(position_a, position_b, speeds, preload_a, preload_b)
        v = moved.speed
        start = self.bench.predict(position_a, v, preload_a).force
        a = ratio(None, None, position_a, v, preload_a)
        b = ratio(None, None, position_b, v, preload_b)
        first = start * (1.0 + a.share)
        change = (start + moved.change) * (1.0 + b.share) - first
        apart = start * np.abs(b.share - a.share)
        below = (moved.change - moved.low) * (1.0 + b.share)
        above = (moved.high - moved.change) * (1.0 + b.share)
        harder = moved.change >= 0.0  # a larger ratio makes a step softer reach further below zero
        down, up = np.where(harder, (b.less, b.more), (b.more, b.less)) * moved.change
        low = change - np.sqrt(below**2 + down**2 + apart**2)
        high = change + np.sqrt(above**2 + up**2 + apart**2)
        percent = 100.0 * np.divide(change, first, out=np.zeros_like(first), where=first > 0.0)
        basis = weakest(moved.basis, Basis.FROM_PARTS)
        return Difference(v, change, percent, low, high, basis)

    def path(self, position_from_hard: float, preload_from_hard: float | None = None) -> FlowPath:
        """The bench's flow path, scaled to the curve's force at `_PATH_AT`."""
        path = self.bench.path(position_from_hard, preload_from_hard)
        v = np.array([_PATH_AT])
        by = ratio(None, None, position_from_hard, v, preload_from_hard)
        return scaled(path, 1.0 + float(by.share[0]))


def scaled(path: FlowPath, factor: float) -> FlowPath:
    """The path that makes `factor` times the force at every rod speed (derived: F/factor put in
    the equation of `damper.flow`)."""
    root = np.sqrt(factor)
    return replace(
        path,
        leak=np.asarray(path.leak) / factor,
        bleed=np.asarray(path.bleed) / root,
        crack=np.asarray(path.crack) * factor,
        opening=np.asarray(path.opening) / (factor * root),
        port=np.asarray(path.port) / root,
        knee=np.asarray(path.knee) * factor,
    )


def ratio(
    was: PartsCurve | None,
    now: PartsCurve | None,
    position_from_hard: float,
    speed: Floats,
    preload_from_hard: float | None = None,
    viscosity_ratio: float = 1.0,
    density_ratio: float = 1.0,
) -> Ratio:
    """What the parts make of `now` against `was` at one position of the knobs; nothing but a band
    where the parts are the same on record (both None)."""
    if was is None or now is None:
        reach = np.full_like(speed, REBUILT)
        return Ratio(np.zeros_like(speed), reach, reach)
    oil = viscosity_ratio, density_ratio
    first, second = was.at_ring(preload_from_hard), now.at_ring(preload_from_hard)
    found = revalved(first, position_from_hard, second, position_from_hard, speed, *oil)
    force = force_at(speed, first.path(position_from_hard), *oil)

    def of(newton: Floats) -> Floats:
        return np.divide(newton, force, out=np.zeros_like(force), where=force > 0.0)

    return Ratio(of(found.change), of(found.change - found.low), of(found.high - found.change))


def same_inside(a: Build, b: Build, direction: str) -> bool:
    """Whether two builds have the same parts on record in that direction, and its stack is among
    what is on record: of what nobody wrote down nothing is known to be the same."""
    stack = f"{direction}_stack"
    names = (*_ALIKE, stack, f"{direction}_parts")
    knobs = [(x.bleed_adjuster(direction), x.adjuster(f"{direction}_preload")) for x in (a, b)]
    alike = all(getattr(a, name) == getattr(b, name) for name in names)
    return alike and knobs[0] == knobs[1] and bool(getattr(a, stack))
