"""Shares of force that a sheet's rows miss by, worked out by hand on a fit of our own making."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from trackside.analysis import row_checks
from trackside.records import DynoRow, DynoSheet

FORCES = (100.0, 200.0, 400.0, 1.0)


def made(
    misses: tuple[float, ...], forces: tuple[float, ...] = FORCES, scatter: float = 0.0
) -> Any:
    """A fit that misses its rows by so many newtons; the bench scatters by `scatter`, N."""
    return SimpleNamespace(
        rows=np.arange(len(forces)),
        misses=np.array(misses),
        scatter=lambda force: np.full_like(force, scatter),
    )


def sheet(forces: tuple[float, ...] = FORCES, positions: tuple[float, ...] = ()) -> DynoSheet:
    rows = tuple(
        DynoRow(position, "bump", 0.1, force)
        for position, force in zip(positions or range(len(forces)), forces, strict=True)
    )
    return DynoSheet(damper="D", build="A", date="2026-05-09", source="d.csv", rows=rows)


def test_a_share_of_a_small_force_is_one_of_a_fiftieth_of_the_largest() -> None:
    off = np.array([10.0, -20.0, 40.0, 4.0])
    assert row_checks.shares(made(FORCES), sheet(), off).tolist() == [0.1, -0.1, 0.1, 0.5]


@pytest.mark.parametrize(
    ("misses", "scatter", "without", "share"),
    [
        ((10.0, 20.0, 40.0, 0.8), 0.0, [], 0.1),
        ((10.0, 20.0, 40.0, 8.0), 0.0, [3], 0.1),
        ((10.0, 20.0, 80.0, 8.0), 0.0, [2, 3], 0.1),
        ((-10.0, 20.0, -40.0, 0.8), 0.0, [], 0.1),
        ((5.0, 5.0, 5.0, 5.0), 5.0, [], 0.0),  # no more than the bench scatters
        ((5.0, 5.0, 5.0, 5.0), 6.0, [], 0.0),
        ((13.0, 13.0, 13.0, 13.0), 12.0, [1, 2, 3], 0.05),  # √(13² − 12²) = 5 of 100 N
    ],
)
def test_what_the_network_misses_beyond_scatter(
    misses: tuple[float, ...], scatter: float, without: list[int], share: float
) -> None:
    assert row_checks.unfollowed(made(misses, scatter=scatter), sheet(), without) == pytest.approx(
        share
    )


@pytest.mark.parametrize(
    ("slack", "beyond"),
    [
        (0.0, [40.0, -20.0, 0.0, 0.0]),  # 8 N is a fiftieth of the largest force; 7 is less
        (2.5, [35.0, -15.0, 0.0, 0.0]),
        (8.0, [24.0, 0.0, 0.0, 0.0]),
    ],
)
def test_what_rubbing_seals_and_scatter_can_be_is_nothing(
    slack: float, beyond: list[float]
) -> None:
    fit = made((40.0, -20.0, 7.0, 90.0), scatter=2.0)
    assert row_checks._beyond(fit, sheet(), [3], slack).tolist() == beyond
    if not slack:
        assert row_checks._beyond(fit, sheet(), [3]).tolist() == beyond


EVEN = (100.0,) * 5


@pytest.mark.parametrize(
    ("misses", "contradicts"),
    [
        ((10.0, 10.0, 10.0, 10.0, 10.0), False),  # alike: nothing
        ((0.0, 0.0, 0.0, 0.0, 20.0), False),  # alone at an end: 0.75
        ((0.0, 0.0, 20.0, 0.0, 0.0), False),  # alone among five: 1.5
        ((0.0, 20.0, 0.0), True),  # alone between two: 3
        ((20.0, -20.0, 20.0, -20.0, 20.0), True),  # 4
        ((10.0, 14.0, 18.0, 22.0, 26.0), False),  # a straight line
    ],
)
def test_a_run_unlike_those_on_either_side_contradicts_them(
    misses: tuple[float, ...], contradicts: bool
) -> None:
    """Mean squares of here − (left + right)/2 over those of the three, against 1.8 (derived)."""
    forces, places = EVEN[: len(misses)], tuple(2.0 * n for n, _ in enumerate(misses))
    one = sheet(forces, places)
    assert row_checks.contradictory(made(misses, forces), one, []) is contradicts
    turned = sheet(forces, places[::-1])
    assert row_checks.contradictory(made(misses[::-1], forces), turned, []) is contradicts


@pytest.mark.parametrize(
    ("misses", "odd"),
    [
        ((0.0, 0.0, 0.0, 0.0, 30.0), True),
        ((10.0, 10.0, 10.0, 10.0, 26.0), True),
        ((10.0, 10.0, 10.0, 10.0, 24.0), False),  # not 2.5 times the next
        ((2.1, 0.0, 0.0, 0.0, 4.0), False),
        ((30.0, 0.0, 0.0, 0.0, 30.0), False),
    ],
)
def test_one_run_alone_off_the_network_is_odd(misses: tuple[float, ...], odd: bool) -> None:
    assert row_checks.odd_run(made(misses, EVEN), sheet(EVEN), []) is odd


def test_two_runs_contradict_nothing_and_of_one_none_is_odd() -> None:
    assert not row_checks.contradictory(made((0.0, 30.0), EVEN[:2]), sheet(EVEN[:2]), [])
    assert not row_checks.odd_run(made((30.0,), (100.0,)), sheet((100.0,)), [])
