"""Two dyno sheets of one build: how much force was lost between them.

Both fits are asked at the positions and rod speeds that both sheets have; the earlier one is
carried to the oil temperature of the later, as far as both are known.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trackside.analysis.build_oil import oil_of
from trackside.analysis.shed import Shed, fit_of
from trackside.damper.oil import ratios
from trackside.damper.sheet_fit import DirectionFit
from trackside.damper.wear import gained
from trackside.errors import BadNumber, NoEstimate, TracksideError
from trackside.records import Build, DynoSheet

LOSS = 0.04
"""A damper that lost more of its force asks for a strip-down: our own limit, no source."""
_SAME_POSITION = 1e-6
_REACH = 1.96
ALIKE_C = 5.0
_POINTS = 9


@dataclass(frozen=True)
class SheetChange:
    """One direction, later against earlier: `share` of the force gained or lost at rod speeds
    (m/s), (n,) each, mean over `positions` (clicks from full hard); `mean` of it and half of its
    95 % band; the earlier curve at `oil_C` (°C) of the later where both are known."""

    direction: str
    positions: tuple[float, ...]
    speed: NDArray[np.float64]
    share: NDArray[np.float64]
    mean: float
    band: float
    oil_C: tuple[float, float] | None

    @property
    def lost(self) -> bool:
        """Whether more than LOSS of the force is gone, beyond what the bench itself may miss."""
        return -self.mean > LOSS and -self.mean > self.band

    @property
    def open(self) -> bool:
        """Whether a loss of more than LOSS is neither found nor ruled out."""
        return not self.lost and self.band - self.mean > LOSS


Changes = dict[str, SheetChange | NoEstimate]


def sheet_changes(earlier: DynoSheet, later: DynoSheet, build: Build) -> Changes:
    """Each direction that either sheet has; NoEstimate says why it cannot be compared."""
    found: Changes = {}
    try:
        before, after = fit_of(earlier, build), fit_of(later, build)
    except TracksideError as error:
        return {d: NoEstimate(error.cause, error.remedy) for d in ("bump", "rebound")}
    for direction in ("bump", "rebound"):
        was, now = getattr(before, direction), getattr(after, direction)
        if was is None and now is None:
            continue
        try:
            if was is None or now is None:
                raise _nothing_shared(direction)
            speed = _shared_speeds(earlier, later, direction)
            oil = _oil(build, (before.oil_C, after.oil_C))
            found[direction] = _change(was, now, speed, *oil)
        except NoEstimate as reason:
            found[direction] = reason
    return found


def _change(
    was: DirectionFit,
    now: DirectionFit,
    speed: NDArray[np.float64],
    viscosity: float,
    density: float,
    oil_C: tuple[float, float] | None,
) -> SheetChange:
    positions = tuple(p for p in was.positions if _among(p, now.positions))
    rings = tuple(p for p in was.preloads if _among(p, now.preloads))
    if not positions or not rings:
        raise _nothing_shared(was.direction)
    known = (viscosity, density) if oil_C else None
    gain = gained(was, now, positions, rings[0], speed, known)
    mean = float(np.expm1(gain.log))
    band = _REACH * gain.deviation * (1.0 + mean)
    return SheetChange(was.direction, positions, speed, gain.share, mean, band, oil_C)


def _among(position: float, others: tuple[float, ...]) -> bool:
    return any(abs(position - other) < _SAME_POSITION for other in others)


def _shared_speeds(earlier: DynoSheet, later: DynoSheet, direction: str) -> NDArray[np.float64]:
    run = [
        [row.speed for row in sheet.of_direction(direction) if row.speed > 0.0]
        for sheet in (earlier, later)
    ]
    first, last = max(map(min, run)), min(map(max, run))
    if first >= last:
        raise _nothing_shared(direction)
    return np.linspace(first, last, _POINTS)


def _nothing_shared(direction: str) -> NoEstimate:
    return NoEstimate(
        f"the sheets share no {direction} position and rod speed",
        "run the positions of the earlier sheet again",
    )


def _oil(
    build: Build, oils: tuple[float | None, float | None]
) -> tuple[float, float, tuple[float, float] | None]:
    """Viscosity and density ratio from the earlier sheet's oil to the later's; 1 where unknown."""
    before, after = oils
    if before is None or after is None:
        return 1.0, 1.0, None
    try:
        viscosity, density = (float(r) for r in ratios(oil_of(build), before, after))
    except BadNumber:
        return 1.0, 1.0, None
    return viscosity, density, (before, after)


def against_first(build: Build, shed: Shed) -> tuple[DynoSheet, Changes] | None:
    """A build's first sheet that may count, and its newest against it; None with fewer than two."""
    sheets = [sheet for sheet in shed.sheets_of(build) if not sheet.waits]
    if len(sheets) < 2:
        return None
    return sheets[0], sheet_changes(sheets[0], sheets[-1], build)
