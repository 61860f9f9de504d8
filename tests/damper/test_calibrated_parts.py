"""The parts of a rebuilt damper, with what the bench said of it before: laws of our own; how true
its bands are is measured in `tests/benchmarks/test_forecast_bands.py`."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.bench.parts_bench import SPEEDS, rebuilt_dampers
from tests.benchmarks.test_forecast_bands import bench_fit, from_parts
from trackside.damper.basis import Basis
from trackside.damper.calibrated_parts import calibrated
from trackside.damper.sheet_fit import SheetRows, fit_sheet
from trackside.damper.stack import Stack

BEFORE, AFTER = next(rebuilt_dampers(1, 7))
WHERE = np.array([0.0, 5.0, 10.0])
WAS, NOW = from_parts(BEFORE.told), from_parts(AFTER.told)
BENCH = bench_fit(BEFORE, WHERE, 1)
FORECAST = calibrated(BENCH, WAS, NOW)


@pytest.mark.parametrize("position", [0.0, 5.0, 10.0])
def test_put_together_with_the_same_parts_it_makes_the_bench_s_force(position: float) -> None:
    same = calibrated(BENCH, WAS, WAS).predict(position, SPEEDS)
    np.testing.assert_allclose(same.force, BENCH.predict(position, SPEEDS).force, rtol=0.01)


def test_softer_discs_are_never_harder_and_a_click_softer_is_never_more() -> None:
    stack = WAS.parts.stack
    assert stack is not None

    def thinner(by: float) -> np.ndarray:
        discs = tuple((outer, thickness - by) for outer, thickness in stack.discs)
        parts = replace(WAS.parts, stack=Stack(discs, stack.clamp))
        return calibrated(BENCH, WAS, replace(WAS, parts=parts)).predict(5, SPEEDS).force

    assert np.all(thinner(0.03e-3) < thinner(0.01e-3))
    clicks = [FORECAST.predict(n, SPEEDS).force for n in range(0, 16, 3)]
    assert np.all(np.diff(clicks, axis=0) <= 0)
    speeds = np.linspace(0.005, 0.6, 60)
    assert np.all(np.diff(FORECAST.predict(5, speeds).force) > 0)


def test_a_forecast_is_surer_than_the_parts_and_never_called_measured() -> None:
    alone, found = NOW.predict(5, SPEEDS), FORECAST.predict(5, SPEEDS)
    assert found.basis is Basis.FROM_PARTS
    wide, narrow = (np.mean((p.high - p.low) / p.force) for p in (alone, found))
    assert narrow < 0.6 * wide
    assert np.all((found.low < found.force) & (found.force < found.high))


def test_what_all_forces_are_off_by_is_carried() -> None:
    """A bench whose bleed passes 1.2 times the oil: so does that of the next build (arithmetic: an
    orifice makes 1/1.2² of the force)."""
    bleeding = np.array([0.002, 0.005, 0.01])
    parts = replace(WAS.parts, stack=None, needle=None, bleed_area=3e-6)
    curve = replace(WAS, parts=parts)
    v = np.array([0.01, 0.03, 0.06, 0.1, 0.15, 0.2])
    rows = SheetRows(
        np.zeros(6), np.repeat("bump", 6), v, curve.predict(0, v).force / 1.2**2 + 10.0
    )
    bench = fit_sheet(rows).bump
    assert bench is not None
    wider = replace(curve, parts=replace(parts, bleed_area=4e-6))
    found = calibrated(bench, curve, wider).predict(0, bleeding * 10)
    wanted = wider.predict(0, bleeding * 10).force / 1.2**2 + 10.0
    np.testing.assert_allclose(found.force, wanted, rtol=0.04)


def test_the_change_of_a_click_is_surer_than_the_forces() -> None:
    a, b = (FORECAST.predict(at, SPEEDS) for at in (5, 8))
    step = FORECAST.difference(5, 8, SPEEDS)
    np.testing.assert_allclose(step.change, b.force - a.force)
    assert np.all(step.high - step.low < np.hypot(a.high - a.low, b.high - b.low))
    np.testing.assert_allclose(step.percent, 100 * step.change / a.force)


def test_the_force_alone_is_that_of_the_prediction() -> None:
    np.testing.assert_array_equal(FORECAST.force(5, SPEEDS), FORECAST.predict(5, SPEEDS).force)


def test_warm_oil_makes_less_force_and_a_rod_at_rest_none() -> None:
    warm = FORECAST.predict(5, SPEEDS, None, 2.0, 1.05).force
    assert np.all(warm < FORECAST.predict(5, SPEEDS).force)
    assert FORECAST.predict(5, [0.0]).force[0] == 0.0


def test_a_path_makes_the_force_without_what_only_the_curve_knows() -> None:
    path, still = FORECAST.path(5), FORECAST.path(0)
    assert path.crack >= 0
    assert path.opening > 0
    assert path.bleed > still.bleed
