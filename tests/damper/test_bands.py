"""How far a band reaches."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import stdtrit

from tests.bench import trial_bench
from trackside.damper.bands import around, reach
from trackside.damper.clicks import ForceSteps
from trackside.damper.sheet_fit import SheetRows, fit_sheet


@pytest.mark.parametrize("freedom", [1.0, 1.5, 2.0, 3.0, 7.3, 10.0, 41.0, 1e3, 1e6])
def test_the_reach_is_students(freedom):
    # scipy's quantile of Student's distribution
    assert reach(freedom) == pytest.approx(stdtrit(freedom, 0.975), rel=1e-6)


def test_a_band_is_even_in_the_logarithm_until_it_is_wider_than_its_force():
    force = np.array([0.0, 100.0, 100.0, 0.2, 0.2])
    low, high = around(force, np.array([5.0, 10.0, 100.0, 20.0, 40.0]))
    np.testing.assert_allclose(low[:3] * high[:3], force[:3] ** 2)
    assert high[4] == pytest.approx(2 * high[3])
    assert high[3] < 3 * 20.0


@pytest.mark.parametrize("position", [10.0, 12.0])
def test_a_force_of_less_than_the_scatter_has_a_band_of_newtons(position):
    """A loose valve with a run that a seal's stick spoiled: ends in newtons, as anybody expects."""
    speed = np.array([0.0055, 0.1, 0.275, 0.78, 3.0])
    force = np.array([17.1, 14.4, 19.7, 25.1, 50.5])
    rows = SheetRows(np.full(5, 10.0), ["bump"] * 5, speed, force)
    fit = fit_sheet(rows, click_law=ForceSteps(0.01, 0.1)).bump
    found = fit.predict(position, np.array([1e-5, 1e-3, 0.05, 1.0]))
    assert (found.high < 1e3).all()
    assert (found.low <= found.force).all()
    assert (found.force <= found.high).all()


@pytest.mark.parametrize(("least", "most"), [(0.0, 0.105), (0.095, 1.0)])
def test_bands_hold_at_speeds_that_the_sheet_did_not_run(least: float, most: float) -> None:
    """Sheets run only up to 100 mm/s, or only from there, asked at 25 to 400 mm/s."""
    held, asked = [], trial_bench.SPEEDS[1:]
    for seed, damper in trial_bench.dampers(12):
        ran = trial_bench.SPEEDS[(least < trial_bench.SPEEDS) & (most > trial_bench.SPEEDS)]
        places = np.unique(np.linspace(0, damper.bump.clicks, 4).round())
        sheet = damper.sheet(places, seed, speeds=ran)
        fit = fit_sheet(SheetRows(*sheet.columns[:4])).direction("bump")
        for place in places:
            told = fit.predict(place, asked)
            true = damper.true_force("bump", place, asked)
            held.append(((told.low <= true) & (true <= told.high))[~fit.ran(asked)])
    assert np.mean(np.concatenate(held)) > 0.88


def test_what_a_zero_may_be_off_widens_a_force_and_no_change() -> None:
    seed, damper = next(trial_bench.dampers(1))
    sheet = damper.sheet(np.linspace(0, damper.bump.clicks, 3).round(), seed)
    sure = fit_sheet(SheetRows(*sheet.columns[:4])).direction("bump")
    unsure, speeds = replace(sure, zero=18.0), [0.025, 0.2]
    plain, wide = sure.predict(0.0, speeds), unsure.predict(0.0, speeds)
    assert (wide.high - plain.high > 1.0).all()
    assert (wide.high - wide.force > 2.0 * 17.0).all()
    same, other = (fit.difference(0.0, 4.0, speeds) for fit in (sure, unsure))
    np.testing.assert_array_equal(same.high, other.high)
