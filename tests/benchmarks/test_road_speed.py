"""How fast a road is driven and foretold, as ratios to a fixed piece of numpy work in the same run.

The budgets: four corners of two set-ups over 60 s of road in 1 s; 21 × 21 positions of a corner
in 150 ms; one corner in 5 ms; a whole car in two set-ups, bands and all, in 10 ms once its curves
are known. The limits are those budgets over the time that WORKLOAD takes on the
machine that they were set on.

python -m pytest tests/benchmarks/test_road_speed.py -s -m benchmark
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
import pytest

from tests.analysis.test_road_response import SHED, clicked
from tests.corner.test_quarter_car import SET_A, SPEED, bent
from trackside.analysis.road_inputs import RoadTables
from trackside.analysis.road_map import road_map
from trackside.analysis.road_response import road_figures
from trackside.corner.quarter_car import DamperAtWheel, on_road
from trackside.corner.road import road
from trackside.corner.road_run import Lane, drive, lead_steps

ROAD = road("C", 30.0)
VELOCITY = ROAD.velocity(lead_steps() + 60_000, 1e-3)
LANES = [Lane(SET_A, bent(1.0 + n / 8.0, 1.0 + n / 4.0)) for n in range(8)]
POSITIONS = DamperAtWheel(
    SPEED,
    np.array([bent(0.3 + a / 20.0, 0.5 + b / 10.0).force for a in range(21) for b in range(21)]),
)
WORKLOAD_MS = 5.3
TABLES = RoadTables(SHED)


def _workload() -> None:
    x = np.linspace(-300, 300, 60)
    for _ in range(1000):
        np.interp(x, x, x).cumsum().round(3)


def _spent_ms(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return 1e3 * (time.perf_counter() - start)


@pytest.mark.benchmark
@pytest.mark.parametrize(
    ("name", "work", "budget_ms"),
    [
        ("8 corners, 60 s", lambda: drive(LANES, VELOCITY), 1000),
        ("21 × 21 positions", lambda: on_road(SET_A, POSITIONS, ROAD), 150),
        ("a corner's map", lambda: road_map(clicked(), "FL", ROAD, TABLES), 150),
        ("two set-ups", lambda: road_figures(clicked(), clicked(3, 8), ROAD, TABLES), 10),
        ("one corner", lambda: on_road(SET_A, bent(), ROAD), 5),
    ],
)
def test_a_road_keeps_its_budget(
    name: str, work: Callable[[], object], budget_ms: float, capsys: pytest.CaptureFixture[str]
) -> None:
    work()
    pairs = [(_spent_ms(work), _spent_ms(_workload)) for _ in range(5)]
    taken, reference = (min(times) for times in zip(*pairs, strict=True))
    with capsys.disabled():
        print(f"\n{name}: {taken:.1f} ms, {taken / reference:.1f} of the workload")
    assert taken / reference <= budget_ms / WORKLOAD_MS
