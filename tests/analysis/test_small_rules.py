"""Rules of a line each: when two things are the same, which comes first, which way it went."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.analysis.garage import (
    BARE,
    HARD,
    OTHER,
    PREFERENCES,
    RULE,
    SHED,
    SHEET,
    SOFT,
    SPEEDS,
    bar,
    corner,
    degrees,
    session,
    sheet_of,
)
from tests.analysis.test_axle import SESSION as RULED
from tests.analysis.test_axle import SHED as RULED_SHED
from tests.analysis.test_parts import BUILD as FROM_PARTS
from tests.analysis.test_response import SIZED
from trackside.analysis.axle import axles
from trackside.analysis.build_oil import TO_CST, oil_of
from trackside.analysis.cavitation import cavitation
from trackside.analysis.corner_limits import corner_limits
from trackside.analysis.estimate import as_reason, estimate, ground, setting
from trackside.analysis.knob_sweep import knob_sweep
from trackside.analysis.last_read import LastReadings, asked_of
from trackside.analysis.outings import Outings, outings_before
from trackside.analysis.recall import find
from trackside.analysis.response import response
from trackside.analysis.revalve import set_at
from trackside.analysis.shed import Shed, fit_of
from trackside.analysis.sisters import Sisterhood
from trackside.analysis.trend import trend
from trackside.analysis.trend_rows import TrendRow
from trackside.analysis.warm_oil import warm_estimate
from trackside.damper.basis import Basis
from trackside.damper.sisters import Family, Sister
from trackside.errors import BadInput, NoEstimate
from trackside.logbook import Logbook, put
from trackside.records import Change, DynoRow, Reading, Session

# ── the same damper, the same build ─────────────────────────────────────────────────────────────


# ── sheets ──────────────────────────────────────────────────────────────────────────────────────


# ── curves ──────────────────────────────────────────────────────────────────────────────────────


def test_the_axles_are_called_by_their_names() -> None:
    found = axles(RULED, RULED_SHED, [0.1])
    assert list(found.ratios) == ["front", "rear", "heave"]
    assert found.ratios["rear"] is found.rear.ratio
    assert found.ratios["front"] is found.front.ratio


def test_a_shop_rule_without_a_share_says_what_it_lacks() -> None:
    bare = RULE.model_copy(
        update={"shop_rules": tuple(r.model_copy(update={"share_per_click": None})
                                    for r in RULE.shop_rules)}
    )  # fmt: skip
    with pytest.raises(NoEstimate) as refused:
        ground(bare, "bump", replace(SHED, builds=(bare,)))
    assert refused.value.cause == "the shop rule of RULE has no share per click"
    assert refused.value.remedy == "enter it with the build"
    knob = bare.adjusters[0].model_copy(update={"share_per_click": 0.05})
    known = bare.model_copy(update={"adjusters": (knob, *bare.adjusters[1:])})
    origin = ground(known, "bump", replace(SHED, builds=(known,))).origin
    assert (origin.kind, origin.share) == ("shop rule", 0.05)


def test_what_stops_the_travel_from_being_calculated_is_said_with_its_remedy() -> None:
    at = setting(session(), "FL", "bump", SIZED)
    with pytest.raises(NoEstimate) as refused:
        response(at, SIZED, gas=-5e5)
    assert refused.value.cause.endswith("is not plausible")
    assert refused.value.remedy == "air is a share, 0.01 is 1 %"


def test_a_knob_is_full_hard_where_a_build_has_none() -> None:
    none = HARD.model_copy(update={"adjusters": ()})
    assert set_at(none, "bump", None, None).from_hard == 0.0
    assert set_at(HARD, "bump", 8.0, None).from_hard == 8.0
    assert set_at(SOFT, "bump", 6.0, None).from_hard == 10.0


def test_the_oil_of_a_build_is_of_two_viscosities_else_of_grade_and_index() -> None:
    one, both = {"oil_viscosity_40": 15e-6}, {"oil_viscosity_40": 15e-6, "oil_viscosity_100": 4e-6}
    grade = {"oil_grade": 32e-6, "oil_index": 150.0}
    assert oil_of(HARD.model_copy(update=one)) is None
    assert oil_of(HARD.model_copy(update={"oil_viscosity_100": 4e-6})) is None
    assert oil_of(HARD.model_copy(update={"oil_grade": 32e-6})) is None
    found = oil_of(HARD.model_copy(update={**both, **grade}))
    assert found is not None
    assert (found.nu_cold, found.nu_hot) == (15.0, 4.0)
    by_grade = oil_of(HARD.model_copy(update={**one, **grade}))
    assert by_grade is not None
    assert by_grade.nu_cold == pytest.approx(32.0)
    assert TO_CST == 1e6  # 1 cSt is 1 mm²/s: ISO 3104 (the unit's definition)


def test_warm_oil_says_what_it_knows_of_the_oil() -> None:
    warmed = tuple(row._replace(oil_C=24.0) for row in SHEET.rows)
    now = session(corner(body_temperature=degrees(60.0)))
    for figures, known in (
        ({}, "nothing"),
        ({"oil_viscosity_40": 15e-6, "oil_viscosity_100": 4e-6}, "viscosities"),
        ({"oil_grade": 32e-6, "oil_index": 150.0}, "grade"),
        ({"oil_grade": 32e-6, "oil_index": 150.0, "oil_viscosity_100": 4e-6}, "grade"),
    ):
        build = HARD.model_copy(update=figures)
        shed = replace(
            SHED,
            builds=(build,),
            sheets=(SHEET.model_copy(update={"rows": warmed}),),
        )
        cold = estimate(now, "FL", "bump", shed, SPEEDS)
        found = warm_estimate(cold, now, shed, SPEEDS)
        assert found.oil == known
        assert (found.sheet_C, found.at_C) == (24.0, 60.0)
        assert np.all(found.estimate.force < cold.force), "warm oil is thinner and lighter"


def test_discs_that_a_benchs_force_bends_too_far_are_told_by_the_peak() -> None:
    soft = FROM_PARTS.model_copy(update={"bump_stack": "30×0.10"})
    sheet = sheet_of("NEW", OTHER, 20, "hard")
    strong = sheet.model_copy(
        update={"rows": tuple(row._replace(force=row.force * 3) for row in sheet.rows)}
    )
    shed = replace(SHED, builds=(soft,), sheets=(strong,))
    at = estimate(session(corner("NEW")), "FL", "bump", shed, SPEEDS)
    peak = PREFERENCES.peak_speed
    found = corner_limits(at, session(), shed, peak)
    assert found.discs is not None
    [top] = estimate(session(corner("NEW")), "FL", "bump", shed, [peak]).force
    assert found.discs.top == pytest.approx(top)
    assert top > found.discs.safe_to
    firm = replace(shed, builds=(FROM_PARTS.model_copy(update={"bump_stack": "30×0.30 ×9"}),))
    assert corner_limits(at_of(firm), session(), firm, peak).discs is None


def at_of(shed: Shed):  # type: ignore[no-untyped-def]
    return estimate(session(corner("NEW")), "FL", "bump", shed, SPEEDS)


# ── differences ─────────────────────────────────────────────────────────────────────────────────


# ── sisters, searching, outings ─────────────────────────────────────────────────────────────────


def test_sisters_have_names() -> None:
    fit = fit_of(SHEET, HARD).bump
    assert fit is not None
    family = Family("bump", None, (Sister("FP-1 A", fit), Sister("FP-2 A", fit)))
    assert Sisterhood(family).names == ("FP-1 A", "FP-2 A")
    assert Sisterhood(None).names == ()


def test_a_word_counts_more_in_a_title_or_a_venue_than_in_a_reason() -> None:
    with Logbook.open(":memory:", device="test") as logbook:
        places = {
            name: put("event", {"venue": name, "date": "2026-05-09"})
            for name in ("Larkmere", "Harrow Fen")
        }
        logbook.write(*places.values())
        for venue, title, why, result in (
            ("Harrow Fen", "larkmere again", "", ""),
            ("Larkmere", "", "", ""),
            ("Harrow Fen", "", "as at larkmere", ""),
            ("Harrow Fen", "", "", "larkmere"),
        ):
            run = put("session", session().body() | {"event": places[venue].entity})
            body = {"session": run.entity, "title": title, "why": why, "result": result}
            logbook.write(run, put("kept", body))
        found = find(logbook, "larkmere", shelf_only=True)
        assert {(one.venue, one.title) for one in found[:2]} == {
            ("Harrow Fen", "larkmere again"), ("Larkmere", "")
        }  # fmt: skip
        assert [one.result for one in found[2:]] == ["larkmere", ""]
        assert found[-1].why == "as at larkmere"


def test_a_corner_without_a_damper_has_no_reading_of_it_to_look_for() -> None:
    asked = asked_of(session(FL=corner(None)))
    assert "FL.gas_pressure" not in asked
    assert "FL.hot_pressure" in asked
    assert "FL.camber" not in asked
    assert (asked["FR.gas_pressure"].damper, asked["FR.gas_pressure"].corner) == ("HARD", "")
    assert asked["FR.hot_pressure"].corner == "FR"
    assert "air_temperature" in asked
    assert "driver" not in asked


@pytest.mark.parametrize("own", ["here", "elsewhere", "none"])
def test_a_name_with_outings_of_its_own_is_no_slip_of_a_letter(own: str) -> None:
    """In this car or in another; else the other name is asked about."""
    with Logbook.open(":memory:", device="test") as logbook:
        cars = {name: put("car", {"name": name}) for name in ("here", "elsewhere")}
        logbook.write(*cars.values())

        def run(day: int, driver: str, car: str) -> str:
            body = Session(car=cars[car].entity, driver=driver, status="done").body()
            write = put("session", body | {"start": f"2026-05-0{day} 09:00"})
            logbook.write(write)
            return write.entity

        run(1, "Teo Vanick", "here")
        if own != "none":
            run(2, "Teo Vannick", own)
        found = outings_before(logbook, run(3, "Teo Vannick", "here"))
        assert found.alike == (("Teo Vanick",) if own == "none" else ())
        assert bool(found.own) == (own == "here")
        assert bool(found.elsewhere) == (own == "elsewhere")


def test_basis_of_a_damper_with_the_shop_rule_alone_and_rows_of_one_direction() -> None:
    assert estimate(session(corner("RULE")), "FL", "bump", SHED, SPEEDS).basis is Basis.SHOP_RULE
    one = SHEET.model_copy(update={"rows": tuple(r for r in SHEET.rows if r.direction == "bump")})
    shed = replace(SHED, sheets=(one,))
    with pytest.raises(NoEstimate, match="has no rebound rows in its dyno sheet and no shop rule"):
        ground(HARD, "rebound", shed)
    with pytest.raises(NoEstimate, match="has no dyno sheet and no shop rule"):
        ground(BARE, "rebound", shed)
    assert isinstance(one.rows[0], DynoRow)


# ── a force change, row by row ──────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("kind", "number", "code", "title"),
    [("practice", 1.0, "P1", "practice 1"), ("race", None, "R", "race"),
     ("qualifying", 2.0, "Q2", "qualifying 2")],
)  # fmt: skip
def test_a_row_of_the_trend_has_a_code_for_a_tick_and_a_title(
    kind: str, number: float | None, code: str, title: str
) -> None:
    typed = None if number is None else Reading.of_si(number, "count")
    now = session().model_copy(update={"kind": kind, "number": typed, "start": "2026-05-09 10:20"})
    [point] = trend([("s", now)], "FL", "bump", SHED, SPEEDS)
    reasons = tuple(
        Change.checked({"session": "s", "what": "x", "verdict": v}) for v in ("better", "worse", "")
    )
    row = TrendRow.of(now, point, reasons)
    assert (row.code, row.title, row.name) == (code, title, f"05-09 {code}")
    assert row.verdict == "worse", "the last that was written"
    assert TrendRow.of(now, point, ()).verdict == ""


def test_what_cannot_be_compared_in_a_search_says_what_can() -> None:
    with Logbook.open(":memory:", device="test") as logbook, pytest.raises(BadInput) as refused:
        find(logbook, "driver<3", shelf_only=False)
    assert refused.value.cause == "“driver<3” cannot be searched for"
    assert refused.value.remedy == (
        "compare one of air, track, humidity, laps, fuel with a number, as in air<15"
    )


@pytest.mark.parametrize("direction", ["bump", "rebound"])
def test_gas_and_bump_stop_are_limits_of_bump(direction: str) -> None:
    read = {"gas_pressure": bar(15.0), "gas_temperature": degrees(20.0)}
    sizes = {"piston_diameter": 0.046, "rod_diameter": 0.014}
    shed = replace(SHED, builds=(HARD.model_copy(update=sizes), *SHED.builds[1:]))
    now = session(corner(**read))
    at = estimate(now, "FL", direction, shed, SPEEDS)
    found = corner_limits(at, now, shed, 0.5)
    assert (found.gas is not None) == (direction == "bump")
    unread = corner_limits(at, session(), shed, 0.5)
    assert bool(unread.gas_unread) == (direction == "bump")


def test_a_charge_that_cannot_be_names_its_corner() -> None:
    sizes = {"piston_diameter": 0.046, "rod_diameter": 0.014}
    shed = replace(SHED, builds=(HARD.model_copy(update=sizes), *SHED.builds[1:]))
    odd = {"gas_pressure": bar(15.0), "gas_temperature": degrees(20.0)}
    with pytest.raises(NoEstimate) as refused:
        cavitation(session(corner(**odd, body_temperature=degrees(-300.0))), "FL", shed, 0.5)
    assert refused.value.cause.startswith("the charge at FL: ")
    assert len(refused.value.cause) > len("the charge at FL: ")


def test_a_run_of_a_session_is_in_the_code_of_its_row() -> None:
    now = session().model_copy(
        update={"kind": "practice", "number": Reading.of_si(1.0, "count"), "start": "2026-05-09"}
    )
    second = now.model_copy(update={"run": Reading.of_si(2.0, "count")})
    for one, code, title in ((now, "P1", "practice 1"), (second, "P1r2", "practice 1 run 2")):
        [point] = trend([("s", one)], "FL", "bump", SHED, SPEEDS)
        row = TrendRow.of(one, point, ())
        assert (row.code, row.title) == (code, title)


# ── reasons, sweeps, what was read with what ────────────────────────────────────────────────────


def test_a_reason_keeps_its_cause_and_its_remedy() -> None:
    known = NoEstimate("no sheet", "add one")
    assert as_reason(known) is known
    other = as_reason(BadInput("no number", "type one"))
    assert (type(other), other.cause, other.remedy) == (NoEstimate, "no number", "type one")


def test_a_sweep_goes_from_end_to_end_over_the_positions_that_were_run() -> None:
    knob = HARD.bleed_adjuster("bump")
    assert knob is not None
    at = setting(session(), "FL", "bump", SHED)  # at 8; the sheet was run at 0, 5, 10, 15, 20
    for most, wanted in (
        (9, [0, 5, 10, 15, 20]), (5, [0, 5, 10, 15, 20]), (3, [0, 5, 20]), (2, [0, 20]),
        (1, [0, 20]),
    ):  # fmt: skip
        assert [one.from_hard for one in knob_sweep(at, knob, SHED, most)] == wanted
    there = setting(session(corner(bump=10)), "FL", "bump", SHED)
    assert 10 not in [one.from_hard for one in knob_sweep(there, knob, SHED, 9)]


@pytest.mark.parametrize(
    ("own", "car", "compared"), [("a", "b", "a"), ("", "b", "b"), ("a", "", "a"), ("", "", "")]
)
def test_the_drivers_own_outing_is_compared_before_the_cars(
    own: str, car: str, compared: str
) -> None:
    assert Outings(own, car, "").compared == compared


def test_a_charge_goes_with_the_temperature_of_its_own_reading() -> None:
    with Logbook.open(":memory:", device="test") as logbook:
        event = put("event", {"venue": "Larkmere", "date": "2026-05-01"})
        logbook.write(event)

        def run(hour: int, **read: Reading) -> tuple[str, Session]:
            body = session(FL=corner(**read)).body() | {"event": event.entity, "status": "done"}
            write = put("session", body | {"start": f"2026-05-01 {hour:02d}:00"})
            logbook.write(write)
            return write.entity, logbook.session_record(write.entity)

        run(9, gas_pressure=bar(15.0), gas_temperature=degrees(20.0))
        run(10, gas_temperature=degrees(30.0))
        entity, now = run(11)
        last = LastReadings(logbook)
        found = last.at(entity, now, "FL.gas_pressure")
        assert found is not None
        assert found.si == 15e5
        assert last.taken_at(entity, now, "FL.gas_pressure") is None, "another reading's"
        run(12, gas_pressure=bar(14.0), gas_temperature=degrees(25.0))
        entity, now = run(13)
        taken = LastReadings(logbook).taken_at(entity, now, "FL.gas_pressure")
        assert taken is not None
        assert taken.si == 25.0
        assert LastReadings(logbook).taken_at(entity, now, "FL.gas_temperature") is None
