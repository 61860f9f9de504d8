"""A measured road: a file of `distance_m,height_mm`, read line by line.

The names of the columns carry the units; nothing else is taken for them. Heights between points
are straight lines.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass

import numpy as np

from trackside.corner.wheel import Floats
from trackside.errors import BadInput, BadNumber

HEADER = ("distance_m", "height_mm")
LEAST_LENGTH = 50.0
"""m: our own, no source. A shorter one says little of the body's motion at any speed."""
LARGEST_GAP = 0.5
"""m between two points: our own, no source. A tyre rolls over less than that."""
_STEEPEST = 0.5  # m/m between two points: our own, no source; beyond it the unit is wrong
_REMEDY = "give two columns, distance_m,height_mm, distance rising"


@dataclass(frozen=True)
class Profile:
    """Heights (m) at distances (m) along a road, (n,) each, the distances rising."""

    distance: Floats
    height: Floats

    @property
    def length(self) -> float:
        """m."""
        return float(self.distance[-1] - self.distance[0])

    def velocity(self, speed: float, step: float) -> Floats:
        """The road's mean vertical velocity (m/s) in each step of `step` s at `speed` m/s, over its
        whole length. BadNumber for a speed that is not above zero."""
        if not 0.0 < speed < np.inf:
            raise BadNumber(
                "the speed on a road must be above zero", "give the speed where it is rough"
            )
        steps = int(self.length / (speed * step))
        at = self.distance[0] + speed * step * np.arange(steps + 1)
        return np.diff(np.interp(at, self.distance, self.height)) / step


def read_profile(text: str, name: str = "the profile") -> Profile:
    """The profile in a file's text. BadInput names the line and what is wrong with it."""
    lines = [
        (number, [cell.strip() for cell in row])
        for number, row in enumerate(csv.reader(text.lstrip("\ufeff").splitlines()), 1)
        if row and not row[0].lstrip().startswith("#") and any(cell.strip() for cell in row)
    ]
    if not lines:
        raise BadInput(f"{name} is empty", _REMEDY)
    first = tuple(cell.casefold() for cell in lines[0][1])
    if first != HEADER:
        raise BadInput(f"{name}: its first line is not distance_m,height_mm", _REMEDY)
    points = [_point(name, number, cells) for number, cells in lines[1:]]
    if len(points) < 2:
        raise BadInput(f"{name} has fewer than two points", _REMEDY)
    distance, height = np.array(points).T
    _checked(name, [number for number, _ in lines[1:]], distance, height / 1e3)
    return Profile(distance, (height - height[0]) / 1e3)


def _point(name: str, number: int, cells: list[str]) -> tuple[float, float]:
    if len(cells) != 2:
        raise BadInput(f"{name}, line {number}: {len(cells)} values where two belong", _REMEDY)
    for cell, column in zip(cells, HEADER, strict=True):
        if not cell:
            raise BadInput(
                f"{name}, line {number}: {column} is missing", "measure it, or cut there"
            )
    try:
        distance, height = (float(cell) for cell in cells)
    except ValueError:
        raise BadInput(
            f"{name}, line {number}: “{','.join(cells)}” is no pair of numbers",
            "write a point for the decimal mark, no units",
        ) from None
    if not (np.isfinite(distance) and np.isfinite(height)):
        raise BadInput(f"{name}, line {number}: a value is not finite", "measure it, or cut there")
    return distance, height


def _checked(name: str, numbers: list[int], distance: Floats, height: Floats) -> None:
    steps = np.diff(distance)
    for n in np.flatnonzero(steps <= 0.0)[:1]:
        raise BadInput(
            f"{name}, line {numbers[n + 1]}: the distance does not rise", "sort it, one run only"
        )
    length = float(distance[-1] - distance[0])
    if length < LEAST_LENGTH:
        raise BadInput(
            f"{name} is {length:g} m long, {LEAST_LENGTH:g} m are the least",
            "is the distance in m? Else measure a longer piece",
        )
    for n in np.flatnonzero(steps > LARGEST_GAP)[:1]:
        raise BadInput(
            f"{name}, line {numbers[n + 1]}: a gap of {steps[n]:g} m, the most is "
            f"{LARGEST_GAP:g} m",
            "is the distance in m? Else measure the gap, or cut there",
        )
    for n in np.flatnonzero(np.abs(np.diff(height)) > _STEEPEST * steps)[:1]:
        raise BadInput(
            f"{name}, line {numbers[n + 1]}: the height jumps by "
            f"{1e3 * np.diff(height)[n]:g} mm in {steps[n]:g} m",
            "is the height in mm?",
        )
