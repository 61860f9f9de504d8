"""Sisters of the shed: declared by a word, proven by their sheets, used where a sheet is short."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.bench.trial_bench import TUNING, Trial, revalved, sisters, trial_damper
from trackside.analysis.estimate import estimate_at, ground
from trackside.analysis.revalve import set_at
from trackside.analysis.shed import Shed
from trackside.analysis.sisters import PassedOver, kinship, sisters_of
from trackside.damper.basis import Basis
from trackside.errors import NoEstimate
from trackside.records import Adjuster, Build, Damper, DynoRow, DynoSheet
from trackside.reports.origin_words import origin_words

FAMILY = sisters(TUNING[41], 4)
CLICKS = FAMILY[0].bump.clicks
SPEEDS = [0.025, 0.1]
EVERY = tuple(np.linspace(0, CLICKS, 5).round().tolist())


def _build(serial: str, version: str = "A", clicks: int = CLICKS, **more: str) -> Build:
    knobs = tuple(
        Adjuster(acts_on=f"{d}_bleed", clicks=clicks, counted_from="hard")  # type: ignore[arg-type]
        for d in ("bump", "rebound")
    )
    return Build(damper=serial, version=version, adjusters=knobs, **more)  # type: ignore[arg-type]


def _sheet(serial: str, unit: Trial, positions, seed: int, version: str = "A") -> DynoSheet:
    rows = [DynoRow(p, d, v, f) for p, d, v, f, _ in unit.sheet(positions, seed).rows]  # type: ignore[arg-type]
    return DynoSheet(
        damper=serial, build=version, date="2026-04-01", source=f"{serial}.csv", rows=tuple(rows)
    )


def _shed(own: DynoSheet | None, odd: Trial | None = None, **more: str) -> Shed:
    units = {f"S-{n}": unit for n, unit in enumerate(FAMILY[1:])}
    if odd is not None:
        units["ODD"] = odd
    builds = [_build("NEW", family="club car", **more)]
    builds += [_build(serial, family="Club  car") for serial in units]
    sheets = [_sheet(serial, unit, EVERY, 7 + n) for n, (serial, unit) in enumerate(units.items())]
    return Shed(
        dampers=tuple(Damper(serial=b.damper) for b in builds),
        builds=tuple(builds),
        sheets=(*([own] if own else []), *sheets),
    )


def _worst(shed: Shed, unit: Trial, position: float, build: Build) -> float:
    found = estimate_at(set_at(build, "bump", position, None), shed, SPEEDS)
    assert found.basis is Basis.FROM_SISTERS
    true = unit.true_force("bump", position, np.array(SPEEDS))
    return float(np.max(np.abs(found.force / true - 1.0)))


def test_a_damper_without_a_sheet_has_its_sisters_force():
    shed = _shed(None)
    found = ground(shed.builds[0], "bump", shed)
    assert origin_words(found.origin) == "sisters S-0 A, S-1 A and S-2 A"
    assert _worst(shed, FAMILY[0], round(CLICKS / 2), shed.builds[0]) < 0.4


def test_one_run_of_its_own_does():
    shed = _shed(_sheet("NEW", FAMILY[0], [round(CLICKS / 3)], 3))
    found = ground(shed.builds[0], "bump", shed)
    said = "sheet NEW-A 2026-04-01 and sisters S-0 A, S-1 A and S-2 A"
    assert origin_words(found.origin) == said
    assert _worst(shed, FAMILY[0], round(CLICKS / 2), shed.builds[0]) < 0.08
    at = set_at(shed.builds[0], "bump", round(CLICKS / 3), None)
    assert estimate_at(at, shed, SPEEDS).basis is Basis.MEASURED


def test_a_sheet_that_tells_enough_needs_nobody():
    shed = _shed(_sheet("NEW", FAMILY[0], EVERY, 3))
    found = ground(shed.builds[0], "bump", shed)
    assert origin_words(found.origin) == "sheet NEW-A 2026-04-01"
    assert sisters_of(shed.builds[0], "bump", shed) is None


def test_one_that_proves_no_sister_is_refused_with_the_figure():
    odd = next(
        d
        for seed in TUNING[60:400]
        if (d := trial_damper(seed, "linear", "late")).bump.clicks == CLICKS
    )
    shed = _shed(_sheet("NEW", FAMILY[0], [round(CLICKS / 3)], 3), odd)
    found = sisters_of(shed.builds[0], "bump", shed)
    assert found is not None
    assert [s.name for s in found.strangers] == ["ODD A"]
    assert found.strangers[0].miss > 0.08
    assert "ODD A" not in found.names


def test_the_build_before_lends_its_needle_and_no_force():
    before, after = FAMILY[0], revalved(FAMILY[0], 9)
    builds = tuple(
        _build("TW-1", v, needle="12° cone", date=d)
        for v, d in (("A", "2026-01-01"), ("B", "2026-06-01"))
    )
    old = _sheet("TW-1", before, EVERY, 3)
    own = _sheet("TW-1", after, [round(CLICKS / 3)], 4, "B")
    without = Shed(builds=builds, sheets=(old,))
    with pytest.raises(NoEstimate):
        ground(builds[1], "bump", without)
    told = sisters_of(builds[1], "bump", without)
    assert told is not None
    assert told.passed_over == (PassedOver("TW-1 A", "needle alone", "bump"),)
    shed = Shed(builds=builds, sheets=(old, own))
    assert _worst(shed, after, round(CLICKS * 0.6), builds[1]) < 0.12


def test_who_is_a_sister_goes_by_the_sheds_words():
    one = _build("A-1", family="club", bump_stack="24×0.2")
    assert kinship(one, _build("B-1", family="Club ")) == "model"
    assert kinship(one, _build("B-1", family="club", bump_stack="20×0.2")) == "needle"
    assert kinship(one, _build("B-1", family="cup")) is None
    assert kinship(one, _build("B-1")) is None
    assert kinship(one, one) is None
    assert kinship(_build("A-1", needle="x"), _build("a-1", "B", needle="X")) == "needle"
    assert kinship(_build("A-1"), _build("A-1", "B")) is None


def test_another_number_of_clicks_is_passed_over():
    shed = _shed(None)
    other = replace(
        shed, builds=(shed.builds[0], _build("S-0", clicks=CLICKS + 4, family="club car"))
    )
    found = sisters_of(shed.builds[0], "bump", other)
    assert found is not None
    assert found.family is None
    assert found.passed_over == (PassedOver("S-0 A", "other clicks", "bump", CLICKS + 4, CLICKS),)
