"""How far the flow network itself is from a real damper, whatever its numbers are.

Three parts, each a share of something: the stack's curve of force; the knee's form, of the crack
force; the needle, whose discharge changes with flow, of the bleed's
coefficient. The stack errs alike at all positions, the needle only at near ones. Sizes were found
on the virtual bench of the tests, whose dampers know more physics: no outside source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trackside.damper.flow import Floats
from trackside.damper.network import Point


@dataclass(frozen=True)
class Part:
    """share: standard deviation; reach: distance over which it is alike, in measured ranges."""

    share: float
    reach: float


STACK = Part(0.002, 3.0)
KNEE = Part(0.007, 3.0)
NEEDLE = Part(0.004, 0.5)


def parts(point: Point, bleed: Floats | float, crack: Floats | float) -> list[tuple[Part, Floats]]:
    """Each part with the scaled force (m,) that an error of its whole size would make."""
    return [
        (STACK, point.force),
        (KNEE, point.by_crack * crack),
        (NEEDLE, point.by_bleed * bleed),
    ]


def size(point: Point, bleed: Floats | float, crack: Floats | float) -> Floats:
    """Standard deviation (m,) of the scaled force from all three."""
    squares = [(part.share * effect) ** 2 for part, effect in parts(point, bleed, crack)]
    return np.sqrt(np.sum(squares, axis=0))
