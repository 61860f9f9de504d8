"""Sisters at no, one and two own positions; warm oil; losses; on dampers kept for judging.

python -m pytest tests/benchmarks/test_sisters_and_oil.py -s -m benchmark
"""

from __future__ import annotations

from collections import defaultdict

import numpy as np
import pytest

from tests.bench.trial_bench import JUDGING, Trial, dampers, sisters
from trackside.analysis.sheet_change import LOSS
from trackside.damper.oil import OilData, ratios
from trackside.damper.sheet_fit import SheetFit, SheetRows, fit_sheet
from trackside.damper.sisters import Family, Sister
from trackside.damper.wear import gained
from trackside.errors import BadSheet

pytestmark = pytest.mark.benchmark

SPEEDS = np.array([0.025, 0.05, 0.1, 0.2])
FAMILIES, DAMPERS = 8, 12
SISTERS = 4


def _fit(damper: Trial, places, seed: int, **faults) -> SheetFit:
    return fit_sheet(SheetRows(*damper.sheet(places, seed, gain=0.005, **faults).columns[:4]))


def _percent(values) -> str:
    return " ".join(f"{100 * value:5.1f}" for value in np.atleast_1d(values))


def _rms(errors) -> np.ndarray:
    return np.sqrt(np.mean(np.square(errors), axis=0))


def test_sisters():
    """Error and band at 25, 50, 100 and 200 mm/s between and beyond own positions. The band is made
    from the sisters and the own positions alone: the damper's truth is never seen."""
    errors, inside, halves, changes = (defaultdict(list) for _ in range(4))
    refused = proven = 0
    for seed in JUDGING[:FAMILIES]:
        first, *others = sisters(seed, SISTERS + 1)
        clicks = first.bump.clicks
        shares = {0: (), 1: (0.35,), 2: (0.2, 0.7)}
        try:
            known = [
                _fit(d, np.linspace(0, clicks, 5).round(), seed + n) for n, d in enumerate(others)
            ]
            owns = {
                n: _fit(first, [round(clicks * s) for s in some], seed + 99) if some else None
                for n, some in shares.items()
            }
        except BadSheet:
            continue
        rng = np.random.default_rng(seed)
        for direction in ("bump", "rebound"):
            named = tuple(Sister(str(n), f.direction(direction)) for n, f in enumerate(known))
            for count, own in owns.items():
                side = own.direction(direction) if own else None
                kept, strangers = Family(direction, side, named).strangers()
                refused, proven = refused + len(strangers), proven + len(named)
                if not kept:
                    continue
                family = Family(direction, side, kept)
                places = [p for p in np.linspace(0, clicks, 6).round() if p not in family.positions]
                base = family.positions[0] if family.positions else places[2]
                for place in places:
                    true = first.true_force(direction, place, SPEEDS)
                    found = family.predict(place, SPEEDS)
                    new = true * (1 + 0.015 * rng.normal(size=4)) + 2 * rng.normal(size=4)
                    errors[count].append(found.force / true - 1)
                    inside[count].append((found.low <= new) & (new <= found.high))
                    halves[count].append((found.high - found.low) / (2 * found.force))
                    if place == base:
                        continue
                    step = family.difference(base, place, SPEEDS)
                    change = true - first.true_force(direction, base, SPEEDS)
                    changes[count].append((step.low <= change) & (change <= step.high))
    print(f"\n{SISTERS} sisters, {FAMILIES} families; % at 25 50 100 200 mm/s")
    print("own positions | rms error | mean half band | force in band | change in band")
    for count in sorted(errors):
        half = _percent(np.mean(halves[count], axis=0))
        print(
            f"{count} | {_percent(_rms(errors[count]))} | {half}"
            f" | {_percent(np.mean(inside[count]))} | {_percent(np.mean(changes[count]))}"
        )
        assert 0.90 <= np.mean(inside[count]) <= 1.0
        assert np.mean(changes[count]) >= 0.88
    print(f"true sisters refused: {refused} of {proven}")
    assert refused <= 0.05 * proven
    assert np.mean(_rms(errors[1])) < 0.5 * np.mean(_rms(errors[0]))


def test_warm_oil_and_losses():
    """Error of the change that 40 K make, beside that of no change at all; a loss of 6 % and none,
    at 40, 60 and 80 °C, the first sheet at 40."""
    warm, still = [], []
    table: dict[tuple[float, float], list[tuple[bool, float]]] = defaultdict(list)
    for seed, damper in dampers(DAMPERS, JUDGING):
        places = tuple(float(p) for p in np.linspace(0, damper.bump.clicks, 5).round())
        was = _fit(damper, places, seed)
        data = OilData(damper.oil.at_40, damper.oil.at_100)
        for celsius in (40.0, 60.0, 80.0):
            oil = tuple(float(r) for r in ratios(data, 40.0, celsius))
            for share in (1.0, 0.94):
                now = _fit(damper, places, seed + 7_000, celsius=celsius, share=share)
                for d in ("bump", "rebound"):
                    gain = gained(was.direction(d), now.direction(d), places, 0.0, SPEEDS, oil)
                    lost = -np.expm1(gain.log) > max(LOSS, 1.96 * gain.deviation * np.exp(gain.log))
                    table[celsius, share].append((lost, gain.log - np.log(share)))
            for d in ("bump", "rebound") if celsius == 80.0 else ():
                for place in places[::2]:
                    side = was.direction(d)
                    change = np.log(
                        side.predict(place, SPEEDS, None, *oil).force
                        / side.predict(place, SPEEDS).force
                    )
                    true = np.log(
                        damper.true_force(d, place, SPEEDS, celsius)
                        / damper.true_force(d, place, SPEEDS)
                    )
                    warm.append(change - true)
                    still.append(true)
    print(f"\n{DAMPERS} dampers; % at 25 50 100 200 mm/s")
    print(f"warm oil, 40 K | rms error {_percent(_rms(warm))} | no change {_percent(_rms(still))}")
    print("second sheet at | loss | said to be lost | of | rms error of the gain")
    for (celsius, share), found in sorted(table.items()):
        said, off = sum(lost for lost, _ in found), _rms([e for _, e in found])
        loss = f"{celsius:.0f} °C | {100 * (1 - share):.0f} %"
        print(f"{loss} | {said} | {len(found)} | {_percent(off)}")
    assert np.all(_rms(warm) < _rms(still))
    assert sum(lost for lost, _ in table[40.0, 0.94]) >= 22
    for celsius in (40.0, 60.0, 80.0):
        assert sum(lost for lost, _ in table[celsius, 1.0]) <= 1
