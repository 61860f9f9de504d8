"""A dyno sheet judged: everything that is doubtful about it, by whatever road it came in.

The limits are our own, no source, unless a line says otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from trackside.analysis.bench_fit import DIRECTIONS, Counting
from trackside.analysis.row_checks import (
    STRAY,
    contradictory,
    odd_run,
    shares,
    stray_rows,
    unfollowed,
)
from trackside.analysis.sheet_change import Changes, SheetChange
from trackside.analysis.sheet_gas import gas_left
from trackside.damper.estimation import RunDoubt
from trackside.damper.sheet_fit import DirectionFit
from trackside.records import DynoRow, DynoSheet, SheetWarning

POOR = 5.0
"""A flow model that misses by more % rms is poor."""
FEW_STRAYS = 3
"""So many rows off their curve are typos; more of them are a poor fit."""
DOUBTED = 0.5
"""A run that is wrong as likely as this is named."""
FAR = {"gain": STRAY, "position": 2.5, "preload": 2.5}
"""A run that is off by more (share of force, clicks) is another one, mixed up."""
SLOW = 0.06
"""m/s: a sheet that ends below may be in another unit."""
WARM_UP = 20.0
"""Oil that warmed by more K during the sheet moved its forces."""
FEW_SPEEDS = 6
"""A direction run at fewer speeds leaves bleed, crack and port to one another."""
LARGE_CHANGE = 0.30
"""A force that changed by more than this share against the sheet before is asked about."""


def sheet_warnings(
    sheet: DynoSheet,
    fits: Mapping[str, DirectionFit],
    counting: Counting | None = None,
    preload_counting: Counting | None = None,
    changes: Changes | None = None,
) -> tuple[SheetWarning, ...]:
    """Every doubt about the sheet, the fits of its directions, and what changed against the sheet
    before; the sheet's own warnings, which came with its file, first.

    `counting` and `preload_counting` say how its positions were taken where nobody stated it.
    """
    found = [
        *sheet.warnings,
        *_counted(counting, preload_counting),
        *_rows(sheet, fits),
        *_whole_sheet(sheet),
        *_changed(changes or {}),
    ]
    return tuple(dict.fromkeys(found))


def _counted(counting: Counting | None, preload: Counting | None) -> Iterator[SheetWarning]:
    if counting and not counting.stated:
        yield SheetWarning(name=f"counting_{counting.ground}", words=counting.counted_from)
    if preload:
        yield SheetWarning(name=f"preload_counting_{preload.ground}", words=preload.counted_from)


def _rows(sheet: DynoSheet, fits: Mapping[str, DirectionFit]) -> Iterator[SheetWarning]:
    for direction in DIRECTIONS:
        rows = sheet.of_direction(direction)
        if not rows:
            yield SheetWarning(name="no_rows", direction=direction)
        elif fit := fits.get(direction):
            yield from _direction(sheet, fit)
    bump, rebound = (set(sheet.positions(direction)) for direction in DIRECTIONS)
    for less, more, direction in ((rebound, bump, "rebound"), (bump, rebound, "bump")):
        if less and less < more:  # a file cut off between two lines looks whole
            lacking = ", ".join(f"{position:g}" for position in sorted(more - less))
            yield SheetWarning(name="positions_lacking", direction=direction, words=lacking)


def _direction(sheet: DynoSheet, fit: DirectionFit) -> Iterator[SheetWarning]:
    direction = fit.direction
    rows = [sheet.rows[int(row)] for row in fit.rows]
    if len(fit.positions) == 1:
        carried = "shop_rule_only" if fit.click_law else "one_position"
        yield SheetWarning(name=carried, direction=direction, position=rows[0].position)
    speeds = len({row.speed for row in rows})
    if speeds < FEW_SPEEDS:
        yield SheetWarning(name="few_speeds", direction=direction, figures={"speeds": speeds})
    strays = stray_rows(fit, sheet)
    rms = 100.0 * unfollowed(fit, sheet, strays)
    doubted = [doubt for doubt in fit.found.doubts if doubt.likely > DOUBTED]
    mixed = (
        odd_run(fit, sheet, strays)
        or contradictory(fit, sheet, strays)
        or any(abs(doubt.by) > FAR[doubt.of] for doubt in doubted)
    )
    odd = rms > POOR and (mixed or len(strays) > FEW_STRAYS)
    if rms > POOR:  # said before any row is blamed
        share = shares(fit, sheet, fit.misses)
        worst = rows[int(np.argmax(np.abs(share)))]
        yield SheetWarning(
            name="poor_fit" if odd else "valve_not_followed",
            serious=odd,
            direction=direction,
            position=worst.position,
            preload_position=worst.preload_position,
            speed=worst.speed,
            figures={"rms_percent": rms},
        )
    yield from (_runs(rows, doubt) for doubt in doubted)
    for place in strays if not odd and len(strays) <= FEW_STRAYS else ():
        yield _stray(rows[place], float(fit.residuals[place]))


def _runs(rows: list[DynoRow], doubt: RunDoubt) -> SheetWarning:
    """One run that reads off; or a count that is doubted, of one run or of all that share it."""
    row = rows[doubt.row]
    position: float | None = row.position
    preload = row.preload_position
    figures = {"share": doubt.by}
    if doubt.of != "gain":
        turned = doubt.of == "preload"
        same = {
            (r.position, r.preload_position)
            for r in rows
            if (r.preload_position == preload if turned else r.position == position)
        }
        if len(same) > 1:
            position, preload = (None, preload) if turned else (position, None)
        figures = {"clicks": doubt.by, "runs": len(same)}
    return SheetWarning(
        name="run_off" if doubt.of == "gain" else "position_doubtful",
        direction=row.direction,
        position=position,
        preload_position=preload,
        figures=figures,
    )


def _stray(row: DynoRow, miss: float) -> SheetWarning:
    return SheetWarning(
        name="stray_row",
        direction=row.direction,
        position=row.position,
        preload_position=row.preload_position,
        speed=row.speed,
        figures={"force_N": row.force, "share": abs(miss / (row.force - miss))},
    )


def _whole_sheet(sheet: DynoSheet) -> Iterator[SheetWarning]:
    if left := gas_left(sheet):
        yield left
    fastest = max(row.speed for row in sheet.rows)
    if fastest < SLOW:
        yield SheetWarning(name="unit_doubtful", serious=True, speed=fastest)
    oil = [row.oil_C for row in sheet.rows if row.oil_C is not None]
    if oil and max(oil) - min(oil) > WARM_UP:
        yield SheetWarning(name="warming_oil", figures={"from_C": min(oil), "to_C": max(oil)})


def _changed(changes: Changes) -> Iterator[SheetWarning]:
    for direction, change in changes.items():
        if isinstance(change, SheetChange) and (most := largest_change(change)):
            speed, share = most
            yield SheetWarning(
                name="large_change",
                serious=True,
                direction=direction,
                speed=speed,
                figures={"mean": change.mean, "share": share},
            )


def largest_change(change: SheetChange) -> tuple[float, float] | None:
    """(rod speed, share) where the force changed most, if that is more than LARGE_CHANGE and
    more than its band; None otherwise. Gas left in moves the slow rows alone, so each speed counts.
    """
    at = int(np.argmax(np.abs(change.share)))
    share = float(change.share[at])
    if abs(share) <= max(LARGE_CHANGE, change.band):
        return None
    return float(change.speed[at]), share
