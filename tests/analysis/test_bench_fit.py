"""A sheet by itself: from which end it counts, and that its answers hang together."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.analysis import garage
from tests.analysis.garage import OTHER, UNIT, sheet_of
from tests.bench.virtual_bench import population
from trackside.analysis.bench_fit import bench_fit, counting
from trackside.analysis.shed import fit_of
from trackside.damper.basis import Basis
from trackside.errors import BadInput, BadSheet, NoEstimate
from trackside.records import DynoRow, DynoSheet, ShopRule
from trackside.units import LBF


def uncounted(sheet: DynoSheet, **more: object) -> DynoSheet:
    return sheet.model_copy(update={"counted_from": None, **more})


@pytest.mark.parametrize("counted", ["hard", "soft"])
def test_counting_is_told_by_the_forces_of_any_damper(counted: str) -> None:
    for damper in population(20, first_seed=3000):
        clicks = damper.clicks - damper.clicks % 4
        sheet = sheet_of("D", replace(damper, clicks=clicks), clicks, counted)
        found = counting(sheet)
        assert (found.counted_from, found.ground) == (counted, "inferred")


def test_what_is_stated_is_believed() -> None:
    sheet = sheet_of("D", UNIT, 20, "hard").model_copy(update={"counted_from": "soft"})
    assert counting(sheet).stated


def test_flat_forces_tell_nothing() -> None:
    rows = tuple(
        DynoRow(p, "bump", v, 1000 * v + 10 + 0.1 * p) for p in (0, 5, 10) for v in (0.05, 0.1, 0.2)
    )
    found = counting(DynoSheet(rows=rows))
    assert (found.counted_from, found.ground) == ("hard", "assumed")


def test_forces_that_rise_and_fall_are_a_contradiction() -> None:
    rows = tuple(
        DynoRow(p, "bump", v, 1000 * v * (1 + (p == 5)))
        for p in (0, 5, 10)
        for v in (0.05, 0.1, 0.2, 0.3)
    )
    with pytest.raises(BadSheet, match="neither"):
        counting(DynoSheet(rows=rows, source="odd.csv"))


def test_speeds_that_differ_from_run_to_run_are_compared_where_they_overlap() -> None:
    rows = tuple(
        DynoRow(p, "rebound", v + 0.001 * p, 2000 * v * 1.2**p)
        for p in (0, 1, 2)
        for v in (0.05, 0.1, 0.2, 0.3)
    )
    assert counting(DynoSheet(rows=rows)).counted_from == "soft"


def test_a_measured_position_is_met_and_others_are_between_or_beyond() -> None:
    found = bench_fit(uncounted(sheet_of("D", OTHER, 16, "soft")))
    for direction in ("bump", "rebound"):
        for position, basis in ((8, Basis.MEASURED), (9, Basis.BETWEEN),
                                   (17, Basis.BEYOND)):  # fmt: skip
            told = found.force(direction, position)
            assert told.basis is basis
            if position <= 16:
                true = OTHER.true_force(direction, 16 - position, told.speed)
                assert np.all(np.abs(told.force / true - 1) < 0.08)


def test_a_position_below_zero_cannot_be_set() -> None:
    with pytest.raises(BadInput):
        bench_fit(sheet_of("D", UNIT, 20, "hard")).force("bump", -1)


def test_preload_positions_are_told_apart() -> None:
    plain = sheet_of("D", UNIT, 20, "hard")
    rows = tuple(
        DynoRow(r.position, r.direction, r.speed, r.force * (1 + 0.1 * ring), None, ring)
        for ring in (1.0, 3.0)
        for r in plain.of_direction("bump")
    )
    found = bench_fit(uncounted(plain, rows=(*rows, *plain.of_direction("rebound"))))
    assert found.preload_counting is not None
    assert found.preload_counting.counted_from == "soft"
    assert found.preloads("bump") == (1.0, 3.0)
    assert found.preloads("rebound") == (None,)
    speeds = (0.2, 0.3)
    low, high = (found.force("bump", 10, speeds, ring).force for ring in (1.0, 3.0))
    assert np.all(high > low)
    places = {p.name: place for p, place in found.parameters("bump") if p.name.startswith("crack")}
    assert sorted(places.values()) == [1.0, 3.0]


def test_a_sheet_that_cannot_be_fitted_is_named() -> None:
    sheet = sheet_of("D", UNIT, 20, "hard")
    with pytest.raises(BadSheet, match=r"D\.csv"):
        bench_fit(sheet.model_copy(update={"rows": sheet.rows[:3]}))


def test_a_sheet_without_slow_runs_asks_for_one() -> None:
    """The run that would help a fast sheet most is slower than any it has, and helps it more than
    the best run helps the whole sheet (below crack the bleed is alone: the orifice law)."""
    whole = uncounted(sheet_of("D", UNIT, 20, "hard"))
    fast = whole.model_copy(update={"rows": tuple(r for r in whole.rows if r.speed >= 0.15)})
    asked, little = (bench_fit(sheet).advice("rebound") for sheet in (fast, whole))
    assert max(asked.speeds) < min(row.speed for row in fast.rows)
    assert 0 < little.gain < asked.gain < 1
    assert set(little.untold) <= set(asked.untold)


def test_one_position_of_a_damper_is_carried_by_its_shops_rule() -> None:
    """2 % of the full-hard force a click at 100 mm/s: 0.8 of it at 10, 0.72 at 14 (arithmetic)."""
    shed = garage.at_one_position("HARD", 10)
    rule = ShopRule(
        direction="bump", full_hard_force=900, reference_speed=0.1, share_per_click=0.02
    )
    build = shed.build("HARD").model_copy(update={"shop_rules": (rule,)})
    fit = fit_of(shed.sheets[0], build).bump
    here, softer = (fit.predict(position, [0.1]) for position in (10, 14))
    assert (here.basis, softer.basis) == (Basis.MEASURED, Basis.SHOP_RULE)
    left = (softer.force[0] - fit.friction) / (here.force[0] - fit.friction)
    assert left == pytest.approx(0.72 / 0.80, rel=1e-3)
    with pytest.raises(NoEstimate, match="one position only"):
        fit_of(shed.sheets[0], shed.build("HARD")).bump.predict(14, [0.1])


def test_runs_of_two_dampers_in_one_sheet_are_refused() -> None:
    sheet = sheet_of("D", UNIT, 20, "hard")
    rows = tuple(
        r._replace(force=r.force / LBF) if r.position >= 10 and r.direction == "bump" else r
        for r in sheet.rows
    )
    with pytest.raises(BadSheet, match="bump runs do not go together"):
        bench_fit(sheet.model_copy(update={"rows": rows}))
    assert bench_fit(sheet).strays("bump") == []
