"""Which positions give a wanted curve: the best of all pairs is found, without asking all."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from trackside.damper.flow import FlowPath, force_at
from trackside.damper.matching import SPEEDS, Side, forces, lean, offness, table
from trackside.damper.sheet_fit import DirectionFit, SheetRows, fit_sheet
from trackside.damper.shop import shop_curve
from trackside.errors import NoEstimate

CLICKS, RUN = np.arange(31.0), np.array([13, 25, 50, 75, 100, 150, 200, 250, 350, 500]) * 1e-3


@cache
def ringed(seed: int) -> DirectionFit:
    """A made-up damper with 30 clicks of bleed and of ring, run at five positions, and at three
    rings at the middle one; its force waves by a tenth over speed, which no flow path does."""
    rng = np.random.default_rng(seed)
    top, base, needle = rng.uniform(700, 3000), rng.uniform(0.002, 0.006), rng.uniform(0.006, 0.02)
    opening, port = rng.uniform(0.25, 0.75) / top**1.5, rng.uniform(0.5, 2) / top**0.5
    softest, span, power = (rng.uniform(*r) for r in ((0.1, 0.3), (0.3, 0.8), (0.9, 1.4)))
    places, rings, rod, newtons = [], [], [], []
    for position in (0.0, 8.0, 15.0, 22.0, 30.0):
        for ring in (0.0, 15.0, 30.0) if position == 15.0 else (15.0,):
            bleed = 20 * (0.3 * base + needle * (position / 30) ** power) / top**0.5
            crack = top * (softest + span * (1 - ring / 30))
            force = force_at(RUN, FlowPath(1e-6, bleed, crack, opening, port, 0.05 * top))
            force = force * (1 + 0.1 * np.sin(2 * np.log(RUN)))
            newtons.append(force * (1 + 0.01 * rng.normal(size=RUN.size)) + 8)
            places += [position] * RUN.size
            rings += [ring] * RUN.size
            rod.append(RUN)
    columns = np.array(places), ["bump"] * len(places), np.concatenate(rod), np.concatenate(newtons)
    fit = fit_sheet(SheetRows(*columns, preload_from_hard=np.array(rings))).bump
    assert fit is not None
    return fit


@pytest.mark.parametrize("seed", range(6))
def test_the_best_of_all_pairs_is_found_without_asking_all(seed: int) -> None:
    rng = np.random.default_rng(seed)
    wanted = ringed(seed).force(float(rng.integers(31)), SPEEDS, float(rng.integers(31)))
    side = Side(ringed((seed + 1) % 6), CLICKS, tuple(CLICKS.tolist()))
    scores = table(side, wanted)
    whole = np.array([offness(forces(side, ring), wanted) for ring in side.rings]).T
    assert scores.min() == whole.min()
    assert np.argmin(scores) == np.argmin(whole)
    assert np.isinf(scores).any(axis=0).sum() >= 15, "or all were asked"


@pytest.mark.parametrize(("position", "ring"), [(0.0, 0.0), (7.0, 22.0), (30.0, 11.0)])
def test_a_damper_s_own_curve_is_found_again(position: float, ring: float) -> None:
    fit = ringed(2)
    scores = table(Side(fit, CLICKS, tuple(CLICKS.tolist())), fit.force(position, SPEEDS, ring))
    assert np.unravel_index(np.argmin(scores), scores.shape) == (position, ring)
    assert scores.min() < 1e-12


def test_a_force_without_band_is_the_force_of_the_estimate() -> None:
    fit = ringed(1)
    for position, ring in ((0.0, 3.0), (11.5, 30.0), (30.0, 15.0)):
        np.testing.assert_allclose(
            fit.force(position, SPEEDS, ring), fit.predict(position, SPEEDS, ring).force
        )


def test_offness_and_lean_of_a_tenth() -> None:
    """A curve harder by a tenth everywhere: ln 1.1 = 0.09531, squared 0.009084."""
    wanted = 500 * SPEEDS**0.6
    assert float(offness(1.1 * wanted, wanted)) == pytest.approx(0.009084, rel=1e-3)
    assert lean(1.1 * wanted, wanted) == pytest.approx(0.09531, rel=1e-3)
    assert lean(wanted / 1.1, wanted) == pytest.approx(-0.09531, rel=1e-3)
    assert np.isinf(offness(np.full(SPEEDS.size, np.nan), wanted))


def test_near_60_mm_s_counts_most() -> None:
    wanted = 500 * SPEEDS**0.6

    def off_at(speed: float) -> float:
        near = np.abs(np.log(SPEEDS / speed)) < 0.2
        return float(offness(np.where(near, 1.1, 1.0) * wanted, wanted))

    assert off_at(0.06) > 2 * off_at(0.25) > 0
    assert off_at(0.06) > 2 * off_at(0.012)


def test_without_any_estimate_the_curve_s_own_reason_is_given() -> None:
    one = fit_sheet(SheetRows(np.full(10, 4.0), ["bump"] * 10, RUN, 900 * RUN**0.5)).bump
    assert one is not None
    side = Side(one, np.array([2.0, 3.0]))
    with pytest.raises(NoEstimate, match="measured at one position only"):
        table(side, np.full(SPEEDS.size, 300.0))
    scores = table(Side(one, np.array([3.0, 4.0])), one.force(4.0, SPEEDS))
    assert np.isinf(scores[0, 0])
    assert scores[1, 0] < 1e-12


def test_a_curve_by_rule_is_asked_by_its_rule() -> None:
    rule = shop_curve(500.0, 0.1, 0.03)
    wanted = rule.predict(6.0, SPEEDS).force
    scores = table(Side(rule, np.arange(21.0)), wanted)
    assert int(np.argmin(scores)) == 6
