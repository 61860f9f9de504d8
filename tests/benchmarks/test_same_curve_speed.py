"""How fast a kept curve is found on another damper: bleed by ring, all four corners.

python -m pytest tests/benchmarks/test_same_curve_speed.py -s -m benchmark
"""

from time import process_time

import numpy as np
import pytest

from tests.damper.test_matching import CLICKS, ringed
from trackside.damper.flow import FlowPath, force_at
from trackside.damper.matching import SPEEDS, Side, table

pytestmark = pytest.mark.benchmark

DIRECTIONS = 8  # bump and rebound of four corners
MOST = 15.0
"""Times of that in which the flow equation alone, without what the sheet's rows said beyond it, is
solved once for every pair and speed."""


def solved_for_all() -> float:
    """Seconds of the processor to solve the flow equation for 31 × 31 pairs at 60 speeds, eight
    times: what a search that solves for every pair would need at the least."""
    bleed = np.linspace(2e-4, 2e-3, CLICKS.size)[:, None, None]
    crack = np.linspace(100.0, 900.0, CLICKS.size)[:, None]
    path = FlowPath(1e-6, bleed, crack, 4e-6, 0.02, 60.0)
    start = process_time()
    for _ in range(DIRECTIONS):
        force_at(SPEEDS, path)
    return process_time() - start


def searched() -> float:
    """Seconds of the processor to find eight curves, with no table of forces made before."""
    sides = [Side(ringed(n % 6), CLICKS, tuple(CLICKS.tolist())) for n in range(DIRECTIONS)]
    kept = [ringed((n + 1) % 6).force(n, SPEEDS, 3.0 * n) for n in range(DIRECTIONS)]
    for side in sides:
        side.curve.__dict__.pop("_surfaces", None)
    start = process_time()
    for side, wanted in zip(sides, kept, strict=True):
        side.curve.__dict__.pop("_surfaces", None)
        table(side, wanted)
    return process_time() - start


def test_eight_directions_of_31_by_31_positions():
    searched()
    search = min(searched() for _ in range(5))
    solve = min(solved_for_all() for _ in range(5))
    print(f"\nfound {1e3 * search:.0f} ms, solved for all {1e3 * solve:.0f} ms")
    assert search <= MOST * solve
