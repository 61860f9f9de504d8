"""How fast force comes from speed, as ratios measured in one run.

python -m pytest tests/benchmarks/test_flow_speed.py -s -m benchmark
"""

import time

import numpy as np
import pytest
from scipy.optimize import brentq

from tests.bench.virtual_bench import population
from trackside.damper.flow import FlowPath, force_at, speed_at
from trackside.damper.sheet_fit import SheetRows, fit_sheet

pytestmark = pytest.mark.benchmark


def _best(work, times: int = 7) -> float:
    found = []
    for _ in range(times):
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return min(found)


def _paths(curves: int, **extreme: float) -> FlowPath:
    rng = np.random.default_rng(1)
    ordinary = {
        "leak": 10 ** rng.uniform(-6.5, -5.5, (curves, 1)),
        "bleed": 10 ** rng.uniform(-3.5, -2.5, (curves, 1)),
        "crack": rng.uniform(0, 800, (curves, 1)),
        "opening": 10 ** rng.uniform(-5.8, -5.0, (curves, 1)),
        "port": 10 ** rng.uniform(-2.3, -1.6, (curves, 1)),
        "knee": rng.uniform(5, 60, (curves, 1)),
    }
    return FlowPath(**{**ordinary, **extreme})


@pytest.mark.parametrize(
    "extreme",
    [
        {"crack": 0.0},
        {"bleed": 0.0},
        {"leak": 0.0},
        {"knee": 0.0},
        {"port": 3e-4},
        {"bleed": 0.0, "leak": 0.0, "knee": 0.0},
        {"leak": 0.0, "opening": 0.0},
    ],
    ids=lambda extreme: "-".join(extreme),
)
def test_extreme_paths_are_as_quick(extreme):
    speeds, path = np.linspace(0.005, 0.5, 20), _paths(20_000, **extreme)
    taken = _best(lambda: force_at(speeds, path)) / (20_000 * speeds.size)
    told = ", ".join(f"{name} {value:g}" for name, value in extreme.items())
    print(f"\n{1e-6 / taken:.1f} million points/s with {told}")
    assert taken < 1 / 3e6


def test_against_a_loop_of_brentq():
    curves, speeds = 50_000, np.linspace(0.005, 0.5, 20)
    path = _paths(curves)
    points = curves * speeds.size
    ours = _best(lambda: force_at(speeds, path)) / points

    def loop() -> None:
        for k in range(100):
            leak, bleed, crack, opening, port, knee = (
                float(np.asarray(value)[k, 0]) for value in path.__dict__.values()
            )
            for speed in speeds.tolist():

                def short(f, v=speed, a=leak, b=bleed, c=crack, o=opening, p=port, k=knee):
                    lift = o * (f - c + ((f - c) ** 2 + k**2) ** 0.5) / 2
                    return a * f + (b + lift / (1 + (lift / p) ** 2) ** 0.5) * f**0.5 - v

                brentq(short, 0.0, 1e6, xtol=1e-9, rtol=1e-12)

    plain = _best(loop) / (100 * speeds.size)

    def own_loop() -> None:
        for k in range(5):
            one = FlowPath(*(np.asarray(value)[k, 0] for value in path.__dict__.values()))
            for speed in speeds.tolist():
                brentq(lambda f, v=speed, p=one: speed_at(f, p) - v, 0.0, 1e6, rtol=1e-12)

    own = _best(own_loop) / (5 * speeds.size)
    print(
        f"\n{1e-6 / ours:.1f} million points/s; {plain / ours:.0f} x a loop of brentq on plain"
        f" Python floats, {own / ours:.0f} x one on speed_at"
    )
    assert plain / ours > 150
    assert own / ours > 150
    assert ours < 1 / 3e6


@pytest.mark.parametrize(("positions", "most"), [(5, 0.1), (20, 0.4)])
def test_a_fit_is_quick(positions, most):
    sheets = [
        SheetRows(*damper.measure(np.linspace(0, damper.clicks, positions), seed).columns)
        for seed, damper in enumerate(population(9))
    ]
    taken = sorted(_best(lambda sheet=sheet: fit_sheet(sheet), 2) for sheet in sheets)
    print(
        f"\nfit of {positions} positions x 2 directions x 10 speeds: median {taken[4] * 1e3:.0f} ms"
    )
    assert taken[4] < most
