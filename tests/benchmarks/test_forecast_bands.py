"""How true a forecast is: dampers on the bench, taken apart, put together with other parts,
forecast from the old build's sheet and both builds' parts, and then on the bench again.

python -m pytest tests/benchmarks/test_forecast_bands.py -s -m benchmark
"""

import numpy as np
import pytest

from tests.bench.parts_bench import SPEEDS, MadeDamper, rebuilt_dampers
from tests.benchmarks.test_parts_bands import from_parts
from trackside.damper.calibrated_parts import calibrated
from trackside.damper.sheet_fit import DirectionFit, SheetRows, fit_sheet

pytestmark = pytest.mark.benchmark

DAMPERS = 300
FIRST_SEED = 330_000
"""The widths were chosen on seeds 200,000 to 200,299; those from 310,000 and 320,000 were looked at
before the code was as it is."""


def bench_fit(damper: MadeDamper, where: np.ndarray, seed: int) -> DirectionFit:
    """That damper's sheet, fitted."""
    force = np.concatenate([damper.measure(at, seed + int(at)) for at in where])
    place, speed = np.repeat(where, SPEEDS.size), np.tile(SPEEDS, where.size)
    found = fit_sheet(SheetRows(place, np.repeat("bump", force.size), speed, force)).bump
    assert found is not None
    return found


def test_a_forecast_is_half_as_wide_as_the_parts_alone_and_holds():
    misses, widths, hits, change_hits = ({"parts": [], "forecast": []} for _ in range(4))
    for n, (before, after) in enumerate(rebuilt_dampers(DAMPERS, FIRST_SEED)):
        where = np.round(np.linspace(0, before.told.clicks, 5))
        bench = bench_fit(before, where, 1000 * n)
        alone = from_parts(after.told)
        curves = {"parts": alone, "forecast": calibrated(bench, from_parts(before.told), alone)}
        start = after.true_force(where[2], SPEEDS)
        for at in where:
            seen = after.measure(at, 1000 * n + 500 + int(at))
            for name, curve in curves.items():
                answer = curve.predict(at, SPEEDS)
                misses[name].append(seen / answer.force - 1)
                widths[name].append((answer.high - answer.low) / answer.force)
                hits[name].append((answer.low <= seen) & (seen <= answer.high))
                if at != where[2]:
                    step = curve.difference(where[2], at, SPEEDS)
                    true = after.true_force(at, SPEEDS) - start
                    change_hits[name].append((step.low <= true) & (true <= step.high))
    print(f"\n{DAMPERS} dampers, rebuilt")
    for name in misses:
        rms, wide = np.sqrt(np.mean(np.square(misses[name]))), np.mean(widths[name])
        by_speed = ", ".join(f"{100 * x:.0f}" for x in np.mean(hits[name], axis=0))
        print(f"  {name}: rms {100 * rms:.1f} %, band {100 * wide:.1f} % wide, "
              f"holds {100 * np.mean(hits[name]):.1f} % ({by_speed}), "
              f"changes {100 * np.mean(change_hits[name]):.1f} %")  # fmt: skip
    assert np.mean(widths["forecast"]) <= 0.5 * np.mean(widths["parts"])
    assert 93 <= 100 * np.mean(hits["forecast"]) <= 97
    assert 92 <= 100 * np.mean(change_hits["forecast"]) <= 98
