"""Slips of the pen in a dyno sheet that no fit should see."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from trackside.damper.sheet_fit import DirectionFit
from trackside.errors import BadSheet
from trackside.records import DynoSheet
from trackside.units import LBF

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
ODD = 2.5
"""So many times more than any other is one run off before it is called odd (our own, no
source)."""
UNLIKE = 1.8
"""Mean squares of what a run misses unlike its neighbours, over those of what it and they miss:
alike runs give nothing, one that misses alone at an end 0.75 and between them 3, runs of scatter
alone 1.5, runs that contradict up to 4 (derived)."""
_SLACK = 2.5  # standard deviations of the bench's scatter that say nothing of a run
_SIGMAS = 6.0
_SHARED, _SPREAD = 4, 4.0  # speeds that two runs share, the fastest so many times the slowest
_ALIKE, _NEAR = 0.35, 0.3  # of ln force: a step alike at every speed, near that of another unit
_LEAST = 0.02  # of the largest force: below it a share says nothing


def shares(fit: DirectionFit, sheet: DynoSheet, misses: NDArray[np.float64]) -> NDArray[np.float64]:
    """`misses` (N) of the fitted rows as shares of their force, in the order of the fit's rows."""
    force = np.array([sheet.rows[int(row)].force for row in fit.rows])
    return np.asarray(misses / np.maximum(force, _LEAST * force.max()))


def stray_rows(fit: DirectionFit, sheet: DynoSheet) -> list[int]:
    """Places (in the fit's order) of the rows that lie off their curve by far more than the rest:
    the fit lets them count for little. Such a row is off what all other rows say of it, the
    sheet's own residual included, by more than the bench scatters."""
    miss = np.abs(shares(fit, sheet, fit.residuals))
    scatter = 1.4826 * np.median(miss)  # of a normal distribution: textbook
    off = (miss > np.maximum(STRAY, _SIGMAS * scatter)) & (fit.found.strange > _SIGMAS)
    return np.flatnonzero(off).tolist()


def unfollowed(fit: DirectionFit, sheet: DynoSheet, without: list[int]) -> float:
    """Share of force (rms) that the flow network misses beyond the bench's own scatter, rows
    `without` (places in the fit's order) left out."""
    force = np.array([sheet.rows[int(row)].force for row in fit.rows])
    beyond = fit.misses**2 - fit.scatter(np.abs(force)) ** 2
    squares = beyond / np.maximum(force, _LEAST * force.max()) ** 2
    return float(np.sqrt(max(np.mean(np.delete(squares, without)), 0.0)))


def _beyond(
    fit: DirectionFit, sheet: DynoSheet, without: list[int], slack: float = 0.0
) -> NDArray[np.float64]:
    """What the flow network misses beyond `slack` standard deviations of the bench's scatter, N, in
    the order of the fit's rows; nothing where it is no more than rubbing seals can be, and in the
    rows `without`."""
    force = np.array([sheet.rows[int(row)].force for row in fit.rows])
    more = np.abs(fit.misses) - slack * fit.scatter(np.abs(force))
    more[more < _LEAST * force.max()] = 0.0
    more[without] = 0.0
    return np.asarray(np.sign(fit.misses) * more)


def contradictory(fit: DirectionFit, sheet: DynoSheet, without: list[int]) -> bool:
    """Whether a run misses the flow network otherwise than the runs on either side of it do, rows
    `without` left out: no valve changes its shape from click to click."""
    share = shares(fit, sheet, _beyond(fit, sheet, without))
    rows = [sheet.rows[int(row)] for row in fit.rows]
    table: dict[tuple[float, float | None], dict[float, float]] = {}
    for row, off in zip(rows, share.tolist(), strict=True):
        table.setdefault((row.speed, row.preload_position), {})[row.position] = off
    apart: list[float] = []
    whole: list[float] = []
    for run in table.values():
        off = [run[position] for position in sorted(run)]
        for left, here, right in zip(off, off[1:], off[2:], strict=False):
            apart.append(here - 0.5 * (left + right))
            whole += left, here, right
    return bool(apart) and bool(np.mean(np.square(apart)) > UNLIKE * np.mean(np.square(whole)))


def _runs(
    fit: DirectionFit, sheet: DynoSheet, misses: NDArray[np.float64]
) -> dict[tuple[float, float | None], float]:
    """Of each run, at (position, preload), the share of force that `misses` (N) are at the median
    of its rows."""
    share = shares(fit, sheet, misses)
    runs: dict[tuple[float, float | None], list[float]] = {}
    for row, off in zip(fit.rows, share.tolist(), strict=True):
        at = sheet.rows[int(row)]
        runs.setdefault((at.position, at.preload_position), []).append(off)
    return {place: float(np.median(np.abs(off))) for place, off in runs.items()}


def odd_run(fit: DirectionFit, sheet: DynoSheet, without: list[int]) -> bool:
    """Whether one run lies off the flow network and the others do not, rows `without` left out:
    mixed up, perhaps."""
    off = sorted(_runs(fit, sheet, _beyond(fit, sheet, without, _SLACK)).values())
    return len(off) > 1 and off[-1] > STRAY and off[-1] > ODD * max(off[-2], _LEAST)


def refuse_strange_run(fit: DirectionFit, sheet: DynoSheet) -> None:
    """BadSheet when runs have nothing to do with each other: other units, gas, another damper.

    Told by a run that lies off the flow network of all, or by a network that misses all but its
    worst rows: what the sheet says beyond the network would follow any rows.
    """
    miss = np.abs(shares(fit, sheet, fit.misses))
    runs = _runs(fit, sheet, fit.misses)
    (position, preload), off = max(runs.items(), key=lambda run: run[1])
    most = np.sort(miss)[: -max(1, miss.size // 20)]
    rms = float(np.sqrt(np.mean(most**2)))
    if len(runs) < 2 or (off < STRANGE and rms < HOPELESS):
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
        _refuse_other_units(sheet, direction)
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


def _refuse_other_units(sheet: DynoSheet, direction: str) -> None:
    """BadSheet where the force steps by the factor between N and lbf, alike at every speed, with
    two runs or more on either side: a bleed gives less and less as speed rises. One run alone at
    the end may be a bleed that is wide open."""
    runs: dict[float | None, dict[float, dict[float, float]]] = {}
    for row in sheet.of_direction(direction):
        if row.speed > 0 and row.force != 0:
            of_ring = runs.setdefault(row.preload_position, {})
            of_ring.setdefault(row.position, {})[row.speed] = abs(row.force)
    for of_ring in runs.values():
        positions = sorted(of_ring)
        for left, right in pairwise(positions[1:-1]):
            here, there = of_ring[left], of_ring[right]
            speeds = sorted(here.keys() & there.keys())
            if len(speeds) < _SHARED or speeds[-1] < _SPREAD * speeds[0]:
                continue
            steps = np.log([here[v] / there[v] for v in speeds])
            if np.ptp(steps) < _ALIKE and abs(abs(float(np.mean(steps))) - np.log(LBF)) < _NEAR:
                raise BadSheet(
                    f"{sheet.source}: the {direction} runs do not go together: between position "
                    f"{left:g} and {right:g} the force steps by {np.exp(abs(np.mean(steps))):.1f} "
                    "times, alike at every speed",
                    "are some in other units (lbf under N?), of another damper, or is gas force in "
                    "them?",
                )
