"""A motion ratio as it is written down with the car: `0.72`, or a table over wheel travel.

Table: wheel travel mm:ratio, bump positive, 0 at the ride position, as in
`-30:0.70 0:0.72 30:0.76`.
"""

from __future__ import annotations

from itertools import pairwise

from trackside.errors import BadNumber
from trackside.units import one_line, read_number

Points = tuple[tuple[float, float], ...]
"""(wheel travel m, ratio), travel rising."""

REMEDY = "write 0.72, or wheel mm:ratio like -30:0.70 0:0.72 30:0.76, bump positive, 0 included"


def is_table(text: str) -> bool:
    """Whether the text is meant as a table."""
    return ":" in text


def read_ratios(text: str) -> Points:
    """The table's points in SI. BadNumber says what is wrong with it."""
    try:
        pairs = [[read_number(n) for n in point.split(":")] for point in one_line(text).split()]
        points = tuple((mm * 1e-3, ratio) for mm, ratio in pairs)
    except (BadNumber, ValueError):
        raise BadNumber(f"“{one_line(text)}” is not a motion ratio", REMEDY) from None
    if len(points) < 2 or not all(b[0] > a[0] for a, b in pairwise(points)):
        raise BadNumber("the wheel travels of a motion ratio table must rise", REMEDY)
    if not all(0 < ratio <= 3 for _, ratio in points):
        raise BadNumber("a motion ratio lies above 0 and is at most 3", REMEDY)
    at_ride(points)
    return points


def at_ride(points: Points) -> float:
    """The ratio at the ride position, which the table has to name."""
    found = next((ratio for travel, ratio in points if travel == 0), None)
    if found is None:
        raise BadNumber("the table does not say the ratio at 0, the ride position", REMEDY)
    return found
