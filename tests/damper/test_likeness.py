"""How far sisters differ: against statsmodels; curves with parts off: against the flow law."""

import numpy as np
import pytest

from tests.bench.trial_bench import TUNING, sisters
from trackside.damper.flow import FlowPath, force_at
from trackside.damper.likeness import Variant, factor
from trackside.damper.sheet_fit import SheetRows, fit_sheet


def _curves(count: int, slopes: np.ndarray, tau: float, sigma: float, seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    off = tau * rng.normal(size=(count, 1)) * slopes
    return np.sin(np.arange(slopes.size)) + off + sigma * rng.normal(size=(count, slopes.size))


@pytest.mark.parametrize(("count", "tau", "seed"), [(5, 0.3, 1), (9, 0.1, 2), (24, 0.6, 3)])
def test_the_factor_is_the_reml_estimate_of_a_mixed_model(count, tau, seed):
    """Source: statsmodels MixedLM, restricted likelihood, one random slope a group, a fixed mean
    for every place."""
    import statsmodels.api as sm

    places = 8
    slopes = np.linspace(0.4, 1.6, places)
    curves = _curves(count, slopes, tau, 0.05, seed)
    model = sm.MixedLM(
        curves.ravel(),
        np.tile(np.eye(places), (count, 1)),
        np.repeat(np.arange(count), places),
        np.tile(slopes, count)[:, None],
    )
    result = model.fit(reml=True)
    noise = result.scale * np.eye(places)
    found = factor(curves, np.outer(slopes, slopes), noise, doubt=np.inf)
    assert found**2 == pytest.approx(result.cov_re[0, 0], rel=0.02)


def test_one_curve_tells_nothing_and_many_are_believed():
    slopes = np.ones(6)
    shape, noise = 0.01 * np.outer(slopes, slopes), 1e-4 * np.eye(6)
    alone = factor(np.zeros((1, 6)), shape, noise)
    assert 0.9 < alone < 1.3
    many = factor(_curves(60, slopes, 0.2, 0.01, 4), shape, noise)
    assert many == pytest.approx(2.0, rel=0.15)


@pytest.fixture(scope="module")
def variant() -> Variant:
    damper = sisters(TUNING[40], 1)[0]
    clicks = damper.bump.clicks
    rows = damper.sheet(np.linspace(0, clicks, 5).round(), 1).columns[:4]
    return Variant(fit_sheet(SheetRows(*rows)).direction("bump"), None)


def test_a_stiffer_stack_and_a_wider_bleed_are_those_of_the_flow_law(variant):
    """Against `force_at` of a path that was changed by hand."""
    fit, speed = variant.fit, np.array([0.02, 0.1, 0.4])
    place = fit.positions[2]
    path, shut = fit.path(place), fit.path(fit.positions[0])
    base = float(shut.bleed)
    delta = np.zeros((2, 8))
    delta[0, 4], delta[1, 1] = np.log(0.8), np.log(1.3)
    by_hand = [
        FlowPath(path.leak, path.bleed, path.crack, path.opening * 0.8, path.port, path.knee),
        FlowPath(
            path.leak, path.bleed + 0.3 * base, path.crack, path.opening, path.port, path.knee
        ),
    ]
    found = variant.moved(np.array([place]), speed, delta)
    was = force_at(speed, path) + fit.friction
    for row, other in zip(found, by_hand, strict=True):
        expected = np.log((force_at(speed, other) + fit.friction) / was)
        assert row == pytest.approx(expected, abs=1e-9)


def test_nothing_off_is_the_sister_herself(variant):
    speed = np.array([0.02, 0.1])
    places = np.array(variant.fit.positions[:2])
    assert variant.moved(places, speed, np.zeros((1, 8))) == pytest.approx(np.zeros((1, 4)))
    logs = variant.log_force(places, speed)
    expected = [np.log(variant.fit.predict(p, speed).force) for p in places]
    assert logs == pytest.approx(np.concatenate(expected))
