"""The shed: what contradicts itself is left out by name, and history keeps its builds."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.analysis.garage import SHED, SPEEDS, corner, knobs, session
from trackside.analysis.estimate import estimate
from trackside.analysis.shed import Shed, build_or_reason, fit_of, gas_force, rows_of
from trackside.errors import BadSheet, NoEstimate
from trackside.logbook import Logbook, put
from trackside.records import Adjuster, Build, DynoRow, DynoSheet, Session
from trackside.reports.origin_words import origin_words


def test_a_record_that_contradicts_itself_is_left_out_by_name() -> None:
    odd = {"damper": "D1", "version": "B", "rod_diameter": 0.05, "piston_diameter": 0.04}
    sound = {"damper": "D1", "version": "A", "date": "2026-05-01"}
    with Logbook.open(":memory:", device="test") as logbook:
        logbook.write(put("damper", {"serial": "D1"}), put("damper", {"serial": ""}))
        logbook.write(put("build", odd), put("build", sound))
        logbook.write(put("car", {"name": "Car", "wheelbase": -2}), put("car", {"name": "Other"}))
        logbook.write(put("sheet", {"damper": "D1", "build": "A", "rows": []}))
        shed = Shed.of(logbook)
    assert [d.serial for d in shed.dampers] == ["D1"]
    assert [b.version for b in shed.builds] == ["A"]
    assert [(car.name, car.wheelbase) for car in shed.cars.values()] == [
        ("Car", None),
        ("Other", None),
    ], "a car goes without the figure that cannot be right"
    assert shed.sheets == ()
    told = " ".join(one.sentence for one in shed.unread)
    assert len(shed.unread) == 4
    assert "build “D1 · B” is left out" in told
    assert "the rod is as thick as the piston" in told
    assert "car “Car” is shown without wheelbase" in told
    assert "sheet “D1 · A” is left out" in told


def test_what_can_be_read_leaves_nothing_unread(samples: Logbook) -> None:
    assert Shed.of(samples).unread == ()


REBUILT = Shed(
    builds=(
        Build(damper="D1", version="A", date="2026-03-01"),
        Build(damper="D1", version="B", date="2026-06-01"),
        Build(damper="D1", version="C", date="2026-09-01"),
        Build(damper="D2", version="A", date="2026-06-01"),
    )
)


@pytest.mark.parametrize(
    ("damper", "build", "start", "version"),
    [
        ("D1", None, "2026-05-09 14:20", "A"),
        ("D1", None, "2026-06-01 09:00", "B"),
        ("D1", None, "2026-08-31", "B"),
        ("D1", None, "2026-12-24 10:00", "C"),
        ("D1", None, "2026-02-01 10:00", None),
        ("D1", None, "", None),
        ("D1", None, "9.5.2026", None),
        ("D1", "a", "2026-12-24 10:00", "A"),
        ("D2", None, "2026-02-01 10:00", "A"),
        ("D2", None, "", "A"),
        ("D3", None, "2026-12-24", None),
    ],
)
def test_a_session_keeps_the_build_of_its_day(
    damper: str, build: str | None, start: str, version: str | None
) -> None:
    ran = Session(start=start, FL=corner(damper).model_copy(update={"build": build}))
    found = REBUILT.build_at(ran, "FL")
    assert (found.version if found else None) == version
    if version is None:
        with pytest.raises(NoEstimate, match="several" if damper == "D1" else "not in the damper"):
            build_or_reason(ran, "FL", REBUILT)


def test_an_undated_build_is_not_taken_for_the_oldest() -> None:
    undated = REBUILT.builds[0].model_copy(update={"date": ""})
    shed = Shed(builds=(undated, *REBUILT.builds[1:]))
    assert shed.build_at(Session(start="2026-05-09", FL=corner("D1")), "FL") is None


def sheet_at(positions: list[float], preload: list[float | None]) -> DynoSheet:
    rows = tuple(
        DynoRow(p, "bump", v, 100 * v**0.5, None, ring)
        for p in positions
        for ring in preload
        for v in (0.05, 0.1, 0.2, 0.4)
    )
    return DynoSheet(damper="D1", build="A", source="d1.csv", rows=rows)


RING = Adjuster(acts_on="bump_preload", clicks=6, counted_from="soft")


@pytest.mark.parametrize("counted", ["hard", "soft"])
@pytest.mark.parametrize(
    ("positions", "preload", "told"),
    [
        ([0, 24], [None], "24 is beyond"),
        ([0, -1], [None], "-1 is beyond"),
        ([0, 8], [1, 7], "7 is beyond"),
    ],
)
def test_a_sheet_beyond_the_travel_of_its_knob_is_refused(
    counted: str, positions: list[float], preload: list[float | None], told: str
) -> None:
    build = Build(damper="D1", version="A", adjusters=(*knobs(20, counted), RING))
    with pytest.raises(BadSheet, match=told):
        rows_of(sheet_at(positions, preload), build)
    with pytest.raises(BadSheet):
        fit_of(sheet_at(positions, preload), build)
    rows_of(sheet_at([0, 20], [0, 6]), build)


def test_gas_force_is_nought_only_where_the_sheet_has_none_in_it() -> None:
    """2 MPa on a rod of 16 mm: π/4 × 0.016² × 2e6 = 402.1 N (derived)."""
    build = Build(damper="D1", version="A", rod_diameter=0.016)
    clean = sheet_at([0, 8], [None])
    full = clean.model_copy(update={"gas_in": True, "gas_pressure": 2e6})
    unknown = clean.model_copy(update={"gas_in": True})
    assert gas_force(clean, build) == 0.0
    assert gas_force(full, build) == pytest.approx(402.1, abs=0.05)
    assert gas_force(unknown, build) is None
    assert gas_force(full, build.model_copy(update={"rod_diameter": None})) is None


def test_preload_positions_need_a_preload_knob() -> None:
    build = Build(damper="D1", version="A", adjusters=knobs(20, "hard"))
    with pytest.raises(BadSheet, match="no bump preload adjuster on record"):
        rows_of(sheet_at([0, 8], [1, 4]), build)
    rows_of(sheet_at([0, 8], [4]), build)


def test_a_direction_without_rows_stands_on_the_shop_rule() -> None:
    sheet = SHED.sheets[0].model_copy(update={"rows": SHED.sheets[0].of_direction("bump")})
    rule = next(b for b in SHED.builds if b.damper == "RULE").shop_rules
    builds = tuple(b.model_copy(update={"shop_rules": rule}) for b in SHED.builds)
    shed = replace(SHED, sheets=(sheet,), builds=builds)
    assert estimate(session(), "FL", "rebound", shed, SPEEDS).basis == "shop rule"
    assert "sheet" in origin_words(estimate(session(), "FL", "bump", shed, SPEEDS).origin)
