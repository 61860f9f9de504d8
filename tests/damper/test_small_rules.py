"""Rules of a line each: which basis is firmer, which row may be off, what a refusal says."""

from __future__ import annotations

import numpy as np
import pytest

from tests.bench.virtual_bench import virtual_damper
from tests.damper.test_parts import PARTS
from trackside.damper.basis import Basis, weakest
from trackside.damper.parts import PartsCurve, revalved
from trackside.damper.sheet import SheetRows
from trackside.damper.sheet_fit import fit_sheet
from trackside.damper.shop import shop_curve
from trackside.damper.stack import Stack
from trackside.errors import BadSheet, NoEstimate

FIRM_TO_WEAK = ("measured", "between", "beyond", "from sisters", "shop rule", "from parts")


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
