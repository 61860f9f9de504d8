"""Rules of a line each: when two things are the same, which comes first, which way it went."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.analysis.garage import OTHER, PREFERENCES, SHED, SPEEDS, corner, session, sheet_of
from tests.analysis.test_axle import SESSION as RULED
from tests.analysis.test_axle import SHED as RULED_SHED
from tests.analysis.test_parts import BUILD as FROM_PARTS
from tests.analysis.test_response import SIZED
from trackside.analysis import bring_back
from trackside.analysis.axle import axles
from trackside.analysis.bench_fit import Residual, bench_fit
from trackside.analysis.build_oil import TO_CST, oil_of
from trackside.analysis.cavitation import cavitation
from trackside.analysis.changes import ForceChange, changes
from trackside.analysis.corner_limits import corner_limits
from trackside.analysis.debrief import debrief, out_lap
from trackside.analysis.estimate import as_reason, estimate, ground, setting
from trackside.analysis.fit_checks import largest_change, sheet_warnings
from trackside.analysis.gas_loss import lost_charge
from trackside.analysis.knob_sweep import knob_sweep
from trackside.analysis.last_read import LastReadings, asked_of
from trackside.analysis.outings import Outings, outings_before
from trackside.analysis.recall import find
from trackside.analysis.response import response
from trackside.analysis.revalve import set_at
from trackside.analysis.row_checks import odd_run, refuse_strange_run
from trackside.analysis.shed import Shed, fit_of, rows_of
from trackside.analysis.sheet_change import SheetChange, against_first, sheet_changes
from trackside.analysis.sheet_gas import GasSaid, GasUnknown, slow_rows, with_gas
from trackside.analysis.sheet_intake import judged
from trackside.analysis.sides import Uneven
from trackside.analysis.sisters import Sisterhood
from trackside.analysis.swaps import is_swapped, swap
from trackside.analysis.trend import trend
from trackside.analysis.trend_rows import TrendRow
from trackside.analysis.value_change import ClickChange
from trackside.analysis.warm_oil import warm_estimate
from trackside.analysis.worth import ForceStep
from trackside.damper.basis import Basis
from trackside.damper.sheet_fit import fit_sheet
from trackside.damper.sisters import Family, Sister
from trackside.errors import BadInput, BadSheet, NoEstimate
from trackside.logbook import Logbook, put
from trackside.records import Adjuster, Build, Change, DynoRow, Reading, Session, SheetWarning

HARD, TWIN, SOFT, RULE, BARE = SHED.builds
SHEET = SHED.sheets[0]


def bar(value: float) -> Reading:
    return Reading.of_si(value * 1e5, "pressure")


def degrees(value: float) -> Reading:
    return Reading.of_si(value, "temperature")


# ── the same damper, the same build ─────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("then", "now", "is_swap"),
    [
        ({"damper": "X", "build": "A"}, {"damper": "X", "build": "B"}, True),
        ({"damper": "X", "build": "A"}, {"damper": "x", "build": "a"}, False),
        ({"damper": "X", "build": "A"}, {"damper": "X"}, False),  # which build now: nobody knows
        ({"damper": "X"}, {"damper": "X", "build": "B"}, False),
        ({"damper": "X"}, {"damper": "X"}, False),
        ({"damper": "X"}, {"damper": "Y"}, True),
        ({"damper": "X"}, {"damper": ""}, False),
        ({"damper": ""}, {"damper": "X"}, False),
    ],
)
def test_a_damper_or_its_build_is_swapped_where_both_are_known(
    then: dict[str, str], now: dict[str, str], is_swap: bool
) -> None:
    """X is not in the shed: the run sheet alone says its build."""
    sheets = [session(FL=corner(**{"bump": 8, **at})) for at in (then, now)]  # type: ignore[arg-type]
    assert is_swapped(*sheets, "FL", SHED) == is_swap
    assert bring_back._alike(sheets[0].FL, sheets[1].FL, None, None) == (
        then.get("build", "-").casefold() == now.get("build", "+").casefold()
        and then["damper"].casefold() == now["damper"].casefold()
    )


def test_another_damper_is_told_with_the_counts_of_the_knobs_that_either_has() -> None:
    one = Build(damper="ONE", version="A", adjusters=HARD.adjusters[:1])
    shed = replace(SHED, builds=(*SHED.builds, one))
    found = swap(session(), session(corner("ONE", 6, None)), "FL", shed)
    counts = {path: (c.ends, c.before, c.after) for path, c in found.items()
              if isinstance(c, ClickChange)}  # fmt: skip
    assert set(counts) == {"FL.bump_bleed", "FL.rebound_bleed"}
    assert counts["FL.rebound_bleed"][0] == ("hard", "no knob")
    assert counts["FL.bump_bleed"][0] == ("hard", "hard")
    back = swap(session(corner("ONE", 6, None)), session(), "FL", shed)
    assert back["FL.rebound_bleed"].ends == ("no knob", "hard")  # type: ignore[attr-defined]


def test_a_count_of_a_knob_that_the_damper_has_not_has_no_end() -> None:
    """And no sense of harder or softer."""
    preloads = [
        session().with_value("FL.bump_preload", Reading.of_si(n, "clicks")) for n in (2.0, 3.0)
    ]
    for shed, end in ((SHED, "no knob"), (Shed(), "unknown")):
        found = changes(*preloads, shed, SPEEDS)
        [one] = [v for v in found.values if v.path == "FL.bump_preload"]
        assert isinstance(one, ClickChange)
        assert one.ends == (end, end)
        assert one.sense == 0


# ── sheets ──────────────────────────────────────────────────────────────────────────────────────


def test_a_sheet_without_a_build_counts_to_its_highest_position() -> None:
    soft = SHEET.model_copy(update={"counted_from": "soft"})
    counts = [row.position for row in soft.rows]
    assert rows_of(soft).position_from_hard == pytest.approx([20.0 - count for count in counts])
    assert rows_of(SHEET).position_from_hard == pytest.approx(counts)


def test_counting_is_assumed_where_one_direction_has_no_knob_on_record() -> None:
    half = HARD.model_copy(update={"adjusters": HARD.adjusters[:1]})
    for build, assumed in ((half, True), (HARD, False)):
        shed = replace(SHED, builds=(build,), sheets=())
        names = [one.name for one in judged(SHEET, build, shed).sheet.warnings]
        assert ("counting_assumed" in names) == assumed
    said = SHEET.model_copy(update={"counted_from": "hard"})
    names = [one.name for one in judged(said, half, replace(SHED, sheets=())).sheet.warnings]
    assert "counting_assumed" not in names


def test_a_third_sheet_is_held_against_the_newest_where_none_counts_yet() -> None:
    doubt = {"name": "run_off", "serious": True}
    waiting = [
        SHEET.model_copy(
            update={
                "date": f"2026-0{n}-01",
                "source": f"{n}.csv",
                "rows": tuple(r._replace(force=r.force * (1 - 0.3 * (n == 5))) for r in SHEET.rows),
                "warnings": (SheetWarning(**doubt),),
            }
        )
        for n in (4, 5)
    ]
    shed = replace(SHED, sheets=tuple(waiting))
    new = SHEET.model_copy(
        update={"rows": tuple(row._replace(force=row.force * 1.002) for row in SHEET.rows)}
    )
    found = judged(new, HARD, shed)
    assert found.first is None
    assert found.changes == {}
    large = [one for one in found.sheet.warnings if one.name == "large_change"]
    assert large, "more than the sheet of May, and as much as that of April"
    assert against_first(HARD, shed) is None
    seen = [one.model_copy(update={"seen_by": "Ann"}) for one in waiting]
    third = SHEET.model_copy(
        update={"date": "2026-06-01", "source": "6.csv",
                "rows": tuple(r._replace(force=r.force * 0.8) for r in SHEET.rows)}
    )  # fmt: skip
    told = against_first(HARD, replace(SHED, sheets=(*seen, third)))
    assert told is not None
    first, against = told
    assert first.date == "2026-04-01"
    assert against["bump"].mean == pytest.approx(-0.2, abs=0.02), "the newest, not the second"  # type: ignore[union-attr]


@pytest.mark.parametrize("direction", ["bump", "rebound"])
def test_the_direction_that_lacks_positions_is_named(direction: str) -> None:
    rows = tuple(r for r in SHEET.rows if r.direction != direction or r.position in (0, 5, 10))
    cut = SHEET.model_copy(update={"rows": rows})
    fits = {d: fit for d in ("bump", "rebound") if (fit := getattr(fit_of(cut), d))}
    [one] = [w for w in sheet_warnings(cut, fits, None) if w.name == "positions_lacking"]
    assert one.direction == direction
    assert one.words == "15, 20"


def test_two_runs_that_do_not_belong_together_are_refused_and_one_cannot_be() -> None:
    """One rises steeply with speed, the other hardly."""

    def fit(positions: tuple[int, ...]) -> None:
        rows = [r for r in SHEET.rows if r.position in positions and r.direction == "bump"]
        law = {0: (20e3, 1.5), 20: (2500.0, 0.1)}
        mixed = tuple(
            r._replace(force=law[int(r.position)][0] * (2 * r.speed) ** law[int(r.position)][1])
            for r in rows
        )
        two = SHEET.model_copy(update={"rows": mixed})
        found = fit_sheet(rows_of(two, HARD)).bump
        assert found is not None
        refuse_strange_run(found, two)

    fit((20,))
    with pytest.raises(BadSheet, match="the bump runs do not go together: the fit misses them by"):
        fit((0, 20))


def test_a_row_beside_its_fit_keeps_the_sheets_sign() -> None:
    for sign in (1, -1):
        sheet = SHEET.model_copy(update={"rebound_sign": sign})
        found = bench_fit(sheet)
        for direction in ("bump", "rebound"):
            of = sign if direction == "rebound" else 1
            curve = found.fits[direction]
            for one, miss in zip(found.residuals(direction), curve.residuals, strict=True):
                assert one.force == of * one.row.force
                assert one.fitted == pytest.approx(of * (one.row.force - miss))
                assert one.miss == pytest.approx(of * miss)
    assert Residual(SHEET.rows[0], 100.0, 98.0).miss == 2.0


def test_gas_that_is_still_in_a_sheet_is_said_with_the_row_that_shows_it() -> None:
    row = SHEET.rows[0]
    pushing = SHEET.model_copy(
        update={"rows": (*SHEET.rows, row._replace(direction="rebound", speed=0.002, force=-90.0))}
    )
    with pytest.raises(GasUnknown) as refused:
        with_gas(pushing, GasSaid(free=True), HARD)
    assert refused.value.cause == (
        "HARD.csv: at position 0 and 2 mm/s the rod pushes with 90 N against rebound: gas force is "
        "still in it"
    )
    assert refused.value.remedy.startswith("give the force, or the charge on the bench")


@pytest.mark.parametrize(
    ("build", "cause", "remedy"),
    [
        (None, "HARD.csv: the rod is not known", "give its diameter, or the gas force itself"),
        (HARD, "HARD.csv: the rod of HARD build A is not on record",
         "enter its diameter in the damper shed, or give the gas force itself"),
    ],
)  # fmt: skip
def test_a_charge_needs_the_rod(build: Build | None, cause: str, remedy: str) -> None:
    with pytest.raises(BadSheet) as refused:
        with_gas(SHEET, GasSaid(free=False, pressure=15e5), build)
    assert (refused.value.cause, refused.value.remedy) == (cause, remedy)


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


def unlike(difference: list[float], half: list[float]) -> Uneven:
    at, band = np.array(difference), np.array(half)
    force = np.full(at.shape, 500.0)
    speed = 0.1 * np.arange(1, at.size + 1)
    return Uneven("front", "bump", speed, force, force + at, at, at - band, at + band)


@pytest.mark.parametrize(
    ("difference", "half", "clearest", "clear"),
    [
        ([10.0, 90.0, 40.0], [5.0, 30.0, 10.0], 2, [True, True, True]),
        ([10.0, -90.0, 40.0], [50.0, 30.0, 100.0], 1, [False, True, False]),
        ([0.0, 30.0], [0.0, 10.0], 1, [False, True]),  # nothing is no difference, however sure
        ([30.0, 0.5], [10.0, 0.0], 1, [True, True]),
    ],
)
def test_the_clearest_difference_is_the_largest_share_of_its_band(
    difference: list[float], half: list[float], clearest: int, clear: list[bool]
) -> None:
    one = unlike(difference, half)
    assert one.clearest == clearest
    assert one.clear.tolist() == clear


def test_what_was_turned_since_the_last_point_of_a_trend() -> None:
    names = {"a": session(), "b": session(corner(rebound=5)), "c": session(corner(rebound=9.0)),
             "d": session(corner("BARE")), "e": session(corner("TWIN", 8, 12)),
             "f": session(corner("TWIN", 8, 12))}  # fmt: skip
    points = trend(names.items(), "FL", "rebound", SHED, SPEEDS)
    assert [point.moved for point in points] == [
        "", "3 harder", "4 softer", "", "damper TWIN", ""
    ]  # fmt: skip
    assert points[3].estimate is None
    assert points[3].why.startswith("damper BARE build A has no dyno sheet and no shop rule")
    ring = Adjuster(acts_on="rebound_preload", clicks=6, counted_from="hard")
    knobs = {"adjusters": (*RULE.adjusters, ring)}
    ringed = replace(SHED, builds=(RULE.model_copy(update=knobs), *SHED.builds[:3]))
    turned = {
        name: session(corner("RULE", 8, rebound, rebound_preload=Reading.of_si(preload, "clicks")))
        for name, rebound, preload in (("a", 8, 2.0), ("b", 8, 3.0), ("c", 7, 1.0), ("d", 7, 1.0))
    }
    told = [point.moved for point in trend(turned.items(), "FL", "rebound", ringed, SPEEDS)]
    assert told == ["", "preload 1 softer", "1 harder, preload 2 harder", ""]


@pytest.mark.parametrize("lacks", ["gas_pressure", "gas_temperature"])
@pytest.mark.parametrize("side", [0, 1])
def test_a_loss_of_gas_is_told_with_both_readings_and_their_temperatures(
    lacks: str, side: int
) -> None:
    full = [session(corner(gas_pressure=bar(p), gas_temperature=degrees(20))) for p in (15.0, 12.0)]
    lost = lost_charge(*full, "FL")
    assert lost is not None
    assert lost.missing == pytest.approx(3e5, rel=0.01)
    assert lost.expected == pytest.approx(15e5, rel=0.01)
    assert lost_charge(full[1], full[0], "FL") is None, "more is no loss"
    assert lost_charge(None, full[1], "FL") is None
    full[side] = full[side].with_value(f"FL.{lacks}", None)
    assert lost_charge(*full, "FL") is None


def test_an_out_lap_is_for_a_damper_nobody_knows_and_for_one_that_was_swapped() -> None:
    bare = session().with_value("FL.damper", None)
    found = changes(bare, session(), SHED, SPEEDS)
    assert out_lap(found, bare, session()).unknown == ("FL",)
    assert out_lap(found, bare, session()).swapped == ()
    other = session(FL=corner("SOFT"))
    found = changes(session(), other, SHED, SPEEDS)
    told = out_lap(found, session(), other)
    assert told.swapped == ("FL",)
    assert told.unknown == ()
    same = changes(session(), session(), SHED, SPEEDS)
    assert not out_lap(same, session(), session())


@pytest.mark.parametrize(
    ("rates", "is_large"),
    [
        ((100e3, 125e3), False),
        ((100e3, 126e3), True),
        ((100e3, 74e3), True),
        ((100e3, None), False),
        ((None, 100e3), False),
    ],
)  # 25 % is our own choice, no source
def test_a_spring_so_much_stiffer_or_softer_asks_for_care(
    rates: tuple[float | None, float | None], is_large: bool
) -> None:
    sheets = [
        session(FL=corner(spring_rate=rate and Reading.of_si(rate, "spring rate")))
        for rate in rates
    ]
    found = changes(*sheets, SHED, SPEEDS)
    assert out_lap(found, *sheets).large == (("FL",) if is_large else ())


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


def change_of(change: list[float], half: list[float], speed: list[float]) -> ForceChange:
    at, band = np.array(change), np.array(half)
    step = ForceStep(
        np.array(speed), np.full(at.size, 1e3), at, at - band, at + band, Basis.MEASURED
    )
    here = setting(session(), "FL", "bump", SHED)
    return ForceChange("FL", "bump", here, here, step, None)


@pytest.mark.parametrize(
    ("change", "half", "sense", "in_noise", "clearest", "slow", "fast"),
    [
        ([10.0, 40.0, 90.0], [5.0, 8.0, 30.0], 1, False, 1, 1, 2),
        ([-10.0, -40.0, -90.0], [5.0, 8.0, 30.0], -1, False, 1, 1, 2),
        ([-10.0, 40.0, 90.0], [5.0, 8.0, 30.0], 0, False, 1, 1, 2),
        ([-10.0, 40.0, 90.0], [50.0, 8.0, 30.0], 1, False, 1, 1, 2),
        ([10.0, 4.0, 9.0], [50.0, 8.0, 30.0], 0, True, 1, 1, 2),
    ],
)
def test_a_force_change_has_a_sense_where_its_band_can_tell_one(
    change: list[float], half: list[float], sense: int, in_noise: bool, clearest: int, slow: int,
    fast: int,
) -> None:  # fmt: skip
    one = change_of(change, half, [0.025, 0.1, 0.3])
    assert (one.sense, one.in_noise, one.clearest) == (sense, in_noise, clearest)
    assert one.share == pytest.approx(abs(change[clearest]) / half[clearest])
    assert one.clearest_in(True, 0.1) == slow
    assert one.clearest_in(False, 0.1) == fast
    assert one.clearest_in(False, 0.3) is None
    assert one.clearest_in(True, 0.01) is None


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


def test_counts_that_nobody_entered_are_alike_where_both_builds_have_the_knob() -> None:
    later = HARD.model_copy(update={"version": "B"})
    other = HARD.model_copy(update={"version": "C", "adjusters": HARD.adjusters[:1]})
    turned = HARD.model_copy(
        update={"version": "D", "adjusters": (HARD.adjusters[0].model_copy(
            update={"counted_from": "soft"}), HARD.adjusters[1])}
    )  # fmt: skip
    shed = replace(SHED, builds=(HARD, later, other, turned))

    def told(version: str, **counts: float | None) -> set[str]:
        then = session(corner("HARD", build="A", **counts))  # type: ignore[arg-type]
        now = session(corner("HARD", build=version, **counts))  # type: ignore[arg-type]
        found = swap(then, now, "FL", shed)
        return {path for path, change in found.items() if isinstance(change, ClickChange)}

    assert told("B") == set()
    assert told("B", bump=None, rebound=None) == set()
    assert told("C", bump=None, rebound=None) == {"FL.rebound_bleed"}
    assert told("C") == {"FL.rebound_bleed"}
    assert told("D") == {"FL.bump_bleed"}


def test_a_debrief_tells_the_gas_that_is_missing_now_and_not_what_was_filled() -> None:
    full, low = (
        session(corner(gas_pressure=bar(p), gas_temperature=degrees(20))) for p in (15.0, 12.0)
    )
    assert [one.corner for one in debrief(full, low, SHED, SPEEDS).lost_gas] == [
        "FL", "FR", "RL", "RR"
    ]  # fmt: skip
    assert debrief(low, full, SHED, SPEEDS).lost_gas == ()


def test_one_run_alone_is_not_odd_among_others() -> None:
    rows = tuple(r for r in SHEET.rows if r.position == 8 or r.direction == "rebound")
    one = SHEET.model_copy(update={"rows": rows or SHEET.rows[:1]})
    alone = one.model_copy(
        update={"rows": tuple(r for r in SHEET.rows if r.position == SHEET.rows[0].position)}
    )
    fit = fit_of(alone, HARD).bump
    assert fit is not None
    assert not odd_run(fit, alone, [])


def test_the_largest_change_is_told_by_its_speed_and_share() -> None:
    speed, share = np.array([0.05, 0.1, 0.2]), np.array([0.1, -0.5, 0.4])
    change = SheetChange("bump", (8.0,), speed, share, 0.0, 0.02, None)
    assert largest_change(change) == (0.1, -0.5)
    assert largest_change(replace(change, share=share / 2)) is None  # 30 % is our own, no source
    assert largest_change(replace(change, band=0.6)) is None


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


def test_rows_at_rest_show_the_gas_and_a_creep_the_friction_too() -> None:
    """Bump reads gas + friction, rebound friction − gas."""

    def rows(*told: tuple[str, float, float]) -> list[DynoRow]:
        return [DynoRow(8.0, direction, speed, force) for direction, speed, force in told]  # type: ignore[arg-type]

    fast = rows(("bump", 0.1, 500.0), ("rebound", 0.1, 900.0))
    signed = SHEET.model_copy(update={"rebound_sign": -1})
    still = rows(("bump", 0.0, 130.0), ("rebound", 0.0, -110.0))
    found = slow_rows(signed.model_copy(update={"rows": (*fast, *still)}))
    assert found is not None
    assert (found.gas, found.friction, found.speed) == (120.0, None, 0.0)
    creep = rows(("bump", 0.001, 140.0), ("rebound", 0.0015, -100.0))
    found = slow_rows(signed.model_copy(update={"rows": (*fast, *creep)}))
    assert found is not None
    assert (found.gas, found.friction, found.speed) == (120.0, 20.0, 0.0015)
    assert slow_rows(signed.model_copy(update={"rows": tuple(fast)})) is None
    unsigned = SHEET.model_copy(
        update={"rebound_sign": 1, "rows": (*fast, *rows(("bump", 0.0, 9.0)))}
    )
    assert slow_rows(unsigned) is None


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


def test_of_two_sheets_that_are_one_the_chosen_counts() -> None:
    with Logbook.open(":memory:", device="test") as logbook:
        sheets = [put("sheet", SHEET.model_copy(update={"source": f"{n}.csv"}).body())
                  for n in (1, 2, 3)]  # fmt: skip
        logbook.write(*sheets)
        smallest = min(one.entity for one in sheets)
        build = put("build", HARD.body())
        logbook.write(build)
        assert Shed.of(logbook).entities == (smallest,)
        chosen = max(one.entity for one in sheets)
        logbook.write(put("build", {**HARD.body(), "version": "B", "sheet": chosen}))
        assert Shed.of(logbook).entities == (chosen,)


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


def test_the_band_of_a_mean_change_is_nineteen_in_twenty() -> None:
    """Two sheets of one damper, the bench's scatter alone apart: most bands hold zero, and none is
    so wide that a loss of a tenth would be missed (our own, no source)."""
    rows = tuple(r._replace(force=r.force * 0.9) for r in SHEET.rows)
    weaker = SHEET.model_copy(update={"rows": rows, "date": "2026-06-01", "source": "b.csv"})
    found = sheet_changes(SHEET, weaker, HARD)
    for direction in ("bump", "rebound"):
        one = found[direction]
        assert isinstance(one, SheetChange)
        assert one.mean == pytest.approx(-0.1, abs=0.01)
        assert one.band < 0.06
        assert one.lost
        assert not one.open
