"""How fast a plan's figures follow a key: the corner whose cell was stepped.

python -m pytest tests/benchmarks/test_plan_speed.py -s -m benchmark
"""

from __future__ import annotations

from statistics import median
from time import process_time

import pytest

from trackside.analysis.estimate_cache import EstimateCache
from trackside.analysis.plan import plan_corner
from trackside.analysis.shed import Shed, warm
from trackside.logbook import Logbook
from trackside.records import Reading

pytestmark = pytest.mark.benchmark

BUDGET = 0.05
"""Seconds from the key to all figures."""


def test_all_figures_follow_a_step_of_a_knob(samples: Logbook) -> None:
    run = samples.session_record(samples.session("last"))
    shed = Shed.of(samples)
    warm(shed, run)
    known = EstimateCache(shed, (0.025, 0.05, 0.1, 0.2))
    plan_corner(run, run, "FL", shed, known, 0.5)
    taken = []
    for count in range(21):  # every position once: nothing is remembered from another
        planned = run.with_value("FL.rebound_bleed", Reading.of_si(count, "clicks"))
        planned = planned.with_value("FL.bump_bleed", Reading.of_si(20 - count, "clicks"))
        start = process_time()
        plan_corner(run, planned, "FL", shed, known, 0.5)
        taken.append(process_time() - start)
    print(
        f"\nfigures after a key: median {1e3 * median(taken):.1f}, most {1e3 * max(taken):.1f} ms"
    )
    assert median(taken) <= BUDGET
