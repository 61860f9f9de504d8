"""What a build's parts alone make, beside the force that its own dyno sheet gives."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from trackside.analysis.estimate import Estimate, Setting, Speeds, ground
from trackside.analysis.origin import Origin
from trackside.analysis.parts import parts_curve
from trackside.analysis.shed import Shed, fit_of
from trackside.damper.curve import Prediction
from trackside.damper.flow import Floats
from trackside.damper.parts import PartsCurve
from trackside.errors import TracksideError
from trackside.records import Build, DynoSheet

MOST: Final = 1.4
"""Where sheet and parts are further apart than so many times what both bands explain, at one speed
and as the mean of all positions, the parts on record are not those that ran: of 150 made dampers
0.7 % were called so with their own parts, 43 % with others (measured on the parts bench). Our own,
no source."""


@dataclass(frozen=True)
class PartsApart:
    """Parts that cannot have made the sheet. At `speed` (m/s), the worst one, it makes so much
    `more` than they do, as a share of their force; they are `times` as far apart as both bands
    explain. Both are means over the sheet's positions."""

    direction: str
    speed: float
    more: float
    times: float


def parts_beside(at: Setting, shed: Shed, speeds: Speeds) -> Estimate | None:
    """The parts' curve at a setting whose build has a sheet of its own; None where there is no such
    sheet, or the parts are not all on record: then nothing is beside the curve."""
    try:
        base = ground(at.build, at.direction, shed)
        if base.origin.kind != "sheet" or base.parts is None:
            return None
        found = base.parts.predict(at.from_hard, speeds, _ring(at, base.parts))
    except TracksideError:
        return None
    return Estimate(
        at, found.speed, found.force, found.low, found.high, found.basis, Origin("parts")
    )


def parts_apart(at: Setting, shed: Shed, speeds: Speeds) -> PartsApart | None:
    """Whether the parts on record can have made the build's own sheet, over all of its positions
    and those of the speeds (m/s) that it ran; None where they can, or nothing is beside it."""
    try:
        base = ground(at.build, at.direction, shed)
        if base.origin.kind != "sheet" or base.parts is None or base.sheet is None:
            return None
        rings = base.ring(at), _ring(at, base.parts)
        return _apart(base.sheet, at.build, at.direction, rings, tuple(map(float, speeds)))
    except TracksideError:
        return None


@lru_cache(maxsize=64)
def _apart(
    sheet: DynoSheet,
    build: Build,
    direction: str,
    rings: tuple[float | None, float | None],
    speeds: tuple[float, ...],
) -> PartsApart | None:
    """The same, worked out once: a page asks again at every click."""
    bench, parts = fit_of(sheet, build).direction(direction), parts_curve(build, direction)
    ran = np.asarray(speeds)
    ran = ran[bench.ran(ran)]
    pairs = [
        (bench.predict(at, ran, rings[0]), parts.predict(at, ran, rings[1]))
        for at in bench.positions
    ]
    if not ran.size:
        return None
    reached = np.mean([_reached(own, made) for own, made in pairs], axis=0)
    worst = int(reached.argmax())
    if reached[worst] <= MOST:
        return None
    more = float(np.mean([own.force[worst] / made.force[worst] - 1.0 for own, made in pairs]))
    return PartsApart(direction, float(ran[worst]), more, float(reached[worst]))


def _ring(at: Setting, parts: PartsCurve) -> float | None:
    return at.preload_from_hard if parts.takes_preload else None


def _reached(sheet: Prediction, parts: Prediction) -> Floats:
    """How far the two are apart, in reaches of both bands towards each other."""
    apart = sheet.force - parts.force
    above = np.hypot(parts.high - parts.force, sheet.force - sheet.low)
    below = np.hypot(parts.force - parts.low, sheet.high - sheet.force)
    reach = np.where(apart > 0.0, above, below)
    return np.abs(apart) / np.maximum(reach, 1e-9)
