"""How true the bands are, and how close the estimates: 200 dampers that no fit was tuned on.

python -m pytest tests/benchmarks/test_fit_bands.py -s -m benchmark
"""

from collections import defaultdict

import numpy as np
import pytest

from tests.bench.virtual_bench import SPEEDS, population
from trackside.damper.fit import SheetRows, fit_sheet

pytestmark = pytest.mark.benchmark

DAMPERS = 200
FIRST_SEED = 50_000  # the misfit's sizes were chosen on seeds 1000 to 1100


def _campaign(measured: int, reach: float):
    """Hits of bench points and of true changes by standing; relative errors between positions.

    `reach` < 1 leaves the outer part of the adjuster's travel unmeasured.
    """
    hits, change_hits = defaultdict(list), defaultdict(list)
    errors, line_errors, bench_errors = [], [], []
    for seed, damper in enumerate(population(DAMPERS, FIRST_SEED)):
        margin = (1 - reach) / 2 * damper.clicks
        positions = np.linspace(margin, damper.clicks - margin, measured)
        between = (positions[1:] + positions[:-1]) / 2
        asked = [*positions, *between] + ([0.0, float(damper.clicks)] if margin else [])
        sheet = damper.measure(positions, seed)
        fit = fit_sheet(SheetRows(*sheet.columns))
        again = damper.measure(asked, seed + 10_000).columns
        for direction in ("bump", "rebound"):
            side = fit.direction(direction)
            here = np.array(sheet.columns[1]) == direction
            curves = sheet.columns[3][here].reshape(measured, -1)
            new = again[3][np.array(again[1]) == direction].reshape(len(asked), -1)
            for k, position in enumerate(asked):
                answer = side.predict(position, SPEEDS)
                hits[answer.standing].append((answer.low <= new[k]) & (new[k] <= answer.high))
                change = side.difference(positions[1], position, SPEEDS)
                if position != positions[1]:
                    true = damper.true_force(direction, position, SPEEDS)
                    true = true - damper.true_force(direction, positions[1], SPEEDS)
                    inside = (change.low <= true) & (true <= change.high)
                    change_hits[change.standing].append(inside)
            for k, position in enumerate(between):
                true = damper.true_force(direction, position, SPEEDS)
                got = side.predict(position, SPEEDS).force
                errors.append(got / true - 1)
                bench_errors.append(got / new[measured + k] - 1)
                line_errors.append((curves[k] + curves[k + 1]) / 2 / true - 1)
    return hits, change_hits, *(np.array(e) for e in (errors, line_errors, bench_errors))


def _rms(error: np.ndarray) -> float:
    return float(100 * np.sqrt(np.mean(error**2)))


@pytest.mark.parametrize(
    ("measured", "reach", "limit", "closer"), [(5, 1.0, 2.0, 3), (3, 1.0, 3.5, 4), (3, 0.5, 3.5, 2)]
)
def test_coverage_and_held_out_error(measured, reach, limit, closer):
    hits, change_hits, errors, line_errors, bench_errors = _campaign(measured, reach)
    print(f"\n{measured} positions over {reach:.0%} of the travel, {DAMPERS} dampers")
    # a change between positions close together may be known better than its band says
    for name, found, most in (("bench points", hits, 98), ("true changes", change_hits, 99)):
        for standing, inside in sorted(found.items(), key=lambda item: item[0].rank):
            share = 100 * np.mean(inside)
            print(f"  {share:5.1f} % of {name} inside the band, {standing} ({np.size(inside)})")
            assert 92 <= share <= most
    print(
        f"  held-out error {_rms(errors):.2f} % rms of the truth, {_rms(bench_errors):.2f} % of the"
        f" bench; straight lines {_rms(line_errors):.1f} %"
    )
    assert _rms(errors) < limit
    assert _rms(line_errors) > closer * _rms(errors)
