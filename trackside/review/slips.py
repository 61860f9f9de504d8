"""Slips of the pen in a dyno sheet that no fit should see."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from trackside.damper.fit import DirectionFit
from trackside.errors import BadSheet
from trackside.records import DynoSheet

MOST_CLICKS = 1000
LEAST_STEP = 0.01
"""Positions beyond, or closer together, are slips: no adjuster is counted so."""
STRANGE = 0.3
"""A run that lies this share off the fit of all, half of its rows or more, is not of this damper,
or not in these units (our own, no source)."""
HOPELESS = 0.2
"""A fit that misses by this share (rms, the worst twentieth of the rows left out) is none."""
STRAY = 0.15
"""A row off its curve by this share, and by `_SIGMAS` of the others' scatter, is named."""
_SIGMAS = 6.0
_LEAST = 0.02  # of the largest force: below it a share says nothing


def shares(fit: DirectionFit, sheet: DynoSheet) -> NDArray[np.float64]:
    """What each fitted row misses, as a share of its force, in the order of the fit's rows."""
    force = np.array([sheet.rows[int(row)].force for row in fit.rows])
    return np.asarray(fit.residuals / np.maximum(force, _LEAST * force.max()))


def stray_rows(fit: DirectionFit, sheet: DynoSheet) -> list[int]:
    """Places (in the fit's order) of the rows that lie off their curve by far more than the rest:
    the fit lets them count for little."""
    miss = np.abs(shares(fit, sheet))
    scatter = 1.4826 * np.median(miss)  # of a normal distribution: textbook
    return np.flatnonzero(miss > np.maximum(STRAY, _SIGMAS * scatter)).tolist()


def refuse_strange_run(fit: DirectionFit, sheet: DynoSheet) -> None:
    """BadSheet when runs have nothing to do with each other: other units, gas, another damper.

    Told by a run that lies off the fit of all, or by a fit that misses all but its worst rows.
    """
    miss = np.abs(shares(fit, sheet))
    runs: dict[tuple[float, float | None], list[float]] = {}
    for row, share in zip(fit.rows, miss.tolist(), strict=True):
        at = sheet.rows[int(row)]
        runs.setdefault((at.position, at.preload_position), []).append(share)
    (position, preload), off = max(runs.items(), key=lambda run: np.median(run[1]))
    most = np.sort(miss)[: -max(1, miss.size // 20)]
    rms = float(np.sqrt(np.mean(most**2)))
    if len(runs) < 2 or (np.median(off) < STRANGE and rms < HOPELESS):
        return
    ring = "" if preload is None else f", preload {preload:g}"
    raise BadSheet(
        f"{sheet.source}: the {fit.direction} runs do not go together: the fit misses them by "
        f"{rms:.0%}, and most at position {position:g}{ring}",
        "are some in other units (lbf under N?), of another damper, or is gas force in them?",
    )


def refuse_slips(sheet: DynoSheet) -> None:
    """BadSheet for positions that are no count of clicks, and for a direction without any force."""
    for direction in ("bump", "rebound"):
        rows, positions = sheet.of_direction(direction), sheet.positions(direction)
        if rows and not any(row.force for row in rows):
            raise BadSheet(
                f"{sheet.source}: every {direction} force is zero", "check the force column"
            )
        for position in positions:
            if not 0 <= position <= MOST_CLICKS:
                raise BadSheet(
                    f"{sheet.source}: position {position:g} in {direction} is no count of clicks",
                    f"count from 0 to {MOST_CLICKS}",
                )
        for a, b in pairwise(positions):
            if b - a < LEAST_STEP:
                raise BadSheet(
                    f"{sheet.source}: {direction} positions {a:g} and {b:g} are one",
                    "write the same number for the same click",
                )
