"""First guesses: their slopes, and that the best of many is no worse than any one carried on."""

import numpy as np
import pytest

from trackside.damper import starts
from trackside.damper.flow import FlowPath, force_at
from trackside.damper.network import Network
from trackside.damper.solver import Priors

SPEED = np.linspace(0.05, 1.0, 12)


@pytest.fixture
def rows() -> starts.Rows:
    bleeds = (0.1, 0.3)
    force = np.concatenate(
        [force_at(SPEED, FlowPath(0.01, bleed, 0.4, 0.8, 4.0, 0.02)) for bleed in bleeds]
    )
    at = np.repeat(np.eye(2), SPEED.size, axis=0)
    sigma = np.hypot(0.015 * force, 0.002)
    return starts.Rows(np.tile(SPEED, 2), force / force.max(), sigma, at, np.ones((24, 1)))


def test_the_true_numbers_are_found_from_every_guess_but_a_few(rows):
    network = Network(2, 1, 1.0, 1.0)
    none = Priors(1e-3 * np.eye(network.size), np.zeros(network.size))
    low = np.zeros(network.size)
    low[-5:-2] = -np.inf
    guesses = starts.guesses(network, rows, 0.0)
    assert len(guesses) >= 6
    best = starts.best(network, rows, guesses, low, none)
    point = network.at(best[0], rows.speed, rows.at_bleed, rows.at_crack)
    np.testing.assert_allclose(point.force, rows.force, rtol=0.02)
    assert (best[:, [0, 1, 2, -2, -1]] >= 0.0).all()
