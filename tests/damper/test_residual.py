"""What a sheet says beyond the flow network: against plain Gaussian conditioning, and its laws."""

from dataclasses import replace

import numpy as np
import pytest

from tests.bench.varied_bench import varied_damper, varied_dampers
from trackside.damper import residual
from trackside.damper.sheet_fit import DirectionFit, SheetRows, fit_sheet

SPEEDS = np.array([0.02, 0.05, 0.1, 0.2, 0.4])


def _fit(valve: str, seed: int, places: int = 5) -> DirectionFit:
    damper = varied_damper(valve, seed)
    positions = np.unique(np.round(np.linspace(0, damper.clicks, places)))
    return fit_sheet(SheetRows(*damper.measure(positions, 1))).bump


@pytest.fixture(scope="module")
def fit() -> DirectionFit:
    return _fit("blow-off", 2)


def test_mean_and_covariance_are_those_of_conditioning(fit):
    # the textbook form, numbers and residual in one Gaussian vector: S** − S*o So⁻¹ So*
    told = fit.found.residual
    end = fit.end(fit.positions[1] + 1.0, SPEEDS)
    wide = 1e3 * np.eye(told.slopes.shape[1])  # flat before, so beliefs must be taken out first
    rows = np.linalg.inv(told.inverse)
    free = np.linalg.inv(told.slopes.T @ np.linalg.inv(rows) @ told.slopes + np.linalg.inv(wide))
    ours = replace(told, free=free).covariance(end.at, end.point.slopes)
    whole = rows + told.slopes @ wide @ told.slopes.T
    cross = told.sizes.covariance(end.at, told.at) + end.point.slopes @ wide @ told.slopes.T
    own = told.sizes.covariance(end.at, end.at) + end.point.slopes @ wide @ end.point.slopes.T
    plain = own - cross @ np.linalg.solve(whole, cross.T)
    np.testing.assert_allclose(ours, plain, atol=2e-3 * np.abs(plain).max())


def test_a_table_gives_the_same_mean_as_point_by_point(fit):
    position = fit.positions[2] + 1.0
    end = fit.end(position, SPEEDS)
    plain = (end.point.force + fit.found.residual.mean(end.at)) * fit.found.network.force
    np.testing.assert_allclose(fit.predict(position, SPEEDS).force, plain, rtol=0.006)


def test_the_sizes_found_are_the_likeliest(fit):
    # a nudge of any size either way is less likely: the search ended at its top
    told = fit.found.residual
    misses = np.random.default_rng(5).normal(size=told.at.count) * 0.02
    slopes = told.slopes
    wide = np.eye(slopes.shape[1])
    weights = np.ones(told.at.count)
    start = residual.believed(fit.found.network.force)
    found, _ = residual.learned(start, residual.Seen(told.at, slopes), misses, wide, weights)

    def cost(sizes: residual.Sizes) -> float:
        total = sizes.covariance(told.at, told.at) + slopes @ wide @ slopes.T
        total = total + sizes.bench(told.at, weights, np.zeros(told.at.count))
        off = (sizes.logs - start.logs) / residual.unsure()
        return float(
            np.linalg.slogdet(total)[1] + misses @ np.linalg.solve(total, misses) + off @ off
        )

    best = cost(found)
    for k in range(len(residual.NAMES)):
        for step in (-0.3, 0.3):
            logs = found.logs.copy()
            logs[k] += step
            assert cost(replace(found, logs=logs)) > best - 0.02


@pytest.mark.parametrize("valve", ["two-stage", "blow-off", "starving"])
def test_a_valve_that_the_network_cannot_follow_is_followed(valve):
    # the network alone, against the network with what the sheet says beyond it
    alone, together = [], []
    for damper in varied_dampers(valve, 6, 700):
        positions = np.unique(np.round(np.linspace(0, damper.clicks, 5)))
        fit = fit_sheet(SheetRows(*damper.measure(positions, 1))).bump
        for place in positions:
            true = damper.true_force(place, SPEEDS)
            end = fit.end(place, SPEEDS)
            alone.append(end.point.force * fit.found.network.force / true - 1)
            together.append(fit.predict(place, SPEEDS).force / true - 1)
    assert np.sqrt(np.mean(np.square(together))) < 0.025
    assert np.sqrt(np.mean(np.square(together))) < 0.8 * np.sqrt(np.mean(np.square(alone)))


def test_a_row_off_all_others_counts_for_less_and_is_strange(fit):
    damper = varied_damper("linear", 4)
    place, direction, speed, force = damper.measure([0.0, 4.0, 8.0], 1)
    force[13] *= 1.35
    found = fit_sheet(SheetRows(place, direction, speed, force)).bump.found
    assert found.weights[13] < 0.2
    assert found.strange[13] > 6
    assert np.delete(found.weights, 13).min() > 0.5


def test_more_measured_positions_never_make_it_worse():
    missed = []
    for places in (3, 5, 9):
        off = []
        for damper in varied_dampers("mixed", 6, 800):
            positions = np.unique(np.round(np.linspace(0, damper.clicks, places)))
            fit = fit_sheet(SheetRows(*damper.measure(positions, 1))).bump
            for click in range(damper.clicks + 1):
                force = fit.predict(click, SPEEDS[1:]).force
                off.append(force / damper.true_force(click, SPEEDS[1:]) - 1)
        missed.append(np.sqrt(np.mean(np.square(off))))
    assert missed[0] > missed[1] > missed[2]
    assert missed[2] < 0.016


def test_a_run_is_off_by_what_its_own_factor_would_be(fit):
    """The share by which a run is off is that of generalised least squares with one more column,
    the run's force (textbook)."""
    told = fit.found.residual
    off, times = told.runs_off(np.zeros(told.at.count))
    run = told.at.clicks == told.at.clicks[0]
    column = run * told.at.effects[2]
    held = np.linalg.inv(told.free) - told.slopes.T @ told.inverse @ told.slopes
    wide = np.column_stack([told.slopes, column])
    seen = wide.T @ told.inverse @ wide
    seen[:-1, :-1] += held
    pull = np.append(np.zeros(told.slopes.shape[1]), column @ told.pull)
    plain = np.linalg.solve(seen, pull)[-1]
    np.testing.assert_allclose(off[run], plain, rtol=1e-6)
    np.testing.assert_allclose(times[run], plain / np.sqrt(np.linalg.inv(seen)[-1, -1]), rtol=1e-6)
