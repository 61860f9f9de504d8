"""Sentences of a few words each: gas, oil, readings brought back, what is undecided, where a corner
comes to its limits, a damper rebuilt twice."""

from __future__ import annotations

import re
from dataclasses import replace
from math import inf
from pathlib import Path

import numpy as np
import pytest

from tests.analysis.garage import PREFERENCES, RULES, SHED, SPEEDS, corner, session
from trackside.analysis.bring_back import bring_back
from trackside.analysis.cavitation import Cavitation
from trackside.analysis.changes import NotKnown, changes
from trackside.analysis.corner_limits import BentDiscs, CornerLimits
from trackside.analysis.gas_loss import LostCharge
from trackside.analysis.gauges import NO_TEMPERATURE, OTHER_HARDWARE, UNLIKELY
from trackside.analysis.plausible_ranges import Mark
from trackside.analysis.shed import EnteredTwice, Shed
from trackside.analysis.sheet_change import SheetChange
from trackside.analysis.stops import AtStop
from trackside.analysis.wheel import Lack
from trackside.crew.swapping import Swap
from trackside.damper.curve import DiscRemark
from trackside.errors import LogbookError, NoEstimate
from trackside.logbook import Logbook, put
from trackside.preferences import Preferences
from trackside.records import Adjuster, Build, Reading, Session
from trackside.reports import printing
from trackside.reports.bench_words import (
    adjuster_words,
    build_lines,
    change_lines,
    sheet_change_words,
)
from trackside.reports.bring_words import read_then_words
from trackside.reports.change_words import not_known, sentence, sentences
from trackside.reports.gas_words import missing_words
from trackside.reports.lap_words import best_words, count_words, from_laps_words, laps_said
from trackside.reports.limits import CAVITATES, cavitates, limits_told
from trackside.reports.mark_words import mark_words
from trackside.reports.naming import (
    body_in_words,
    doubts_of_shed,
    record_in_words,
    twice_said,
)
from trackside.reports.oil_words import OIL_KNOWN
from trackside.reports.revalving import present_lines
from trackside.reports.swapped import swap_said
from trackside.reports.wheel_words import lack_words

INCHES = Preferences(
    units={"pressure": "psi", "temperature": "°F", "force": "lbf", "speed": "in/s"}
)


@pytest.mark.parametrize(
    ("why", "said"),
    [
        (UNLIKELY, "a reading is beyond what it can be"),
        (OTHER_HARDWARE, "it is another damper or build"),
        (NO_TEMPERATURE, "no temperature was written down"),
    ],
)
def test_why_two_charges_are_not_compared(why: str, said: str) -> None:
    told = missing_words(LostCharge("FL", why=why), PREFERENCES)
    assert told == f"not compared with the reading before, {said}"


def test_what_is_known_of_the_oil() -> None:
    assert OIL_KNOWN["nothing"].endswith("density only")
    assert "viscosity" not in OIL_KNOWN["nothing"]
    assert "grade" not in OIL_KNOWN["viscosities"]
    assert "viscosity" in OIL_KNOWN["viscosities"]
    assert OIL_KNOWN["grade"].endswith("viscosity from grade and index")


def test_what_was_read_when_the_set_up_ran_is_told_by_its_corner_in_the_crews_units() -> None:
    then = session(
        FL=corner(
            gas_pressure=Reading.of_text("15", "pressure", "bar"),
            cold_pressure=Reading.of_text("1.5", "pressure", "bar"),
        )
    )
    plan = bring_back(then, session(), SHED, SPEEDS)
    assert list(read_then_words(plan, PREFERENCES)) == ["FL: gas 15.00 bar, cold 1.50 bar"]
    assert list(read_then_words(plan, INCHES)) == ["FL: gas 217.6 psi, cold 21.8 psi"]


def test_a_word_that_is_no_choice_is_told_with_the_choices() -> None:
    told = mark_words(Mark("no choice", "surface", ("soaked",)), PREFERENCES)
    assert told == "“soaked” is none of dry, damp, wet: saved as typed"


@pytest.mark.parametrize(
    ("author", "who"), [("Ann", "Ann"), ("", "the first laptop"), ("A\nB", "A B")]
)
def test_what_was_entered_twice_names_whose_entry_counts(author: str, who: str) -> None:
    entry = EnteredTwice("damper", {"serial": "FP-1"}, author)
    said = (
        f"damper FP-1 was entered on two laptops: what {who} entered counts until it is decided on "
        "the page of conflicts"
    )
    assert twice_said(entry) == said
    assert doubts_of_shed(Shed(entered_twice=(entry,))) == (said,)
    assert twice_said(EnteredTwice("damper", {}, "")).startswith("damper was entered")


# ── limits ──────────────────────────────────────────────────────────────────────────────────────

BENT = BentDiscs(linear_to=900.0, safe_to=1500.0, remarks=(DiscRemark.STANDING_OFF,))


def test_discs_suffer_above_the_second_force_and_their_theory_ends_at_the_first() -> None:
    told = limits_told(CornerLimits(discs=BENT), PREFERENCES)
    assert told == [
        "discs: above 900 N bent by more than half a thickness (the true force is higher), above "
        "1500 N at risk of a set (our own limit, no source)",
        "the spacer is thicker than the seat step: the discs stand off",
    ]
    bare = CornerLimits(discs=replace(BENT, linear_to=inf))
    assert limits_told(bare, PREFERENCES) == [
        "the spacer is thicker than the seat step: the discs stand off"
    ]
    far = CornerLimits(discs=replace(BENT, top=1800.0))
    assert limits_told(far, PREFERENCES) == [
        "discs: 1800 N at 500 mm/s is above 1500 N: bent too far, at risk of a set (our own limit, "
        "no source)"
    ]


@pytest.mark.parametrize(
    ("unrun", "said"),
    [((0.6,), "600 mm/s"), ((0.001, 0.6), "1, 600 mm/s"), ((0.001, 0.5, 0.6), "1, 500, 600 mm/s")],
)
def test_speeds_that_no_bench_ran_are_named(unrun: tuple[float, ...], said: str) -> None:
    told = limits_told(CornerLimits(unrun=unrun, ran=(0.025, 0.3)), PREFERENCES)
    assert told == [f"beyond what the sheet ran (25 to 300): {said}"]
    assert limits_told(CornerLimits(unrun=unrun), PREFERENCES) == []
    assert limits_told(CornerLimits(ran=(0.025, 0.3)), PREFERENCES) == []


def test_gas_that_was_not_read_is_said_and_gas_that_is_known_told() -> None:
    told = limits_told(CornerLimits(gas_unread="the charge was not read"), PREFERENCES)
    assert told == ["cavitation not known: the charge was not read"]
    gas = Cavitation(pressure=15e5, at_C=43.0, limit=2735.0, speed=0.8, peak=0.5, margin=2.0,
                     least=1.8)  # fmt: skip
    assert limits_told(CornerLimits(gas=gas), PREFERENCES) == [
        "gas 15.00 bar at 43 °C holds 2735 N in bump: 2.0 × the force at 500 mm/s"
    ]
    near = replace(gas, at_C=None, least=0.99)
    [line] = limits_told(CornerLimits(gas=near), PREFERENCES)
    assert line.startswith("gas 15.00 bar holds 2735 N in bump: 2.0 × the force at 500 mm/s; may ")


def test_a_bump_stop_is_told_with_its_travel_and_what_it_adds() -> None:
    at = AtStop(
        stop="red",
        damper=0.009,
        wheel=0.012,
        travel=np.array([0.012, 0.017]),
        force=np.array([0.0, 400.0]),
        rate=np.array([0.0, 80e3]),
    )
    assert limits_told(CornerLimits(stop=at), PREFERENCES) == [
        "bump stop red: works from 12.0 mm of wheel travel; at 17.0 mm it adds 400 N and 80.0 N/mm "
        "at the wheel"
    ]
    [line] = limits_told(CornerLimits(stop=replace(at, wheel=0.0)), PREFERENCES)
    assert line.startswith("bump stop red: works already at static; at 17.0 mm it adds")
    unknown = replace(at, force=np.full(2, np.nan), rate=np.full(2, np.nan))
    assert limits_told(CornerLimits(stop=unknown), PREFERENCES) == [
        "bump stop red: works from 12.0 mm of wheel travel"
    ]


# ── a damper rebuilt, paper ─────────────────────────────────────────────────────────────────────


def test_a_damper_rebuilt_twice_is_held_against_the_build_before_the_last() -> None:
    first = SHED.builds[0].model_copy(update={"date": "2026-04-01"})
    second = first.model_copy(update={"version": "B", "date": "2026-05-01"})
    third = first.model_copy(update={"version": "C", "date": "2026-06-01"})
    [sheet] = [one for one in SHED.sheets if one.damper == "HARD"]
    sheets = tuple(
        sheet.model_copy(
            update={
                "build": version,
                "source": f"{version}.csv",
                "rows": tuple(row._replace(force=row.force * stronger) for row in sheet.rows),
            }
        )
        for version, stronger in (("A", 1.0), ("B", 1.1), ("C", 1.21))
    )
    shed = Shed(SHED.dampers, (first, second, third), sheets)
    told = present_lines("HARD", shed, (), PREFERENCES)
    heads = [line for style, line in told if style.startswith("bold ") and "after build" in line]
    assert heads == ["  bump after build B at 10:", "  rebound after build B at 10:"]
    cells = [line.split() for _, line in told]
    percent = [float(row[-1]) for row in cells if len(row) == 6 and row[-1].startswith("+")]
    assert len(percent) == 8
    assert all(7 <= one <= 13 for one in percent), "a tenth more than build B, never a fifth"
    set_at = present_lines("HARD", shed, (corner(bump=6, rebound=21),), PREFERENCES)
    heads = [line for _, line in set_at if "after build" in line]
    assert heads == ["  bump after build B at 6:", "  rebound after build B at 10:"]
    assert present_lines("NONE", shed, (), PREFERENCES) == []
    alone = present_lines("HARD", Shed(SHED.dampers, (first,), sheets[:1]), (), PREFERENCES)
    assert not any("after build" in line for _, line in alone)


# ── a damper and what is in it ──────────────────────────────────────────────────────────────────


def charge(build: Build | None, **read: str) -> str:
    """What is said of a charge so read at FL."""
    quantities = {"gas_pressure": "pressure", "gas_temperature": "temperature"}
    sheet = corner(**{n: Reading.of_text(typed, quantities[n]) for n, typed in read.items()})
    damper = SHED.dampers[1]
    shed = Shed((damper,), (build,) if build else ())
    lines = [
        line
        for _, line in build_lines(damper, shed, (session(FL=sheet), "FL", "in it"), PREFERENCES)
    ]
    assert lines[0] == "last ran in it, FL"
    return lines[1]


def test_a_charge_is_told_at_20_degrees_with_what_it_does_to_the_rod() -> None:
    """(15.1 + 1.01325) · 293.15 / 282.15 − 1.01325 = 15.73 bar by the ideal gas law, nitrogen a
    little more; on a rod of 14 mm 242 N: its area."""
    rod = SHED.builds[0].model_copy(update={"rod_diameter": 0.014})
    read = {"gas_pressure": "15.1 bar", "gas_temperature": "9 °C"}
    told = charge(rod, **read)
    found = re.fullmatch(
        r"charge 15\.10 bar gauge at 9 °C = ([\d.]+) bar at 20 °C; at 20 °C it pushes the rod out "
        r"with (\d+) N",
        told,
    )
    assert found, told
    assert float(found[1]) == pytest.approx(15.73, abs=0.04)
    assert float(found[2]) == pytest.approx(242, abs=1)
    for build in (SHED.builds[0], None):
        assert charge(build, **read) == told.partition(";")[0]
    assert charge(rod, gas_pressure="15.1 bar") == (
        "charge 15.10 bar gauge, temperature not read: cannot be compared with other readings"
    )
    assert charge(rod) == "gas not read in that session"


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "rebound 20 clicks from full hard"),
        ({"step": 0.5}, "rebound 20 clicks from full hard, steps of 0.5"),
        ({"share_per_click": 0.03}, "rebound 20 clicks from full hard, 3% a click (shop's figure)"),
    ],
)
def test_an_adjuster_in_words(more: dict[str, float], said: str) -> None:
    knob = Adjuster(acts_on="rebound_bleed", clicks=20, counted_from="hard")
    assert adjuster_words(knob.model_copy(update=more)) == said


@pytest.mark.parametrize(
    ("figures", "said"),
    [
        ({"oil": "X 5", "oil_viscosity_40": 15e-6, "oil_viscosity_100": 4e-6},
         "  oil X 5: 15.00 cSt at 40 °C, 4.00 cSt at 100 °C"),
        ({"oil_viscosity_40": 15e-6, "oil_viscosity_100": 4e-6},
         "  oil: 15.00 cSt at 40 °C, 4.00 cSt at 100 °C"),
        ({"oil_grade": 32e-6, "oil_index": 150.0, "oil_viscosity_40": 15e-6},
         "  oil: grade 32.00 cSt, viscosity index 150"),
        ({"oil": "X 5", "oil_grade": 32e-6},
         "  oil X 5: no viscosities on record, so the warm curve uses density only"),
        ({"oil_grade": 32e-6}, ""), ({"oil_index": 150.0}, ""), ({"oil_viscosity_40": 15e-6}, ""),
    ],
)  # fmt: skip
def test_the_oil_of_a_build(figures: dict[str, object], said: str) -> None:
    build = SHED.builds[0].model_copy(update=figures)
    shed = Shed((SHED.dampers[1],), (build,))
    told = [line for _, line in build_lines(SHED.dampers[1], shed, None, PREFERENCES)]
    assert [line for line in told if line.startswith("  oil")] == ([said] if said else [])


def test_a_damper_is_told_newest_build_first_with_what_is_inside() -> None:
    first = SHED.builds[0].model_copy(
        update={"date": "2026-04-01", "piston_diameter": 0.046, "stroke": 0.06, "needle": "2°",
                "gas_pressure": 15e5, "shop_rules": RULES[:1], "work": "new\nseals"}
    )  # fmt: skip
    second = first.model_copy(update={"version": "B", "date": "2026-05-01", "work": ""})
    [sheet] = [one for one in SHED.sheets if one.damper == "HARD"]
    shed = Shed((SHED.dampers[1],), (first, second), (sheet,))
    told = list(build_lines(SHED.dampers[1], shed, None, PREFERENCES, [("dim", "present")]))
    assert told == [
        ("bold", "Build B  2026-05-01  present"),
        ("", "  adjusters: bump 20 clicks from full hard; rebound 20 clicks from full hard"),
        ("", "  piston ⌀ 46 mm, stroke 60 mm"),
        ("", "  needle 2°"),
        ("", "  charged to 15.00 bar gauge; the maker's figure comes first"),
        ("", "  shop rule, bump: 500 N full hard at 100 mm/s, 3 % of it a click"),
        ("dim", "  no dyno sheet of this build"),
        ("dim", "present"),
        ("bold", "Build A  2026-04-01  "),
        ("", "  work: new seals"),
        ("", "  adjusters: bump 20 clicks from full hard; rebound 20 clicks from full hard"),
        ("", "  piston ⌀ 46 mm, stroke 60 mm"),
        ("", "  needle 2°"),
        ("", "  charged to 15.00 bar gauge; the maker's figure comes first"),
        ("", "  shop rule, bump: 500 N full hard at 100 mm/s, 3 % of it a click"),
        ("", "  dyno sheet 2026-04-01 HARD.csv"),
    ]
    none = list(build_lines(SHED.dampers[1], Shed((SHED.dampers[1],)), None, PREFERENCES))
    assert none == [("", "no build on record: a strip-down enters what is inside")]


@pytest.mark.parametrize(
    ("swap", "reasons"),
    [
        (Swap("FL", "", False, "", {}, ("gas_pressure",), {}), "(no damper there now)"),
        (Swap("FL", "NEW", True, "A", {}, (), {}), "()"),
        (Swap("FL", "NEW", False, "A", {}, ("gas_pressure",), {}),
         "(NEW is not in the damper shed; read of build A)"),
    ],
)  # fmt: skip
def test_whose_readings_went_is_said_where_another_damper_is_on(swap: Swap, reasons: str) -> None:
    assert swap_said(swap, PREFERENCES).endswith(reasons)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "−4.2 % ±1.5 over 5 positions: more than 4 % of the force is lost, gas, oil, seals or "
             "wear?"),
        ({"positions": (8.0,), "mean": 0.0}, "+0.0 % ±1.5 over 1 position"),
        ({"mean": 0.042}, "+4.2 % ±1.5 over 5 positions"),
        ({"mean": -0.03}, "−3.0 % ±1.5 over 5 positions: a loss of 4 % is not ruled out; give both "
                          "sheets their oil temperature"),
        ({"mean": -0.05, "band": 0.06, "oil_C": (20.0, 26.0)},
         "−5.0 % ±6.0 over 5 positions: a loss of 4 % is not ruled out; run both with the oil "
         "alike warm"),
        ({"mean": -0.05, "band": 0.06, "oil_C": (24.0, 20.0)},
         "−5.0 % ±6.0 over 5 positions: a loss of 4 % is not ruled out"),
    ],
)  # fmt: skip
def test_a_sheet_against_the_first(more: dict[str, object], said: str) -> None:
    found = SheetChange(**{"direction": "bump", "mean": -0.042, "band": 0.015, "oil_C": None,
                           "positions": (0.0, 5.0, 10.0, 15.0, 20.0), "speed": np.array([0.1]),
                           "share": np.array([-0.042]), **more})  # fmt: skip
    assert sheet_change_words(found) == f"bump {said}"
    lost = ("bold", f"! bump {said}") if found.lost else ("", f"bump {said}")
    sheet = SHED.sheets[0]
    assert list(change_lines(sheet, {"bump": found, "rebound": NoEstimate("none", "run it")})) == [
        ("bold", "newest dyno sheet against that of 2026-04-01"), lost, ("", "none: run it.")
    ]  # fmt: skip


# ── laps, lacks, notes, names ───────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("lack", "said"),
    [
        (Lack("motion ratio", "FL"), "the motion ratio at FL is not recorded with the car"),
        (Lack("mass", "RR"), "the mass at RR, or its unsprung part, is not recorded"),
        (Lack("spring rate", "FL", "12o"), "the spring rate at FL, “12o”, cannot be used"),
        (Lack("spring rate", "FL"),
         "no spring rate at FL, neither on the run sheet nor with the car"),
    ],
)  # fmt: skip
def test_what_the_wheel_lacks(lack: Lack, said: str) -> None:
    assert lack_words(lack) == said


@pytest.mark.parametrize(
    ("typed", "laps", "said"),
    [
        ({}, (95.2, "in", 94.9), "2 timed laps, best 1:34.900"),
        ({}, (95.2,), "1 timed lap, best 1:35.200"),
        ({"laps": "5"}, (95.2,), "best 1:35.200"),
        ({"best_lap": "1:34"}, (95.2,), "1 timed lap"),
        ({}, (), ""),
    ],
)  # fmt: skip
def test_what_lap_times_give_and_nobody_typed(
    typed: dict[str, str], laps: tuple[float | str, ...], said: str
) -> None:
    assert from_laps_words(lapped(typed, laps)) == said


def lapped(typed: dict[str, str], laps: tuple[float | str, ...]) -> Session:
    """A session with these lap times, and what was typed beside them."""
    quantities = {"laps": "count", "best_lap": "lap time"}
    read = {n: Reading.of_text(text, quantities[n]) for n, text in typed.items()}
    return Session(lap_times=laps, **read)  # type: ignore[arg-type]


def test_figures_that_the_lap_times_contradict_are_pointed_out() -> None:
    told = list(laps_said(None, lapped({"laps": "5", "best_lap": "1:30"}, (95.2, 94.9))))
    assert [one.text for one in told[1:]] == [
        "best lap 1:30 is not the best of the lap times, 1:34.900: which is right?",
        "5 laps, but the lap times have 2 timed: which is right?",
    ]
    assert {one.kind for one in told[1:]} == {"caution"}
    assert count_words(lapped({"laps": "5"}, ())) == "5 laps"
    assert count_words(lapped({"laps": "1"}, ())) == "1 lap"
    assert count_words(lapped({}, (95.2,))) == "1 timed lap (from the lap times)"
    assert count_words(lapped({}, ())) == ""
    assert best_words(lapped({}, (95.2,))) == "1:35.200 (from the lap times)"
    assert best_words(lapped({}, ())) == ""
    then = list(laps_said(lapped({}, (96.0,)), lapped({}, (95.2,))))
    assert then[0].text == (
        "best lap 1:35.200 (from the lap times), the outing before 1:36.000 (from the lap times) · "
        "1 timed lap (from the lap times)"
    )


@pytest.mark.parametrize(
    ("kind", "body", "said"),
    [
        ("kept", {"title": "Wet"}, "entry on the shelf Wet"), ("change", {}, "reason"),
        ("sheet", {"source": "A.csv"}, "dyno sheet A.csv"), ("car", {"name": "Coupé"}, "car Coupé"),
        ("twin", {}, "decision on what was entered twice"),
    ],
)  # fmt: skip
def test_a_kind_of_record_as_the_crew_calls_it(kind: str, body: dict[str, str], said: str) -> None:
    with Logbook.open(":memory:", device="test") as logbook:
        told = body_in_words(logbook, kind, body)
    assert told.startswith(said.split(" A.csv")[0])


def test_a_record_that_nothing_names_is_told_by_the_end_of_its_code() -> None:
    with Logbook.open(":memory:", device="test") as logbook:
        write = put("note", {"session": "s"})
        logbook.write(write)
        told = record_in_words(logbook, write.entity)
        assert told == f"note …{write.entity[-6:]}"
        assert record_in_words(logbook, "0123456789abc").startswith("record …789abc, taken off")


def test_a_disk_that_gives_no_reason_is_told_by_its_error(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for error, why in ((OSError(28, "No space left"), "No space left"), (OSError("odd"), "odd")):

        def refuse(*_: object, error: OSError = error) -> None:
            raise error

        monkeypatch.setattr(printing, "_written", refuse)
        with pytest.raises(LogbookError, match=rf"cannot be written to \({why}\)"):
            printing.write_new(tmp_path, "a", "")


def test_a_count_that_nobody_entered_is_told_with_another_damper() -> None:
    found = changes(session(), session(FL=corner("SOFT", None, 6)), SHED, SPEEDS)
    [line] = sentences(found, PREFERENCES)
    assert "bump 8 from full hard to not entered" in line
    assert "rebound 8 from full hard to 6 from full soft" in line
    stranger = changes(session(), session(FL=corner("NEW", 8, 6)), SHED, SPEEDS)
    [line] = sentences(stranger, PREFERENCES)
    assert "rebound 8 from full hard to 6 from an end that is not known" in line


def test_a_change_and_a_force_that_is_not_known_on_a_line() -> None:
    seven, nine = Reading.of_si(7.0, "clicks"), Reading.of_si(9.0, "clicks")
    found = changes(session(corner(rebound=7)), session(corner(rebound=9)), SHED, SPEEDS)
    one = next(value for value in found.values if value.path == "FL.rebound_bleed")
    assert (one.before, one.after) == (seven, nine)
    assert sentence(one, PREFERENCES) == "FL rebound: 2 clicks softer (7 to 9 from full hard)"
    assert not_known(NotKnown("FL", "bump", "so it is: do this")) == (
        "FL bump: no estimate, so it is: do this"
    )
    assert not_known(NotKnown("FL", "bump", "")) == (
        "FL bump: no estimate, no figure comes out at these speeds."
    )


def test_what_cavitates_is_said_where_the_band_reaches_the_limit() -> None:
    found = Cavitation(15e5, 20.0, 900.0, 0.5, 1.0, 1.2, 1.01)
    assert not found.is_reached
    assert cavitates(found) == ""
    reached = replace(found, least=0.99)
    assert reached.is_reached
    assert cavitates(reached) == CAVITATES
