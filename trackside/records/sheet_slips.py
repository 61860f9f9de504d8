"""What the rows of a dyno sheet cannot be: units, columns and runs mistaken for one another.

Found while the file is read, for only then are its lines known. The limits are our own, no
source: wide enough for any car's damper, narrow enough for a unit mistaken for another.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby, pairwise
from statistics import median
from typing import TYPE_CHECKING

from trackside.errors import BadSheet
from trackside.units import from_si

if TYPE_CHECKING:
    from trackside.records.dyno import DynoRow

Lines = Sequence[tuple[int, "DynoRow"]]
"""Rows with their lines in the file."""

SLOWEST, FASTEST = 0.020, 5.0
"""m/s: the largest speed of a sheet is neither below nor above."""
WEAKEST, STRONGEST = 10.0, 5e4
"""N: nor is the largest force."""
SAME_SPEED = 0.02
"""Rows of one run whose speeds differ by less are the same point measured twice."""
DISAGREE, AND_BY = 0.10, 8.0
"""Such points may differ by this share, and by so many newtons."""
_ALIKE, _UNLIKE = 0.03, 0.10  # spread of a column from run to run: the bench's speeds, and forces

_REMEDY = {
    ("speed", "mm/s", True): "in m/s or in/s perhaps? Then the header is speed_m_s or speed_in_s",
    ("speed", "in/s", True): "in m/s perhaps? Then the header is speed_m_s",
    ("speed", "in/s", False): "in mm/s perhaps? Then the header is speed_mm_s",
    ("speed", "m/s", False): "in mm/s perhaps? Then the header is speed_mm_s",
    ("force", "N", True): "in kN perhaps? Then the header is force_kN",
    ("force", "kN", False): "in N perhaps? Then the header is force_N",
}


def refuse_slips(lines: Lines, speed_unit: str, force_unit: str, source: str) -> None:
    """BadSheet, with file, line and remedy, for rows that cannot be; units are the header's."""
    moving = [(line, row) for line, row in lines if row.speed > 0.0]
    if not moving:
        return
    known = any(row.force for _, row in moving)
    if known:
        _refuse_swap(moving, source)
    _refuse_size(moving, "speed", speed_unit, SLOWEST, FASTEST, source)
    if known:
        _refuse_size(moving, "force", force_unit, WEAKEST, STRONGEST, source)
    _refuse_disagreement(moving, source)


def _refuse_size(
    lines: Lines, name: str, unit: str, least: float, most: float, source: str
) -> None:
    line, largest = max(((n, abs(getattr(row, name))) for n, row in lines), key=lambda x: x[1])
    if least <= largest <= most:
        return
    low = largest < least
    told = f"{from_si(largest, name, unit):g} {unit}"
    raise BadSheet(
        f"{source} line {line}: the largest {name} is {told}, "
        f"{'less' if low else 'more'} than a damper's",
        _REMEDY.get((name, unit, low), f"check the unit in the {name} header"),
    )


def _runs(lines: Lines) -> Iterator[list[tuple[int, DynoRow]]]:
    """The rows of each position and direction, by speed."""

    def run(item: tuple[int, DynoRow]) -> tuple[str, float, float]:
        row = item[1]
        preload = -1.0 if row.preload_position is None else row.preload_position
        return row.direction, row.position, preload

    ordered = sorted(lines, key=lambda item: (*run(item), item[1].speed))
    for _, rows in groupby(ordered, run):
        yield list(rows)


def _refuse_swap(lines: Lines, source: str) -> None:
    """A bench runs every position at the same speeds, and meets other forces each time."""
    runs = [[row for _, row in run] for run in _runs(lines)]
    if len(runs) < 2 or len({len(run) for run in runs}) > 1 or len(runs[0]) < 3:
        return
    speeds, forces = (
        median(_spread(column) for column in zip(*values, strict=True))
        for values in (
            [sorted(row.speed for row in run) for run in runs],
            [sorted(abs(row.force) for row in run) for run in runs],
        )
    )
    if forces < _ALIKE and speeds > _UNLIKE:
        raise BadSheet(
            f"{source} line {lines[0][0]}: every run has the same forces at other speeds",
            "speed and force look swapped: check the header",
        )


def _spread(values: Iterable[float]) -> float:
    known = tuple(values)
    most = max(known)
    return (most - min(known)) / most if most > 0.0 else 0.0


def _refuse_disagreement(lines: Lines, source: str) -> None:
    """One point measured twice, with forces that no bench's scatter explains."""
    for run in _runs(lines):
        twice = [
            (abs(a.force - b.force), max(abs(a.force), abs(b.force)), sorted((first, second)), a)
            for (first, a), (second, b) in pairwise(run)
            if b.speed - a.speed <= SAME_SPEED * b.speed
        ]
        if not twice or median(apart / (force or 1.0) for apart, force, *_ in twice) <= DISAGREE:
            continue
        apart, force, (first, second), row = max(twice, key=lambda found: found[0])
        if apart > AND_BY:
            raise BadSheet(
                f"{source} lines {first} and {second}: position {row.position:g} in "
                f"{row.direction} was measured twice, and the forces differ by {apart / force:.0%}",
                "keep the run that counts, or correct its position or direction",
            )
