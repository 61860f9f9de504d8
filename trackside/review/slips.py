"""Slips of the pen in a dyno sheet that no fit should see."""

from __future__ import annotations

from itertools import pairwise

from trackside.errors import BadSheet
from trackside.records import DynoSheet

MOST_CLICKS = 1000
LEAST_STEP = 0.01
"""Positions beyond, or closer together, are slips: no adjuster is counted so."""


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
