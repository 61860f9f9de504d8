"""Bump stops as they are written down with the car: `red 60 = 5:400 10:1300; blue = 40/1.5/20`.

Either points, compression mm:force N, or three numbers: contact rate N/mm, stiffening, full
compression mm. The name is what the run sheet calls the stop.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from trackside.errors import BadNumber
from trackside.units import one_line, read_number


class StopCurve(NamedTuple):
    """A stop in SI: `points` (m, N), or `three`: contact rate N/m, stiffening, full m."""

    points: tuple[tuple[float, float], ...] = ()
    three: tuple[float, float, float] | None = None


def read_stops(text: str) -> dict[str, StopCurve]:
    """Every stop of the text by its name, casefolded. BadNumber says which cannot be read."""
    found: dict[str, StopCurve] = {}
    for entry in re.split(r"[;\n]", text):
        if not entry.strip():
            continue
        name, equals, curve = (one_line(part) for part in entry.partition("="))
        read = _read(curve) if equals and name else None
        if read is None:
            raise BadNumber(
                f"“{one_line(entry)}” is not a bump stop",
                "write red = 5:400 10:1300 (mm:N), or blue = 40/1.5/20 (contact rate N/mm, "
                "stiffening, full compression mm)",
            )
        if name.casefold() in found:
            raise BadNumber(f"the bump stop {name} is there twice", "give each its own name")
        found[name.casefold()] = read
    return found


def _read(curve: str) -> StopCurve | None:
    try:
        if ":" in curve:
            pairs = [[read_number(n) for n in point.split(":")] for point in curve.split()]
            points = tuple((mm * 1e-3, newton) for mm, newton in pairs)
            steps = zip(((0.0, 0.0), *points), points, strict=False)
            rising = all(b[0] > a[0] and b[1] > a[1] for a, b in steps)
            return StopCurve(points=points) if rising and len(points) > 1 else None
        rate, stiffening, full = (read_number(n) for n in curve.split("/"))
    except (BadNumber, ValueError):
        return None
    if rate <= 0 or stiffening < 0 or full <= 0:
        return None
    return StopCurve(three=(rate * 1e3, stiffening, full * 1e-3))
