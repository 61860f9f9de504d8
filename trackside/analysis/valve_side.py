"""One direction of an answer: its curve as every page would show it of that build."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np

from trackside.analysis.carried import ratio
from trackside.analysis.estimate import Floats, ground
from trackside.analysis.parts import parts_curve
from trackside.analysis.valve_answer import Side, Valve, rebuilt
from trackside.analysis.valve_piston import Piston, counted
from trackside.analysis.valve_stock import Part
from trackside.damper.basis import Basis, weakest
from trackside.damper.curve import Curve, Prediction
from trackside.damper.parts import PartsCurve
from trackside.damper.stack import Give
from trackside.errors import NoEstimate
from trackside.records import Build

_NOBODYS = "\0"
"""A version that no build has: the new one is not in the shed."""


@dataclass(frozen=True)
class Tried:
    """The exact figures of one valve: forces of the parts, and shares missing, at each position."""

    valve: Valve
    give: Give
    preload: float
    missing: Floats
    needs: Counter[Part]
    frees: Counter[Part]
    others: int

    @property
    def worst(self) -> Floats:
        """The largest share missing at each position."""
        return np.asarray(np.max(np.abs(self.missing), axis=1))


def side_of(piston: Piston, one: Tried, at: int | None, within: float) -> Side:
    """That valve at the place `at` among the positions, else at the one that is nearest."""
    target, setting = piston.target, piston.at
    new = rebuilt(setting.build, setting.direction, one.valve)
    now = parts_curve(new, setting.direction)
    curve = _curve(piston, new.model_copy(update={"version": _NOBODYS}))
    off = np.array([
        _force(piston, curve, now, float(hard)) / target.force - 1.0 for hard in piston.positions
    ])  # fmt: skip
    worst = np.max(np.abs(off), axis=1)
    k = int(np.argmin(worst)) if at is None else at
    hard = float(piston.positions[k])
    met = [counted(setting, float(piston.positions[n])) for n in np.flatnonzero(worst <= within)]
    return Side(
        target,
        one.valve,
        counted(setting, hard),
        hard,
        tuple(sorted(count for count in met if count is not None)),
        one.preload,
        _forecast(piston, curve, now, hard),
        off[k],
        now.limits,
        one.needs,
        one.frees,
        one.others,
    )


def _curve(piston: Piston, new: Build) -> Curve | None:
    """What a page would take the new build's force from, where a bench is behind it; None where
    that does not follow its parts."""
    if piston.base is None:
        return None
    try:
        found = ground(new, piston.at.direction, piston.shed)
    except NoEstimate:
        return None
    return found.curve if found.origin.kind == "carried over" else None


def _force(piston: Piston, curve: Curve | None, now: PartsCurve, hard: float) -> Floats:
    v = piston.target.speed
    if curve is not None:
        return curve.force(hard, v, piston.ring if curve.takes_preload else None)
    if piston.base is None:
        return now.force(hard, v, piston.ring)
    today = piston.base.curve.force(hard, v, piston.base.ring(piston.at))
    return today * (1.0 + ratio(piston.now, now, hard, v, piston.ring).share)


def _forecast(piston: Piston, curve: Curve | None, now: PartsCurve, hard: float) -> Prediction:
    """Force and band at the target's speeds; where the bench's curve does not follow the parts by
    itself, times what the parts make of both (`carried.ratio`)."""
    v = piston.target.speed
    if curve is not None:
        return curve.predict(hard, v, piston.ring if curve.takes_preload else None)
    if piston.base is None:
        return now.predict(hard, v, piston.ring)
    found = piston.base.curve.predict(hard, v, piston.base.ring(piston.at))
    by = ratio(piston.now, now, hard, v, piston.ring)
    force = found.force * (1.0 + by.share)
    below = np.hypot((found.force - found.low) * (1.0 + by.share), found.force * by.less)
    above = np.hypot((found.high - found.force) * (1.0 + by.share), found.force * by.more)
    basis = weakest(found.basis, Basis.FROM_PARTS)
    return Prediction(v, force, np.maximum(force - below, 0.0), force + above, basis)
