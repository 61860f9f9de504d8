"""Bounded robust least squares against scipy.optimize.least_squares."""

import numpy as np
import pytest
from scipy.optimize import least_squares

from trackside.damper.solver import INFLUENCE, Priors, inverse, lower_inverse, minimise

NONE = Priors(np.empty((0, 2)), np.empty(0))


def _exponential(seed: int, wild: bool = False):
    rng = np.random.default_rng(seed)
    t = np.linspace(0, 3, 30)
    y = 2.5 * np.exp(-1.3 * t) + 0.02 * rng.normal(size=30)
    if wild:
        y[7] += 1.0

    def model(x):
        e = np.exp(-x[1] * t)
        return (x[0] * e - y) / 0.02, np.column_stack([e, -x[0] * t * e]) / 0.02

    return model


def test_a_step_that_leads_uphill_is_shortened_until_it_does_not():
    """r = atan(x − 5): from 12 and from 0 a whole step of Gauss and Newton goes past the minimum
    to where |r| is larger (textbook)."""

    def model(x):
        return 10.0 * np.arctan(x - 5.0), 10.0 / (1.0 + (x - 5.0) ** 2)[:, None]

    for start in (12.0, 0.0):
        found = minimise(
            model, np.array([start]), np.zeros(1), Priors(np.empty((0, 1)), np.empty(0)),
            influence=np.inf, tolerance=1e-14,
        )  # fmt: skip
        assert found.x[0] == pytest.approx(5.0, abs=1e-6)


@pytest.mark.parametrize("wild", [False, True])
def test_same_minimum_as_scipy_with_the_same_loss(wild):
    model = _exponential(4, wild)
    ours = minimise(model, np.array([1.0, 0.5]), np.zeros(2), NONE, tolerance=1e-14)
    theirs = least_squares(
        lambda x: model(x)[0],
        [1.0, 0.5],
        lambda x: model(x)[1],
        bounds=(0, np.inf),
        loss="soft_l1",
        f_scale=INFLUENCE,
        xtol=1e-14,
        ftol=1e-14,
        gtol=1e-14,
    )
    np.testing.assert_allclose(ours.x, theirs.x, rtol=1e-5)
    assert ours.cost == pytest.approx(2 * theirs.cost, rel=1e-9)


def test_the_bound_holds():
    def model(x):
        return np.array([x[0] + 3.0, x[1] - 2.0]), np.eye(2)

    found = minimise(model, np.ones(2), np.zeros(2), NONE)
    np.testing.assert_allclose(found.x, [0.0, 2.0], atol=1e-6)


def test_beliefs_settle_what_rows_cannot():
    def model(x):  # two rows that say the same about the sum
        return np.array([x.sum() - 2, x.sum() - 2]) / 1e-3, np.ones((2, 2)) / 1e-3

    beliefs = Priors(np.array([[1.0, -1.0]]), np.array([0.5]))
    found = minimise(model, np.zeros(2), np.zeros(2), beliefs)
    np.testing.assert_allclose(found.x, [1.25, 0.75], rtol=1e-6)


@pytest.mark.parametrize("size", [1, 7, 64, 65, 150, 201])
def test_the_inverse_through_a_cholesky_factor_is_the_inverse(size):
    some = np.random.default_rng(size).normal(size=(size, size))
    whole = some @ some.T + np.eye(size)
    low = np.linalg.cholesky(whole)
    np.testing.assert_allclose(lower_inverse(low) @ low, np.eye(size), atol=1e-9)
    np.testing.assert_allclose(inverse(low) @ whole, np.eye(size), atol=1e-8)
