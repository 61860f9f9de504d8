"""A stack of parts_bench to its curve and back, 100 times; and how quick the search is.

python -m pytest tests/benchmarks/test_valve_search.py -s -m benchmark
"""

from __future__ import annotations

import time

import numpy as np
import pytest

from tests.bench.valve_cases import bench_trip, round_trip
from trackside.analysis.valve_search import Asked
from trackside.damper.stack import Stack, give
from trackside.damper.valve_tables import SeatTables

pytestmark = pytest.mark.benchmark

CASES = range(500, 600)


def test_round_trip() -> None:
    trips = [round_trip(seed) for seed in CASES]
    near = np.mean([trip.place < 5 for trip in trips])
    fewest = np.mean([round_trip(seed, Asked()).place < 5 for seed in CASES])
    print(f"\nround trip, {len(trips)} cases, up to two discs changed")
    print(f"  among the first five, nearest first: {100 * near:.0f} %")
    print(f"  among the first five, fewest discs first: {100 * fewest:.0f} %")
    print(f"  stacks {np.median([trip.stacks for trip in trips]):.0f}, combinations "
          f"{np.median([trip.combinations for trip in trips]):.0f} (medians), "
          f"{np.median([trip.seconds for trip in trips]):.2f} s, "
          f"at most {np.max([trip.seconds for trip in trips]):.2f} s")  # fmt: skip
    assert near >= 0.9


def test_a_real_damper_is_the_target() -> None:
    """Discs are 0.005 mm off and many stacks make the same curve: the true one is on the list, and
    where on it nobody can know."""
    held = Asked(1, only_discs=True, hold_position=True, nearest_first=True)
    for name, asked in (("all free", Asked(1, nearest_first=True)), ("discs alone", held)):
        places = [bench_trip(seed, asked).place for seed in range(500, 540)]
        first, listed = (100 * np.mean(np.array(places) < n) for n in (5, 20))
        print(f"\nbench as the target, 40 cases, one disc changed, {name}: "
              f"{first:.0f} % in the first five, {listed:.0f} % in twenty")  # fmt: skip
        assert listed >= 75


def test_tables_against_disc_by_disc() -> None:
    rng, tables = np.random.default_rng(1), SeatTables(0.014, 0.024, 0.028, (0.03, 0.026, 0.022))
    thick, wide = [1e-4, 1.5e-4, 2e-4, 3e-4], (0.03, 0.03, 0.026, 0.022)
    every = [tuple((d, float(rng.choice(thick))) for d in wide) for _ in range(150)]  # fmt: skip
    tables.give(every[0])
    give(Stack(every[0], 0.014), 0.024, 0.028)
    start = time.perf_counter()
    quick = [tables.give(discs).seat for discs in every]
    middle = time.perf_counter()
    slow = [give.__wrapped__(Stack(discs, 0.014), 0.024, 0.028).seat for discs in every]
    end = time.perf_counter()
    print(f"\n{1e3 * (middle - start) / 150:.2f} ms a stack from tables, "
          f"{1e3 * (end - middle) / 150:.2f} ms disc by disc")  # fmt: skip
    np.testing.assert_allclose(quick, slow, rtol=1e-8)
    assert (end - middle) > 4 * (middle - start)
