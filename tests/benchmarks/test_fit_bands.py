"""How true the bands are, and how close the estimates: 200 dampers that no fit was tuned on.

python -m pytest tests/benchmarks/test_fit_bands.py -s -m benchmark
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from tests.bench.virtual_bench import SPEEDS, VirtualDamper, population
from tests.benchmarks.test_many_valves import Bench, campaign, varied
from trackside.damper import residual
from trackside.damper.bands import BAND
from trackside.damper.basis import Basis
from trackside.damper.clicks import ForceSteps
from trackside.damper.curve import Difference, Prediction
from trackside.damper.sheet_fit import SheetRows, fit_sheet
from trackside.damper.shop import shop_curve
from trackside.errors import NoEstimate

pytestmark = pytest.mark.benchmark

DAMPERS = 200
FIRST_SEED = 50_000  # the misfit's sizes were chosen on seeds 1000 to 1100


def _used(answer: Prediction | Difference, true: np.ndarray) -> np.ndarray:
    """How much of its band each error takes: 1 at the band's end (speeds,)."""
    told = answer.force if isinstance(answer, Prediction) else answer.change
    return np.where(
        true > told, (true - told) / (answer.high - told), (told - true) / (told - answer.low)
    )


def _campaign(measured: int, reach: float):
    """How much of their bands bench points and true changes take, by basis; relative errors between
    positions.

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
                hits[answer.basis].append(_used(answer, new[k]))
                change = side.difference(positions[1], position, SPEEDS)
                if position != positions[1]:
                    true = damper.true_force(direction, position, SPEEDS)
                    true = true - damper.true_force(direction, positions[1], SPEEDS)
                    change_hits[change.basis].append(_used(change, true))
            for k, position in enumerate(between):
                true = damper.true_force(direction, position, SPEEDS)
                got = side.predict(position, SPEEDS).force
                errors.append(got / true - 1)
                bench_errors.append(got / new[measured + k] - 1)
                line_errors.append((curves[k] + curves[k + 1]) / 2 / true - 1)
    return hits, change_hits, *(np.array(e) for e in (errors, line_errors, bench_errors))


def _rms(error: np.ndarray) -> float:
    return float(100 * np.sqrt(np.mean(error**2)))


# These dampers are nearly what the flow model is, and their needles nearly even. A sheet of three
# or five positions cannot tell them from others, and bands made for these alone hold far too little
# of those (`test_no_sizes_serve_smooth_and_rough_valves_alike`). So a band of a change holds more
# than 95 % here, and so does one at a position not measured, of three positions most of all. How
# much of its width would do is told; what is held is the least of today.
SMOOTH = 99.5
UNMEASURED = {Basis.BETWEEN, Basis.BEYOND}


def _tell(name: str, hits: dict, most: float) -> None:
    for basis, used in sorted(hits.items(), key=lambda item: item[0].rank):
        share, needed = 100 * np.mean(np.array(used) <= 1.0), np.quantile(used, BAND)
        print(
            f"  {share:5.1f} % of {name} inside the band, {basis} ({np.size(used)});"
            f" {needed:.2f} of its width would hold {BAND:.0%}"
        )
        assert share >= 92
        assert share <= most or basis in UNMEASURED
        assert needed >= (0.2 if basis in UNMEASURED else 0.65)


@pytest.mark.parametrize(
    ("measured", "reach", "limit", "closer"),
    [(2, 1.0, 25.0, 4), (5, 1.0, 2.0, 3), (3, 1.0, 3.5, 4), (3, 0.5, 3.5, 2)],
)
def test_coverage_and_held_out_error(measured, reach, limit, closer):
    hits, change_hits, errors, line_errors, bench_errors = _campaign(measured, reach)
    print(f"\n{measured} positions over {reach:.0%} of the travel, {DAMPERS} dampers")
    _tell("bench points", hits, 98)
    _tell("true changes", change_hits, SMOOTH)
    print(
        f"  held-out error {_rms(errors):.2f} % rms of the truth, {_rms(bench_errors):.2f} % of the"
        f" bench; straight lines {_rms(line_errors):.1f} %"
    )
    assert _rms(errors) < limit
    assert _rms(line_errors) > closer * _rms(errors)


RING = (0.0, 4.0, 8.0)  # preload positions from full hard
RING_CLICK = 0.04e6  # Pa of crack pressure a click: made up


def _with_ring(damper: VirtualDamper, clicks: float) -> VirtualDamper:
    crack = damper.bump.crack + (RING[-1] - clicks) * RING_CLICK
    return replace(damper, bump=replace(damper.bump, crack=crack))


def _bump(damper: VirtualDamper, positions, rng) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    position, direction, speed, force = damper.measure(positions, int(rng.integers(2**31))).columns
    here = np.array(direction) == "bump"
    return position[here], speed[here], force[here]


def test_coverage_of_sheets_with_two_adjusters():
    hits, change_hits = defaultdict(list), defaultdict(list)
    for seed, damper in enumerate(population(60, 80_000)):
        rng, needle = np.random.default_rng(seed), np.linspace(0, damper.clicks, 3)
        runs = [_bump(_with_ring(damper, ring), needle, rng) for ring in RING]
        position, speed, force = (np.concatenate(column) for column in zip(*runs, strict=True))
        ring = np.repeat(RING, len(runs[0][0]))
        sheet = SheetRows(position, ["bump"] * position.size, speed, force, None, ring)
        side, start = fit_sheet(sheet).bump, (needle[1], RING[1])
        for place, preload in product((needle[1], *(needle[1:] + needle[:-1]) / 2), (0, 2, 4, 6)):
            turned = _with_ring(damper, preload)
            answer, new = side.predict(place, SPEEDS, preload), _bump(turned, [place], rng)[2]
            hits[answer.basis].append(_used(answer, new))
            if (place, preload) == start:
                continue
            change = side.difference(start[0], place, SPEEDS, start[1], preload)
            true = turned.true_force("bump", place, SPEEDS)
            true = true - _with_ring(damper, start[1]).true_force("bump", start[0], SPEEDS)
            change_hits[change.basis].append(_used(change, true))
    print("\nneedle and preload ring, three positions each, 60 dampers")
    _tell("bench points", hits, 98)
    _tell("true changes", change_hits, SMOOTH)


def _smooth(count: int) -> Iterator[Bench]:
    """Dampers of `virtual_bench`, bump."""
    for seed, damper in enumerate(population(count, FIRST_SEED)):

        def sheet(positions, damper=damper, seed=seed):
            place, speed, force = _bump(damper, positions, np.random.default_rng(seed))
            return place, ["bump"] * place.size, speed, force

        yield Bench(damper.clicks, SPEEDS, lambda p, v, d=damper: d.true_force("bump", p, v), sheet)


HARDLY_ANY = {"needle": 0.0015, "shape": 0.0008, "run": 0.0004}  # sizes as on a smooth bench
MEASURED = "change between measured"


@pytest.mark.parametrize("positions", [3, 5])
def test_no_sizes_serve_smooth_and_rough_valves_alike(positions, monkeypatch):
    """Why `SMOOTH` is above 98: what would bring the smooth bench down takes the rough one far
    below 95, and the sheets do not tell one from the other."""
    held = {}
    print(f"\nchanges between {positions} measured positions: held % and mean half width %")
    for sizes in ("as believed", "hardly any"):
        if sizes == "hardly any":
            few = {kind: (np.log(size), 0.2) for kind, size in HARDLY_ANY.items()}
            monkeypatch.setattr(residual, "_BELIEVED", residual._BELIEVED | few)
        for name, dampers in (("smooth", _smooth(60)), ("rough", varied("mixed", 60))):
            found = campaign(dampers, positions)
            held[name, sizes] = found.held(MEASURED)
            width = 100 * np.mean(np.concatenate(found.widths[MEASURED]))
            print(f"  {name}, {sizes}: {held[name, sizes]:.1f} ±{width:.1f}", flush=True)
    assert 93 <= held["rough", "as believed"] <= 97
    assert held["rough", "hardly any"] < 92 < held["smooth", "hardly any"]


RULE_SPEEDS = (0.05, 0.1, 0.25)  # m/s, at which a shop may know its damper
RULE_SEED = 70_000  # the rule's sizes were chosen on seeds 50,000 to 50,060 and 60,000 to 60,060


def _shops_figures(damper: VirtualDamper, direction: str, speed: float) -> tuple[float, float]:
    """Full-hard force to 20 N and share a click to half a percent, as a shop would say them."""
    hard, soft = (
        float(damper.true_force(direction, clicks, np.array([speed]))[0])
        for clicks in (0.0, float(damper.clicks))
    )
    share = (1.0 - soft / hard) / damper.clicks
    return round(hard / 20.0) * 20.0, max(round(200.0 * share) / 200.0, 0.005)


@pytest.mark.parametrize("known", ["shop rule", "one position"])
def test_coverage_of_a_shops_rule(known):
    hits, change_hits, refused = [], [], 0
    for seed, damper in enumerate(population(DAMPERS, RULE_SEED)):
        middle = float(damper.clicks // 2)
        asked = np.round(np.linspace(0, damper.clicks, 5))
        sheet, again = damper.measure([middle], seed), damper.measure(asked, seed + 10_000)
        for direction, speed in product(("bump", "rebound"), RULE_SPEEDS):
            force, share = _shops_figures(damper, direction, speed)
            if known == "shop rule":
                side = shop_curve(force, speed, share)
            else:
                steps = ForceSteps(share, speed)
                fit = fit_sheet(SheetRows(*sheet.columns), click_law=steps)
                side = fit.direction(direction)
            new = again.columns[3][np.array(again.columns[1]) == direction].reshape(5, -1)
            start = damper.true_force(direction, middle, SPEEDS)
            for position, seen in zip(asked, new, strict=True):
                if known == "one position" and position == middle:
                    continue
                try:
                    answer = side.predict(position, SPEEDS)
                    change = side.difference(middle, position, SPEEDS)
                except NoEstimate:
                    refused += 1
                    continue
                hits.append((answer.low <= seen) & (seen <= answer.high))
                if position != middle:
                    true = damper.true_force(direction, position, SPEEDS) - start
                    change_hits.append((change.low <= true) & (true <= change.high))
    print(f"\n{known}, {DAMPERS} dampers at {len(RULE_SPEEDS)} known speeds; {refused} not told")
    for name, found in (("bench points", hits), ("true changes", change_hits)):
        by_speed = ", ".join(f"{100 * share:.0f}" for share in np.mean(found, axis=0))
        print(f"  {name}, from the slowest speed to the fastest: {by_speed} %")
    for name, found in (("bench points", hits), ("true changes", change_hits)):
        share = 100 * np.mean(found)
        print(f"  {share:.1f} % of {name} inside the band ({np.size(found)})")
    assert 92 <= 100 * np.mean(hits) <= 98
    assert 92 <= 100 * np.mean(change_hits) <= 98
