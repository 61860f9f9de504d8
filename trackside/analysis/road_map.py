"""A road over all positions of a corner's bleed adjusters: tyre load against body acceleration."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass

import numpy as np

from trackside.analysis.estimate import Setting, ground
from trackside.analysis.road_inputs import ROD_SPEEDS, RoadTables, at_wheel_both, corner_inputs
from trackside.corner.quarter_car import DamperAtWheel, on_road
from trackside.corner.road import Road
from trackside.damper.clicks import as_counted
from trackside.damper.flow import Floats
from trackside.errors import NoEstimate
from trackside.records import Session


@dataclass(frozen=True)
class RoadMap:
    """Every pair of positions, (bumps, rebounds): rms of body (m/s²) and tyre load (N); the
    positions that have a force, as the crew counts, from full hard to full soft; `here` the pair as
    it is set, its own body and tyre last. A direction without an
    adjuster has one position, nan; where one knob turns both, the rebounds are one
    column and go with the bumps."""

    corner: str
    bump: Floats
    rebound: Floats
    body: Floats
    tyre: Floats
    here: tuple[float, float, float, float]
    shared: bool
    doubt: tuple[float, float]
    """How far the damper's band moves body and tyre load as it is set, the wider side."""

    def as_good(self, figure: Floats) -> int:
        """How many pairs are nearer to the least of `body` or `tyre` than that band."""
        doubt = self.doubt[0 if figure is self.body else 1]
        return int(np.count_nonzero(figure - figure.min() <= doubt))

    def least(self, figure: Floats) -> tuple[float, float, float, float]:
        """The pair at which `body` or `tyre` is least, with its body and tyre there."""
        row, column = np.unravel_index(int(np.argmin(figure)), figure.shape)
        bump = float(self.bump[row])
        rebound = bump if self.shared else float(self.rebound[column])
        return bump, rebound, float(self.body[row, column]), float(self.tyre[row, column])


def road_map(session: Session, corner: str, road: Road, tables: RoadTables) -> RoadMap:
    """The corner over all positions. NoEstimate names what is missing, or that nothing turns."""
    inputs = corner_inputs(session, corner, tables)
    sides = [_side(at, tables) for at in inputs.settings]
    adjusters = [at.adjuster for at in inputs.settings]
    if not any(adjusters):
        raise NoEstimate(f"the damper at {corner} has no bleed adjuster", "there is no map of it")
    first = adjusters[0]
    shared = first is not None and first == adjusters[1]
    (bump, down), (rebound, up) = sides
    if shared:
        both = min(bump.size, rebound.size)  # those that have none are the softest
        bump, pairs = bump[:both], (down[:both, None], up[:both, None])
        rebound = rebound[:1]
    else:
        shape = (bump.size, rebound.size, ROD_SPEEDS.size)
        pairs = np.broadcast_to(down[:, None], shape), np.broadcast_to(up[None], shape)
    forces = at_wheel_both(*pairs, inputs.motion_ratio)
    found = on_road(inputs.car, DamperAtWheel(inputs.speeds, forces), road)
    now = on_road(inputs.car, DamperAtWheel(inputs.speeds, inputs.forces), road)
    at = [np.nan if one.position is None else one.position for one in inputs.settings]
    here = (at[0], at[1], float(now.body[0]), float(now.tyre[0]))
    body, tyre = (float(np.abs(rows - rows[0]).max()) for rows in (now.body, now.tyre))
    return RoadMap(corner, bump, rebound, found.body, found.tyre, here, shared, (body, tyre))


def _side(at: Setting, tables: RoadTables) -> tuple[Floats, Floats]:
    """Positions (p,) as counted, hard to soft, and forces (p, n) at the rod speeds."""
    stands_on = ground(at.build, at.direction, tables.shed)
    knob, ring = at.adjuster, stands_on.ring(at)
    if knob is None:
        return np.array([np.nan]), stands_on.curve.force(0.0, ROD_SPEEDS, ring)[None]
    hard = np.arange(0.0, knob.clicks + knob.step / 2.0, knob.step)
    counted, forces = [], []
    for position in hard.tolist():
        with suppress(NoEstimate):  # a rule may leave no force so far out
            forces.append(stands_on.curve.force(position, ROD_SPEEDS, ring))
            counted.append(as_counted(position, knob.clicks, knob.counted_from))
    if not forces:
        raise NoEstimate(f"no position of {at.damper} has a force", "look at its curve")
    return np.array(counted), np.array(forces)
