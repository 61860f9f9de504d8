"""Rules of a line each: which basis is firmer, which row may be off, what a refusal says."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest

from tests.bench.virtual_bench import virtual_damper
from tests.damper.test_parts import PARTS
from trackside.damper import stored
from trackside.damper.basis import Basis, weakest
from trackside.damper.clicks import ForceSteps
from trackside.damper.flow import FlowPath, force_at
from trackside.damper.force_model import ForceModel
from trackside.damper.parts import PartsCurve, revalved
from trackside.damper.sheet import SheetRows
from trackside.damper.sheet_fit import fit_sheet
from trackside.damper.shop import shop_curve
from trackside.damper.sisters import Family, Sister
from trackside.damper.stack import Stack
from trackside.damper.viscous import Viscous, learned
from trackside.errors import BadSheet, NoEstimate

FIRM_TO_WEAK = (
    "measured",
    "between clicks",
    "outside range",
    "from sisters",
    "shop rule",
    "from parts",
)


def test_each_basis_has_its_word_and_its_place() -> None:
    assert [str(basis) for basis in Basis] == list(FIRM_TO_WEAK)
    assert [basis.rank for basis in Basis] == [0, 1, 2, 3, 4, 5]
    for n, firm in enumerate(FIRM_TO_WEAK):
        for weak in FIRM_TO_WEAK[n:]:
            assert weakest(Basis(firm), Basis(weak)) == weak == weakest(Basis(weak), Basis(firm))


# ── which rows belong together ──────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("forces", "falls"),
    [
        ((100.0, 200.0, 300.0, 400.0, 500.0), False),
        ((100.0, 200.0, 50.0, 400.0, 500.0), False),  # one row off its curve
        ((100.0, 900.0, 300.0, 400.0, 500.0), False),
        ((500.0, 400.0, 300.0, 200.0, 100.0), True),
    ],
)
def test_a_force_that_falls_with_speed_is_refused_but_for_one_row(
    forces: tuple[float, ...], falls: bool
) -> None:
    speed = 0.05 * np.arange(1, len(forces) + 1)
    rows = SheetRows([0.0] * speed.size, ["bump"] * speed.size, speed, list(forces))
    if not falls:
        assert fit_sheet(rows).bump is not None
        return
    with pytest.raises(BadSheet) as refused:
        fit_sheet(rows)
    assert "at 0 clicks from full hard the bump force falls as speed rises" in refused.value.cause
    assert refused.value.remedy == "check that rows, speeds and directions were not mixed up"


def test_of_three_rows_none_can_be_told_off_the_other_two() -> None:
    speed = np.array([0.05, 0.1, 0.2, 0.3, 0.05, 0.1, 0.2])
    force = np.array([200.0, 400.0, 800.0, 1200.0, 100.0, 300.0, 200.0])
    rows = SheetRows([0.0] * 4 + [4.0] * 3, ["bump"] * 7, speed, force)
    with pytest.raises(BadSheet, match="at 4 clicks from full hard the bump force falls as speed"):
        fit_sheet(rows)
    force[6] = 400.0
    assert fit_sheet(rows).bump is not None


def sheet(ring: bool = False, directions: tuple[str, ...] = ("bump",)) -> SheetRows:
    damper = virtual_damper(3)
    position, direction, speed, force = damper.measure((0.0, 4.0, 8.0), seed=3).columns
    kept = np.array([d in directions for d in direction])
    columns = [column[kept] for column in (position, speed, force)]
    named = [d for d in direction if d in directions]
    if not ring:
        return SheetRows(columns[0], named, *columns[1:])
    twice = [np.concatenate([column, column]) for column in columns]
    preload = np.repeat([0.0, 3.0], columns[0].size)
    twice[2] = twice[2] * np.where(preload > 0, 0.9, 1.0)
    return SheetRows(twice[0], named * 2, twice[1], twice[2], None, preload)


def test_a_position_too_far_beyond_the_sheet_is_named_with_what_was_measured() -> None:
    fit = fit_sheet(sheet()).bump
    assert fit is not None
    with pytest.raises(NoEstimate) as refused:
        fit.predict(40.0, [0.1])
    assert refused.value.cause == (
        "the bump was measured from 0 to 8 clicks from full hard, and 40 is too far beyond"
    )
    assert refused.value.remedy == "measure a position nearer to it"
    fit.predict(20.0, [0.1])  # 1.5 measured ranges beyond: our own limit, no source
    with pytest.raises(NoEstimate):
        fit.predict(20.1, [0.1])
    ringed = fit_sheet(sheet(ring=True)).bump
    assert ringed is not None
    with pytest.raises(NoEstimate, match="was measured from 0 to 3 clicks"):
        ringed.predict(4.0, [0.1], 30.0)


def test_a_direction_without_rows_says_so() -> None:
    found = fit_sheet(sheet())
    assert found.direction("bump") is found.bump
    with pytest.raises(NoEstimate) as refused:
        found.direction("rebound")
    assert refused.value.cause == "the sheet has no rows in rebound"
    assert refused.value.remedy == "measure this direction too"
    ringed = fit_sheet(sheet(ring=True)).bump
    assert ringed is not None
    with pytest.raises(NoEstimate, match="the bump preload adjuster was measured at several"):
        ringed.predict(4.0, [0.1])


# ── bands ───────────────────────────────────────────────────────────────────────────────────────


def test_two_builds_of_different_dampers_have_errors_of_their_own() -> None:
    """Measured twice, not once: the band of the change is wider than within one damper."""
    softer = PartsCurve(PARTS.__class__(**{**vars(PARTS), "preload": 0.05e-3}))
    before = PartsCurve(PARTS)
    speeds = [0.05, 0.2]
    own = revalved(before, 4.0, softer, 4.0, speeds, one_damper=True)
    other = revalved(before, 4.0, softer, 4.0, speeds)
    assert np.all(other.change == own.change)
    assert np.all(other.high - other.low > own.high - own.low)


def test_a_change_of_parts_is_in_percent_of_the_force_before() -> None:
    softer = PartsCurve(
        PARTS.__class__(**{**vars(PARTS), "stack": Stack(((0.03, 0.2e-3),), 0.014)})
    )
    before = PartsCurve(PARTS)
    found = revalved(before, 4.0, softer, 4.0, [0.0, 0.05, 0.2])
    at = before.predict(4.0, [0.0, 0.05, 0.2]).force
    assert found.percent[1:] == pytest.approx(100 * found.change[1:] / at[1:])
    assert found.percent[0] == 0.0
    assert np.all(found.low <= found.change)
    assert np.all(found.change <= found.high)


def test_a_shop_rules_change_has_a_band_on_both_sides_of_it() -> None:
    rule = shop_curve(900.0, 0.1, 0.06)
    for a, b in ((2.0, 4.0), (4.0, 2.0)):
        found = rule.difference(a, b, [0.05, 0.1, 0.3])
        assert np.all(found.low < found.change)
        assert np.all(found.change < found.high)
        assert np.all((found.low > 0) == (b < a)), "nobody doubts which way a click goes"


# ── learning ────────────────────────────────────────────────────────────────────────────────────


def test_the_viscous_part_is_learned_as_generalised_least_squares_with_a_prior() -> None:
    """ln force straight in what is learned: (AᵀWA + P)⁻¹·(AᵀW·(seen − start) ), textbook."""
    rng = np.random.default_rng(5)
    start = Viscous()
    slopes = rng.normal(size=(9, 2))
    noise = np.diag(rng.uniform(0.01, 0.04, 9))

    def carry(what: Viscous) -> tuple[np.ndarray, np.ndarray]:
        return slopes @ (np.array(what.logs) - np.array(start.logs)), slopes

    seen = slopes @ np.array([0.3, -0.2]) + 0.1 + 0.05 * rng.normal(size=9)
    found, gain, deviation = learned(seen, carry, noise, start)
    design = np.column_stack([slopes, np.ones(9)])
    holds = np.zeros((3, 3))
    holds[:2, :2] = np.linalg.inv(start.covariance)
    inverse = np.linalg.inv(design.T @ np.linalg.inv(noise) @ design + holds)
    wanted = inverse @ design.T @ np.linalg.inv(noise) @ seen
    assert np.array(found.logs) - np.array(start.logs) == pytest.approx(wanted[:2])
    assert gain == pytest.approx(wanted[2])
    assert deviation == pytest.approx(inverse[2, 2] ** 0.5)
    assert np.array(found.covariance) == pytest.approx(inverse[:2, :2])


def test_a_law_learns_nothing_from_values_that_are_all_the_same() -> None:
    law = ForceModel((0.0, 4.0, 8.0))
    assert law.learned(np.ones(3), np.eye(3)) is law
    two = ForceModel((0.0, 8.0))
    assert two.learned(np.array([1.0, 2.0]), np.eye(2)) is two


def test_two_sisters_say_already_how_far_they_differ() -> None:
    damper = virtual_damper(3)
    fits = []
    for seed, stronger in ((1, 1.0), (2, 1.4)):
        position, direction, speed, force = damper.measure((0.0, 4.0, 8.0), seed=seed).columns
        bump = np.array([d == "bump" for d in direction])
        rows = SheetRows(position[bump], ["bump"] * bump.sum(), speed[bump], stronger * force[bump])
        fits.append(fit_sheet(rows).bump)
    two = Family("bump", None, tuple(Sister(f"S{n}", fit) for n, fit in enumerate(fits)))  # type: ignore[arg-type]
    assert two.factor != 1.0
    assert Family("bump", None, two.sisters[:1]).factor == 1.0
    with pytest.raises(NoEstimate) as refused:
        two.difference(2.0, 4.0, np.array([0.1]), 0.0, 3.0)
    assert refused.value.cause == "sisters tell of the bleed adjuster, and the preload differs"
    assert refused.value.remedy == "compare at one position of the preload adjuster"


def test_a_fit_holds_parts_of_its_own_alone() -> None:
    found = fit_sheet(sheet())
    assert stored.from_bytes(stored.to_bytes(found)).bump is not None

    @dataclass(frozen=True)
    class Odd:
        force: float = 1.0

    with pytest.raises(TypeError, match="a fit holds a Odd, which cannot be kept"):
        stored.to_bytes(replace(found, oil_C=Odd()))  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="no fit"):
        stored.from_bytes(b"odd")


@pytest.mark.parametrize(
    ("path", "moves"),
    [
        (FlowPath(leak=0.0, bleed=0.002, crack=200.0, opening=1e-5, port=0.03), True),
        (FlowPath(leak=0.0, bleed=0.002, crack=200.0, opening=0.0, port=0.03), False),
    ],
)
def test_a_preload_ring_decides_a_force_only_where_the_stack_passes_oil(
    path: FlowPath, moves: bool
) -> None:
    steps = ForceSteps(0.05, 0.1)
    if not moves:
        with pytest.raises(NoEstimate, match="the preload does not decide the force"):
            steps.path_at(path, 0.0, 2.0, "crack")
        return
    before, after = (
        float(force_at(0.1, at)) for at in (path, steps.path_at(path, 0.0, 2.0, "crack"))
    )
    assert after == pytest.approx(0.9 * before, rel=1e-3)
