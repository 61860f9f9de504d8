"""A dyno sheet as columns, and the checks that keep a wrong one from being fitted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trackside.damper.flow import Floats
from trackside.errors import BadSheet

DIRECTIONS = ("bump", "rebound")
LEAST_ROWS = 4  # in one direction, and speeds among them
MOST_FITTED = 240
"""Rows of one direction that are fitted together: time grows with their third power."""
_LEAST_FITTED = 6  # of each run
_MOST_RUNS = 120  # no sheet of a damper has more
_POINTS = 24
_FALL = 0.06  # a force may fall by this share, and by _FLAT, and still be scatter
_FLAT = 8.0  # N
_FASTEST = 20.0  # m/s
_STRONGEST = 1e5  # N


@dataclass(frozen=True)
class SheetRows:
    """n rows: clicks from full hard, "bump" or "rebound", rod speed m/s, force magnitude N.

    oil_C: oil temperature of each row or None. preload_from_hard: a second adjuster in the same
    direction, on the stack's preload, clicks from full hard; None if there is none.
    """

    position_from_hard: ArrayLike
    direction: list[str] | tuple[str, ...] | np.ndarray
    speed: ArrayLike
    force: ArrayLike
    oil_C: ArrayLike | None = None
    preload_from_hard: ArrayLike | None = None


@dataclass(frozen=True)
class Side:
    """The rows of one direction as arrays, and where they stand in the sheet (from 0)."""

    direction: str
    rows: np.ndarray
    position: Floats
    preload: Floats
    speed: Floats
    force: Floats


def sides(sheet: SheetRows, gas_force: float = 0.0) -> dict[str, Side]:
    """The checked rows of each direction that has any. BadSheet says what is wrong, and where.

    gas_force (N) is in the sheet's forces, for bump and against rebound, and is taken out first:
    a load cell may then read below zero where the rod moves slowly.
    """
    direction = np.asarray([str(word) for word in sheet.direction])
    n = direction.size
    columns = {
        "position": sheet.position_from_hard,
        "speed": sheet.speed,
        "force": sheet.force,
        "preload": np.zeros(n) if sheet.preload_from_hard is None else sheet.preload_from_hard,
    }
    arrays = {name: np.asarray(column, float) for name, column in columns.items()}
    if n == 0 or any(array.shape != (n,) for array in arrays.values()):
        raise BadSheet("the columns of the sheet differ in length, or are empty", "check the file")
    for name, array in arrays.items():
        bad = np.flatnonzero(~np.isfinite(array))
        if bad.size:
            raise BadSheet(
                f"row {bad[0] + 1} has no {name}", "fill in the number or leave the row out"
            )
    unknown = np.flatnonzero(~np.isin(direction, DIRECTIONS))
    if unknown.size:
        raise BadSheet(
            f"row {unknown[0] + 1} has the direction “{direction[unknown[0]]}”",
            "write bump or rebound",
        )
    arrays["force"] = arrays["force"] - gas_force * np.where(direction == "bump", 1.0, -1.0)
    slack = max(_FLAT, 0.05 * arrays["force"].max() * (gas_force != 0.0))
    _check_size(arrays["speed"], arrays["force"], slack)
    found = {}
    for word in DIRECTIONS:
        rows = np.flatnonzero((direction == word) & (arrays["speed"] > 0.0))
        if rows.size:
            position, preload, speed, force = (
                arrays[name][rows] for name in ("position", "preload", "speed", "force")
            )
            found[word] = Side(word, rows, position, preload, speed, force)
            _check(found[word])
    if not found:
        raise BadSheet("no row of the sheet has a speed above zero", "check the speed column")
    return found


def fitted_rows(side: Side) -> np.ndarray:
    """Places (k,) of the rows that are fitted, ascending: all, or of runs with very many points
    those that are spread evenly over the root of speed, slowest and fastest among them."""
    if side.rows.size <= MOST_FITTED:
        return np.arange(side.rows.size)
    _, run = np.unique(np.column_stack([side.position, side.preload]), axis=0, return_inverse=True)
    runs = run.reshape(-1)
    each = max(_LEAST_FITTED, MOST_FITTED // (int(runs.max()) + 1))
    found: list[np.ndarray] = []
    for n in range(int(runs.max()) + 1):
        here = np.flatnonzero(runs == n)
        here = here[np.argsort(side.speed[here], kind="stable")]
        if here.size > each:
            root = np.sqrt(side.speed[here])
            wanted = np.searchsorted(root, np.linspace(root[0], root[-1], each))
            here = here[np.unique(np.minimum(wanted, here.size - 1))]
        found.append(here)
    return np.sort(np.concatenate(found))


def _check_size(speed: Floats, force: Floats, slack: float) -> None:
    for name, array, least, most, remedy in (
        ("speed", speed, 0.0, _FASTEST, "in mm/s perhaps, where m/s is expected"),
        ("force", force, -slack, _STRONGEST, "check its unit"),
    ):
        low, high = np.flatnonzero(array < least), np.flatnonzero(array > most)
        if low.size:
            raise BadSheet(
                f"row {low[0] + 1} has a {name} below zero",
                "give magnitudes, and say whether gas force is still in them",
            )
        if high.size:
            raise BadSheet(f"row {high[0] + 1} has a {name} of {array[high[0]]:g}", remedy)


def _check(side: Side) -> None:
    if np.unique(side.speed).size < LEAST_ROWS:
        raise BadSheet(
            f"{side.direction} has {side.rows.size} rows at {np.unique(side.speed).size} speeds",
            f"measure at least {LEAST_ROWS} speeds in each direction",
        )
    curves = {}
    for position, preload in sorted(set(zip(side.position, side.preload, strict=True))):
        here = (side.position == position) & (side.preload == preload)
        curves[position, preload] = _mean_curve(side.speed[here], side.force[here])
        _check_rising(side.direction, position, *curves[position, preload])
    if len(curves) > _MOST_RUNS:
        raise BadSheet(
            f"{side.direction} has {len(curves)} runs, each at a position of its own",
            f"at most {_MOST_RUNS} can be fitted: is the position column another one?",
        )
    for axis, name in ((0, "adjuster"), (1, "preload adjuster")):
        _check_order(side.direction, curves, axis, name)


def _mean_curve(speed: Floats, force: Floats) -> tuple[Floats, Floats]:
    speeds, which = np.unique(speed, return_inverse=True)
    return speeds, np.bincount(which, force) / np.bincount(which)


def _falls(force: Floats) -> bool:
    peak = np.maximum.accumulate(force)
    return bool(np.any(peak - force > np.maximum(_FALL * peak, _FLAT)))


def _check_rising(direction: str, position: float, speed: Floats, force: Floats) -> None:
    """One row off its curve is left to the robust fit; a curve that falls is not a damper's. Of
    very many points neighbours are taken together: their scatter alone would fall by more."""
    if force.size > _POINTS:
        speed, force = (
            np.array([np.median(part) for part in np.array_split(column, _POINTS)])
            for column in (speed, force)
        )
    if not _falls(force):
        return
    if any(not _falls(np.delete(force, k)) for k in range(force.size)) and force.size > 3:
        return
    worst = int(np.argmax(np.maximum.accumulate(force) - force))
    raise BadSheet(
        f"at {position:g} clicks from full hard the {direction} force falls as speed rises"
        f" (near {speed[worst] * 1e3:.0f} mm/s)",
        "check that rows, speeds and directions were not mixed up",
    )


def _check_order(
    direction: str,
    curves: dict[tuple[float, float], tuple[Floats, Floats]],
    axis: int,
    name: str,
) -> None:
    """Opening an adjuster must not raise the force; the other adjuster held still."""
    for first, second in (
        (a, b) for a in curves for b in curves if a[1 - axis] == b[1 - axis] and a[axis] < b[axis]
    ):
        (speed, before), (other, after) = curves[first], curves[second]
        if not np.array_equal(speed, other):
            speed, hard, soft = np.intersect1d(speed, other, return_indices=True)
            before, after = before[hard], after[soft]
        if speed.size < 2:
            continue
        if np.median(after - before - np.maximum(_FALL * before, _FLAT)) > 0.0:
            raise BadSheet(
                f"the {direction} force is higher at {second[axis]:g} clicks from full hard than"
                f" at {first[axis]:g}",
                f"is the {name} counted from full soft? Otherwise check which run is which",
            )
