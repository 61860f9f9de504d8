"""Stacks against sums, leaf springs, and contact that is left to find its own place."""

import itertools

import numpy as np
import pytest
from scipy.optimize import nnls

from trackside.damper.plates import Plate, bend
from trackside.damper.stack import Stack, give
from trackside.errors import BadNumber

EQUAL = Stack(((0.030, 0.2e-3),) * 4, 0.014)
PYRAMID = Stack(tuple((d, 0.2e-3) for d in (0.030, 0.026, 0.022, 0.018)), 0.014)


def contact_everywhere(stack, load, places=24):
    """Seat lift per newton with contact allowed on a grid of rings over all faces, pushing only.

    Least complementary energy under forces that cannot pull: a non-negative least squares.
    """
    discs = stack.plates
    rings, pairs = [], []
    for n, (one, other) in enumerate(itertools.pairwise(discs)):
        edge = min(one.outer, other.outer)
        grid = one.inner + (edge - one.inner) * np.linspace(0.05, 1, places)
        if one.inner < load / 2 < edge:
            grid = np.append(grid, load / 2)
        rings += list(grid)
        pairs += [n] * len(grid)
    rings, pairs = np.array(rings), np.array(pairs)
    signs = np.array([(pairs == n - 1) * 1.0 - (pairs == n) * 1.0 for n in range(len(discs))])
    flexibility = np.zeros((len(rings), len(rings)))
    for disc, sign in zip(discs, signs, strict=True):
        used = np.flatnonzero(sign)
        own = np.column_stack([bend(disc, rings[used], b, 1.0).deflection for b in rings[used]])
        flexibility[np.ix_(used, used)] += own * np.outer(sign[used], sign[used])
    free = bend(discs[0], rings, load / 2, 1.0).deflection
    gap = np.where(pairs == 0, free, 0.0)
    scale = np.sqrt(np.diag(flexibility))
    root = np.linalg.cholesky(flexibility / np.outer(scale, scale) + 1e-10 * np.eye(len(rings)))
    pushed, _ = nnls(root.T, np.linalg.solve(root, gap / scale), maxiter=20_000)
    own = bend(discs[0], load / 2, load / 2, 1.0).deflection[0]
    return own - float(gap @ (pushed / scale))


def test_equal_discs_add_up():
    # frictionless discs of one size bend alike: n times the stiffness, derived
    alone = bend(Plate(0.007, 0.015, 0.2e-3), 0.015, 0.015, 1.0).deflection[0]
    found = give(EQUAL, 0.030, 0.030)
    assert found.seat == pytest.approx(alone / 4, rel=1e-9)
    assert found.stress == pytest.approx(give(Stack(EQUAL.discs[:1], 0.014), 0.03, 0.03).stress / 4)


def test_equal_diameters_add_the_cubes_of_their_thickness():
    thick, both = ((0.030, 0.2e-3),), ((0.030, 0.2e-3), (0.030, 0.1e-3))
    alone, together = (give(Stack(d, 0.014), 0.028, 0.030) for d in (thick, both))
    assert together.seat == pytest.approx(alone.seat * 8 / 9)
    assert together.stress == pytest.approx(alone.stress * 8 / 9)  # the thick one's
    assert together.bent == pytest.approx(2 * alone.bent * 8 / 9)  # the thin one's


def test_two_narrow_rings_are_a_leaf_spring():
    # leaves of length L and l and one thickness: the second carries R = P·(3L/l − 1)/4, and the
    # first gives P·L³/3D − R·l²(3L − l)/6D at its end; derived
    base, long, short = 1.0, 1e-3, 0.7e-3
    stack = Stack(((2 * (base + long), 1e-4), (2 * (base + short), 1e-4)), 2 * base)
    found = give(stack, 2 * (base + long), 2 * (base + long))
    shared = (3 * long / short - 1) / 4
    end = long**3 / 3 - shared * short**2 * (3 * long - short) / 6
    force = 2 * np.pi * base * stack.plates[0].stiffness
    assert found.seat * force == pytest.approx(end, rel=3e-3)


def test_one_disc_is_a_plate():
    stack = Stack(((0.020, 0.2e-3),), 0.010)
    found = give(stack, 0.020, 0.020)
    assert found.seat * 100 == pytest.approx(
        0.5320937e-3, rel=1e-6
    )  # the worked disc of the plates
    assert found.stress * 100 == pytest.approx(1883.30e6, rel=1e-5)
    assert found.linear_to == pytest.approx(100 * 0.1 / 0.5320937, rel=1e-6)


def pile(*layers):
    """(diameter mm, thickness mm) pairs as a stack on a 14 mm clamp."""
    return Stack(tuple((d * 1e-3, t * 1e-3) for d, t in layers), 0.014)


@pytest.mark.parametrize(
    ("stack", "load"),
    [
        (pile((30, 0.2), (26, 0.2), (22, 0.2), (18, 0.2)), 30),
        (pile((30, 0.15), (30, 0.15), (30, 0.15), (24, 0.15), (18, 0.2)), 30),
        (pile((30, 0.2), (30, 0.1), (24, 0.3)), 30),
        (pile((30, 0.1), (28, 0.3), (16, 0.1)), 30),
        (pile((30, 0.3), (29, 0.1), (17, 0.3)), 30),
        (pile((30, 0.2), (26, 0.2), (20, 0.2)), 27),
        (pile((30, 0.2), (28, 0.2), (26, 0.2), (18, 0.2)), 24),
        (pile((17, 0.1), (17, 0.1), (16, 0.1)), 17),
    ],
)
def test_contact_stands_where_it_is_assumed(stack, load):
    assumed = give(stack, load * 1e-3, load * 1e-3)
    assert assumed.seat == pytest.approx(contact_everywhere(stack, load * 1e-3), rel=0.002)


def test_order_of_stiffness():
    # common practice, no source: what the trade expects of a taper and of a wider clamp disc
    pyramid, equal = (give(s, 0.030, 0.030).seat for s in (PYRAMID, EQUAL))
    assert equal < pyramid < give(Stack(PYRAMID.discs[:1], 0.014), 0.030, 0.030).seat
    wide = give(Stack(EQUAL.discs, 0.018), 0.030, 0.030).seat
    assert wide < equal


def test_spacers_bend_nothing():
    spaced = Stack((*EQUAL.discs, (0.012, 0.3e-3)), 0.014)
    assert give(spaced, 0.030, 0.030).seat == give(EQUAL, 0.030, 0.030).seat
    with pytest.raises(BadNumber, match="larger than its clamp"):
        Stack(((0.012, 0.3e-3),), 0.014)


def test_a_crossover_is_named():
    assert Stack(((0.030, 2e-4), (0.020, 1e-4), (0.028, 2e-4)), 0.014).crossover
    assert not PYRAMID.crossover
    assert not EQUAL.crossover


def test_a_seat_beside_the_disc_is_refused():
    for load, seat in ((0.031, 0.030), (0.014, 0.030), (0.026, 0.032)):
        with pytest.raises(BadNumber, match="not on the first disc"):
            give(EQUAL, load, seat)
