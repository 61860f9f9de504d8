"""Stacks from tables made once against `stack.give`, which takes every disc by itself."""

from __future__ import annotations

import numpy as np
import pytest

from trackside.damper.flow import FlowPath, flow_coefficient, force_at
from trackside.damper.stack import Stack, give
from trackside.damper.valve_scan import Scan
from trackside.damper.valve_tables import SeatTables
from trackside.errors import BadNumber

CLAMP, SEAT, LOAD = 0.014, 0.028, 0.024
WIDE = (0.030, 0.028, 0.026, 0.024, 0.022, 0.020, 0.018)
THICK = (0.10e-3, 0.15e-3, 0.20e-3, 0.25e-3, 0.30e-3)
TABLES = SeatTables(CLAMP, LOAD, SEAT, WIDE)


def some_stacks(count: int) -> list[tuple[tuple[float, float], ...]]:
    rng, found = np.random.default_rng(15), []
    for n in range(count):
        wide = [0.030, *sorted(rng.choice(WIDE, size=n % 6), reverse=True)]
        if n % 4 == 3:  # in another order too: the tables do not choose
            wide[1:] = rng.permutation(wide[1:])
        found.append(tuple((float(d), float(rng.choice(THICK))) for d in wide))
    return found


@pytest.mark.parametrize("discs", some_stacks(30))
def test_a_stack_gives_as_disc_by_disc(discs: tuple[tuple[float, float], ...]) -> None:
    slow, quick = give(Stack(discs, CLAMP), LOAD, SEAT), TABLES.give(discs)
    for name in ("seat", "bent", "stress"):
        assert getattr(quick, name) == pytest.approx(getattr(slow, name), rel=1e-8)


def test_spacers_in_a_stack_bend_nothing_and_other_thicknesses_need_no_new_table() -> None:
    discs = ((0.030, 0.123e-3), (0.020, 0.217e-3), (0.012, 1e-3))
    assert TABLES.give(discs).seat == pytest.approx(TABLES.give(discs[:2]).seat, rel=1e-12)
    assert TABLES.give(discs).seat == pytest.approx(
        give(Stack(discs, CLAMP), LOAD, SEAT).seat, rel=1e-8
    )


def test_thin_discs_share_by_the_cube_of_their_thickness() -> None:
    # derived: plates of one diameter that bend alike; eight of t are as stiff as one of 2t
    eight = TABLES.give(((0.030, 0.1e-3),) * 8)
    one = TABLES.give(((0.030, 0.2e-3),))
    assert eight.seat == pytest.approx(one.seat, rel=1e-12)
    assert eight.stress == pytest.approx(one.stress / 2, rel=1e-12)


@pytest.mark.parametrize("discs", [((0.026, 2e-4),), ((0.031, 2e-4),), ((0.012, 2e-4),)])
def test_a_disc_that_does_not_reach_the_seat_or_has_no_table_is_refused(
    discs: tuple[tuple[float, float], ...],
) -> None:
    assert not TABLES.fits(discs)
    with pytest.raises(BadNumber, match="not on the first disc"):
        TABLES.give(discs)


def _scan() -> Scan:
    unit = float(flow_coefficient(1.0, 1.5e-3, 850.0))
    speeds = np.array([0.025, 0.1, 0.3])
    bleeds = unit * np.array([[0.5e-6, 1.0e-6, 2.0e-6], [1.5e-6, 2.0e-6, 3.0e-6]])
    wanted = np.array([[150.0, 500.0, 900.0]] * 3)
    preloads = np.array([0.0, 0.1e-3, -0.02e-3])
    return Scan(speeds, wanted, bleeds, preloads, unit * np.pi * SEAT, unit * 120e-6)


def test_the_scan_is_the_exact_force_to_first_order() -> None:
    # the exact forces are those of the flow law, checked by its own tests
    scan, lifts = _scan(), np.array([2e-7, 5e-7])
    for s, lift in enumerate(lifts):
        for p, preload in enumerate(scan.preloads):
            for b in range(2):
                [force] = scan.forces(lifts[s : s + 1], np.array([preload]), np.array([b]))
                gap = scan.edge * max(-preload, 0.0)
                path = FlowPath(
                    0.0,
                    scan.bleeds[b][:, None] + gap,
                    max(preload, 0.0) / lift,
                    scan.edge * lift,
                    scan.port,
                )
                np.testing.assert_allclose(force, force_at(scan.speeds[None, :], path), rtol=1e-9)
                near = Scan(
                    scan.speeds, force * 1.01, scan.bleeds, scan.preloads, scan.edge, scan.port
                )
                off = near.misses(lifts)[s, p, b]
                np.testing.assert_allclose(off, 1 / 1.01 - 1, atol=1.5e-3)


def test_a_build_that_makes_the_wanted_force_misses_nothing() -> None:
    scan, lifts = _scan(), np.array([3e-7])
    [force] = scan.forces(lifts, scan.preloads[1:2], np.array([0]))
    met = Scan(scan.speeds, force, scan.bleeds, scan.preloads, scan.edge, scan.port)
    np.testing.assert_allclose(met.misses(lifts)[0, 1, 0], 0.0, atol=1e-9)
    assert np.all(met.misses(lifts)[0, 1, 1] < 0), "more bleed makes less force"
    assert np.all(met.misses(lifts * 2)[0, 1, 0] <= 0), "a softer stack makes no more force"
