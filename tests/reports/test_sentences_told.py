"""Each sentence that is made in this room, once: hints, cautions, doubts of a sheet, cleared
values, names of files. Long lists are compared with `told/`, short ones stand here."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from tests.analysis.garage import PREFERENCES, SHED, corner, session
from tests.told import agrees
from trackside.analysis.air import ColdToday
from trackside.analysis.bring_back import Differs
from trackside.analysis.cavitation import Cavitation
from trackside.analysis.changes import AXLES, changes
from trackside.analysis.felt import Moved
from trackside.analysis.gas_loss import LostCharge
from trackside.analysis.plausible_ranges import Mark
from trackside.analysis.recall import Match, Recalled
from trackside.analysis.response import Response
from trackside.analysis.same_curve import FAR, Translation
from trackside.analysis.shed import fit_of
from trackside.crew.swapping import Swap
from trackside.logbook import Logbook, put
from trackside.logbook.history import Undone
from trackside.logbook.last_read import LastRead
from trackside.logbook.twins import TWICE
from trackside.preferences import Preferences, data_folder
from trackside.records import Adjuster, Note, Reading, SheetWarning
from trackside.records.dyno import Loop
from trackside.records.fields import CORNER_FIELDS
from trackside.reports import cautions, printing
from trackside.reports.air_words import cold_words, density_words
from trackside.reports.bench_words import sheet_lines
from trackside.reports.bring_words import differs_words, translation_words
from trackside.reports.cell_help import of_text, of_value
from trackside.reports.change_words import force_sentence, paired, sentences
from trackside.reports.debriefing import notes_said
from trackside.reports.document import Corners, Document, Said, Section, Table
from trackside.reports.formatting import percent, signed, with_band
from trackside.reports.gas_words import lost_charge_words, missing_words
from trackside.reports.hints import hints
from trackside.reports.html import html
from trackside.reports.last_read_words import day_in_words, last_read_words
from trackside.reports.limits import CAVITATES, _gas
from trackside.reports.loops import _halves
from trackside.reports.mark_words import build_problems, mark_words
from trackside.reports.naming import (
    moment_in_words,
    place_in_words,
    record_in_words,
    session_in_words,
    value_in_words,
    who_in_words,
)
from trackside.reports.recall_words import conditions_words, match_words
from trackside.reports.response_words import gas_words, response_words
from trackside.reports.run_sheet import run_sheet
from trackside.reports.sheet_warning_words import waiting_words, warning_words
from trackside.reports.sister_words import next_run_lines
from trackside.reports.swapped import swap_said
from trackside.reports.undone import undone_in_words

PSI = Preferences(units={"pressure": "psi", "temperature": "°F", "speed": "in/s", "force": "lbf"})


def test_every_hint() -> None:
    parts = ("bump", "rebound", "spring_rate", "bar", "wing", "bias", "toe", "camber")
    told = [
        f"{part} {axle or '–'} {sense}: {' '.join(hints([Moved(part, axle, at, sense, part)]))}"
        for part in parts
        for axle, at in (*AXLES.items(), ("", ()))
        for sense in (-1, 0, 1)
    ]
    agrees(told, __file__, "hints")


def test_every_caution_and_where_it_stands() -> None:
    told = [f"{one.short} | {one.text} | {one.whole}" for one in cautions.ALL]
    told += [cautions.FIRST, cautions.INVENTED]
    for home in (cautions.RUN_SHEET, cautions.RECORDS):
        told += [f"{path}: {'; '.join(c.short for c in at)}" for path, at in home.items()]
    told += [cautions.page(cautions.on_run_sheet("FL.gas_pressure"))]
    told += [f"[{cautions.page(cautions.on_record('car', 'FL.unsprung_mass'))}]"]
    agrees(told, __file__, "cautions")


FIGURES = {"share": 0.32, "clicks": 2.1, "rms_percent": 7.8, "speeds": 3.0, "from_C": 24.0,
           "to_C": 71.0, "mean": -0.12, "stated_N": 180.0, "gas_N": 212.0, "gas_Pa": 12e5,
           "friction_N": 21.0, "up_to": 0.005, "fullness": 0.61, "by_N": 30.0}  # fmt: skip


def doubt(name: str, **more: object) -> SheetWarning:
    """A warning of that name with every figure."""
    said = {"direction": "bump", "position": 8.0, "speed": 0.254, "figures": FIGURES, **more}
    return SheetWarning(name=name, **said)  # type: ignore[arg-type]


def test_every_doubt_of_a_sheet() -> None:
    names = (
        "stray_row run_off position_doubtful poor_fit valve_not_followed few_speeds warming_oil "
        "large_change unit_doubtful gas_left gas_unlike gas_from_rows gas_by_build "
        "zeroed_with_damper direction_by_name no_rows one_position shop_rule_only "
        "positions_lacking last_line_short counting_inferred counting_assumed "
        "preload_counting_inferred preload_counting_assumed counting_by_words "
        "samples_left_out gas_still_in gas_below_zero loop_fullness rebound_left_out "
        "warming_over_runs"
    )
    told = []
    for name in names.split():
        warning = doubt(name, words="hard")
        told += [f"{name}: {warning_words(warning, at)}" for at in (PREFERENCES, PSI)]
    opposite = {"share": -0.32, "clicks": -1.0, "gas_N": 212.0}
    for name in ("run_off", "position_doubtful", "gas_from_rows"):
        told.append(warning_words(doubt(name, figures=opposite, preload_position=2.0), PREFERENCES))
    told.append(warning_words(doubt("direction_by_sign", words="force bump"), PREFERENCES))
    agrees(told, __file__, "doubts")


def test_a_doubt_that_nobody_knows_keeps_its_own_words() -> None:
    assert warning_words(doubt("odd", words="so it said"), PREFERENCES) == "so it said"
    assert warning_words(doubt("odd"), PREFERENCES) == "the sheet carries the warning “odd”"
    bare = doubt("run_off", figures={}, words="its own")
    assert warning_words(bare, PREFERENCES) == "its own"
    sheet = SHED.sheets[0]
    assert waiting_words(sheet) == (
        "sheet 2026-04-01 HARD.csv does not count until its warnings were seen"
    )


KNOB = Adjuster(acts_on="rebound_bleed", clicks=20, counted_from="hard")
SEVEN = Reading.of_si(7.0, "clicks")
BAR = Reading.of_text("16", "pressure", "bar")


@pytest.mark.parametrize(
    ("swap", "said"),
    [
        (Swap("FL", "NEW", True, "", {"rebound_bleed": KNOB}, (), {"rebound_bleed": SEVEN}),
         "FL cleared: rebound 7 (20 from full hard now)"),
        (Swap("FL", "NEW", True, "", {"rebound_bleed": None}, (), {"rebound_bleed": SEVEN}),
         "FL cleared: rebound 7 (no such knob)"),
        (Swap("FL", "NEW", False, "", {}, (), {"rebound_bleed": SEVEN}),
         "FL cleared: rebound 7 (NEW is not in the damper shed)"),
        (Swap("FL", "", False, "", {}, (), {"rebound_bleed": SEVEN}),
         "FL cleared: rebound 7 (no damper there now)"),
        (Swap("FL", "NEW", True, "", {}, ("gas_pressure",), {"gas_pressure": BAR}),
         "FL cleared: gas 16.00 bar (read of the other one)"),
        (Swap("FL", "NEW", True, "A", {}, ("gas_pressure",), {"gas_pressure": BAR}),
         "FL cleared: gas 16.00 bar (read of build A)"),
    ],
)  # fmt: skip
def test_what_another_damper_clears(swap: object, said: str) -> None:
    assert swap_said(swap, PREFERENCES) == said  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("typed", "path", "preferences", "told"),
    [
        ("300 psi", "FL.gas_pressure", PREFERENCES, "20.68 bar = 300.0 psi"),  # 6.894757 kPa a psi
        ("68 °F", "air_temperature", PREFERENCES, "20 °C = 68 °F"),  # its definition
        ("20", "air_temperature", PSI, "20 °F = -7 °C"),
        ("1", "FL.rebound_bleed", PREFERENCES, "1 click"),
        ("3", "FL.rebound_bleed", PREFERENCES, "3 clicks"),
        ("soft tyre", "tyre_set", PREFERENCES, ""),
    ],
)
def test_what_is_typed_means(typed: str, path: str, preferences: Preferences, told: str) -> None:
    assert of_text(typed, path, preferences) == told


def test_a_count_says_of_how_many_and_what_cannot_be_read_says_why() -> None:
    assert of_text("3", "FL.rebound_bleed", PREFERENCES, KNOB) == "3 clicks of 20 from full hard"
    assert "“o” is not a unit of pressure" in of_text("12o", "FL.gas_pressure", PREFERENCES)
    assert of_value("soft, new", "tyre_set", None, PREFERENCES) == "soft, new"
    assert of_value(None, "FL.gas_pressure", None, PREFERENCES) == ""


def test_what_was_taken_back() -> None:
    with Logbook.open(":memory:", device="test") as logbook:
        car = put("car", {"name": "Coupé", "number": "7"})
        logbook.write(car)
        gone = {"name": ("Coupé", None), "number": ("7", None)}
        item = Undone(car.entity, "car", gone, (), whole="goes")
        assert undone_in_words(logbook, item, PREFERENCES) == "the whole car Coupé · 7, 2 values"
        back = {"name": (None, "Coupé")}
        item = Undone(car.entity, "car", back, (), whole="comes")
        assert undone_in_words(logbook, item, PREFERENCES) == "the whole car Coupé, 1 value"
        changed = {"driver": ("Ann", None), "tyre_set": ("new", "old"), "fuel": (None, None)}
        item = Undone("x", "session", changed, ())
        told = undone_in_words(logbook, item, PREFERENCES)
        assert told == "session driver: Ann → empty, tyre set: new → old …"
        item = Undone("x", "session", {"driver": ("Ann", "Ben"), "tyre_set": ("a", "b")}, ())
        told = undone_in_words(logbook, item, PREFERENCES)
        assert told == "session driver: Ann → Ben, tyre set: a → b"


def test_a_page_of_the_browser_line_by_line() -> None:
    page = Document(
        "Run <sheet>",
        "",
        (
            Section("Said", (Said("a & b", "caution"), Said("plain"))),
            Corners("Car", {"FL": (("camber", "-3"),), "RR": (("toe", ""),)}),
            Table("Laps", (("1", "1:35"),), ("lap", "time")),
            Table("Bare", (("1", "1:35"),)),
        ),
    )
    lines = html(page, "a4", "here").replace("><", ">\n<").split("\n")
    agrees(lines, __file__, "browser")
    assert html(page, "letter") != html(page, "a4")


@pytest.mark.parametrize(
    ("one", "told"),
    [
        (Differs("no kept damper", "FL", ("A",)),
         "FL: no damper is on record for the kept set-up; A is on the car"),
        (Differs("another damper", "FL", ("A", "B")), "FL: another damper, A instead of B"),
        (Differs("rebuilt", "FL", ("A", "2", "1")), "FL: A was rebuilt, build 2 instead of 1"),
        (Differs("build unknown", "FL", ("A",)), "FL: today's build of A is not known"),
        (Differs("kept build unknown", "FL", ("A",)), "FL: the kept build of A is not known"),
        (Differs("clicks left", "FL", ()), "FL: clicks are left as they are on the car"),
        (Differs("no adjuster", "FL", (KNOB,)), "FL: today's damper has no rebound adjuster"),
        (Differs("other clicks", "FL", (KNOB, KNOB.model_copy(update={"clicks": 16}))),
         "FL rebound: 16 clicks from full hard instead of 20 from full hard"),
        (Differs("not translated", "FL", ("rebound_bleed", "why")),
         "FL rebound: not translated, why"),
        (Differs("not translated, left", "FL", ("rebound_bleed", "why")),
         "FL rebound: not translated, why The position is left as it is on the car."),
        (Differs("set by hand", "FL", ("rebound_bleed",)),
         "FL rebound: not translated, set it by hand"),
        (Differs("gas not compared", "FL", ("why",)), "FL gas: not compared, why"),
        (Differs("surface", "", ("wet", "dry")), "wet today, dry then"),
        (Differs("charge", "FL", (15e5, 16e5)),
         "FL gas: 15.00 bar today, 16.00 bar then, both at 20 °C: check the charge"),
        (Differs("air", "", ("air_temperature", 30.0, 12.0)),
         "air 30 °C today, 12 °C then: check cold tyre pressures and damper temperature"),
    ],
)  # fmt: skip
def test_what_bringing_back_a_set_up_would_not_do(one: Differs, told: str) -> None:
    assert differs_words(one, PREFERENCES) == told


def test_a_translated_position_says_how_near_it_comes() -> None:
    knob = Adjuster(acts_on="rebound_bleed", clicks=20, counted_from="hard")
    for miss, far in ((FAR - 0.5, False), (FAR + 0.5, True)):
        step = Translation("FL", "rebound_bleed", 6.0, knob, 8.0, miss, "measured")
        told = translation_words(step, PREFERENCES)
        assert told.startswith(
            "FL rebound: set 8 here for 6 of 20 from full hard then; the curve comes within "
        )
        assert ("not the same curve, the nearest there is" in told) == far


def test_missing_gas() -> None:
    lost = LostCharge("FL", missing=1.2e5, expected=15.1e5)
    words = "1.20 bar less than the 15.10 bar that temperature explains: a leak, or gas let out"
    assert lost_charge_words(lost, PREFERENCES) == f"FL gas: {words} by the gauge?"
    told = missing_words(LostCharge("FL", why="of the stars"), PREFERENCES)
    assert told == "not compared with the reading before, of the stars"


@pytest.mark.parametrize(
    ("share", "told"), [(3.4, "+3"), (-3.6, "−4"), (0.4, "0"), (-0.4, "0"), (float("nan"), "–")]
)
def test_percent(share: float, told: str) -> None:
    assert percent(share) == told


def test_signs_and_bands() -> None:
    told = [signed(n, PREFERENCES) for n in (12.0, -12.0, 0.2, -0.2)]
    assert told == ["+12", "−12", "0", "−0"] or told == ["+12", "−12", "0", "0"]
    assert with_band(100.0, 90.0, 110.0, "N") == "100 ±10"
    assert with_band(100.0, 95.0, 130.0, "N") == "100 (95 to 130)"
    assert with_band(-10.0, -30.0, 5.0, "N", signs=True) == "−10 (−30 to +5)"


def test_a_change_of_force_is_told_with_its_band_and_basis() -> None:
    found = changes(session(), session(corner(rebound=5)), SHED, PREFERENCES.reference_speeds)
    told = [force_sentence(force, PREFERENCES) for force in found.forces]
    told += sentences(found, PREFERENCES)
    small = changes(session(), session(corner("TWIN", 12, 12)), SHED, (0.1, 0.2))
    told += [force_sentence(force, PREFERENCES) for force in small.forces]
    told += sentences(small, PREFERENCES)
    left = changes(
        session(), replace_corners("FL RL", corner(rebound=5)), SHED, PREFERENCES.reference_speeds
    )
    told += sentences(left, PREFERENCES)
    agrees(told, __file__, "forces")


def replace_corners(names: str, other: object):  # type: ignore[no-untyped-def]
    """A session with that corner at those places."""
    return session(**dict.fromkeys(names.split(), other))


def test_values_and_names_in_words() -> None:
    typed = {"typed": "22.5", "unit": "psi", "si": 155132.0}
    assert value_in_words(typed, "FL.cold_pressure", PREFERENCES) == "22.5 psi (1.55 bar)"
    assert value_in_words({"camber": typed}, "FL", PREFERENCES).startswith("camber 22.5 psi")
    assert value_in_words([95.2, "in"]) == "1:35.200 in"
    assert value_in_words(None) == "–"
    assert who_in_words("Ann", "laptop", "laptop") != who_in_words("Ann", "other", "laptop")


READ = {"session": "s", "corner": "FL", "typed": "15.1", "unit": "bar", "si": 15.1e5}


def test_what_was_last_read_gets_shorter_and_its_day_has_a_year_where_it_is_another() -> None:
    found = LastRead(**READ, day="2026-10-18")  # type: ignore[arg-type]
    at = LastRead(**{**READ, "typed": "9", "unit": "°C", "si": 9.0}, day="2026-10-18")  # type: ignore[arg-type]
    gas = CORNER_FIELDS["gas_pressure"]
    told = list(last_read_words(found, at, gas, PREFERENCES, "2026-10-20"))
    assert told == [
        "last: 15.10 bar at 9 °C, 18 Oct",
        "last: 15.10 bar, 18 Oct",
        "last 15.1, 18 Oct",
        "last 15.1",
    ]
    assert next(last_read_words(found, None, gas, PSI, "2027-01-20")) == (
        "last: 219.0 psi, 18 Oct 2026"
    )
    assert day_in_words("2026-01-09", "2026-05-05") == "9 Jan"
    assert day_in_words("2026-12-09", "2027-05-05") == "9 Dec 2026"
    assert day_in_words("soon", "2027-05-05") == "soon"


def test_air_and_rod_travel() -> None:
    cold = ColdToday(cold=1.41e5, hot=1.9e5, is_target=False, air=12.0)
    assert cold_words(cold, PREFERENCES) == "about 1.41 bar for 1.90 hot as before (air 12 °C)"
    cold = ColdToday(cold=1.41e5, hot=1.9e5, is_target=True, air=12.0)
    assert cold_words(cold, PREFERENCES) == ("about 1.41 bar for the target, 1.90 hot (air 12 °C)")
    assert density_words(1.1993) == "air 1.199 kg/m³"
    found = Response("bump", oil=0.31e-3, airy=0.62e-3, gas=14e5, read=True)
    assert response_words(found, PREFERENCES) == (
        "rod travel to 80 % of the force at 1000 mm/s: 0.31 mm, 0.62 mm with 1 % air (gas "
        "14.00 bar as read in its session; oil of half a stroke, everything round it stiff: a "
        "whole damper travels further)"
    )
    assert gas_words(replace(found, read=False), PSI) == (
        "gas 203.1 psi as charged at the strip-down"
    )


def test_who_and_which() -> None:
    assert who_in_words("Ann", "laptop", "laptop") == "Ann, this laptop"
    assert who_in_words("", "0123456789", "laptop") == "unsigned, laptop …456789"
    assert who_in_words("Ann", "", "laptop") == "Ann"
    assert moment_in_words("soon") == "soon"
    assert place_in_words("") == "keep it, or take it off the logbook?"
    assert place_in_words("FL.rebound_bleed") == "FL rebound"
    line = next(iter_lines())
    assert session_in_words(line).startswith("Practice")


def iter_lines():  # type: ignore[no-untyped-def]
    """The lines of a pit board with one session."""
    with Logbook.open(":memory:", device="test") as logbook:
        event = put("event", {"venue": "Harrow Fen", "date": "2026-05-09"})
        car = put("car", {"name": "Coupé", "number": "7"})
        body = {"event": event.entity, "car": car.entity, "kind": "practice"}
        run = put("session", {**body, "start": "2026-05-09 10:20"})
        logbook.write(event, car, run)
        assert record_in_words(logbook, run.entity).startswith(
            "Practice · Harrow Fen · 2026-05-09 10:20"
        )
        assert record_in_words(logbook, car.entity) == "car Coupé · 7"
        assert record_in_words(logbook, "nothing-known").endswith("taken off the logbook")
        shown = Undone("x", "twin", {TWICE: ({}, {"name": "Coupé"})}, ())
        assert "all values are alike → " in undone_in_words(logbook, shown, PREFERENCES)
        page = run_sheet(logbook, run.entity, SHED, PREFERENCES)
        assert page.heading.endswith("not run yet: the settings are to be set on the car")
        said = next(b for b in page.blocks if b.title.startswith("Said, and why"))
        assert [one.text for one in said.said] == ["_" * 60] * 4
        file = printing.printed(logbook, run.entity, SHED, PREFERENCES, "sheet", _folder())
        assert file.name == "2026-05-09-Harrow-Fen-practice-run-sheet.html"
        assert ":memory: · printed 20" in file.read_text("utf-8")
        file = printing.printed(logbook, run.entity, SHED, PREFERENCES, "debrief", _folder())
        assert file.name == "2026-05-09-Harrow-Fen-practice-debrief.html"
        yield from logbook.session_lines()


def _folder() -> Path:
    return data_folder() / "printed"


@pytest.mark.parametrize(
    ("figures", "said"),
    [
        ({"gas_pressure": 60e5}, "gas: 60.00 bar is outside"),
        ({"piston_diameter": 0.2}, "piston ⌀: 200.0 mm is outside"),
        ({"rod_diameter": 0.2}, "rod ⌀: 200.0 mm is outside"),
        ({"stroke": 0.9}, "stroke: 900.0 mm is outside"),
        ({"oil_viscosity_40": 2e-3}, "oil at 40 °C: "),
        ({"oil_viscosity_100": 2e-3}, "oil at 100 °C: "),
    ],
)
def test_what_cannot_be_right_of_a_build(figures: dict[str, float], said: str) -> None:
    build = SHED.builds[0].model_copy(update=figures)
    told = build_problems(build, PREFERENCES)
    assert any(one.startswith(said) for one in told), told


@pytest.mark.parametrize(
    ("mark", "said"),
    [
        (Mark("no figure", "", ()), "this is no figure"),
        (Mark("cold above hot", "", ()), "the cold pressure is above the hot one: swapped?"),
        (Mark("all unsprung", "", ()), "unsprung is as much as the scales say: swapped?"),
        (Mark("oil not thinner", "", ()),
         "the oil is not thinner at 100 °C than at 40 °C: swapped?"),
        (Mark("clamp as wide", "", ()), "the clamp disc is as wide as the seat: swapped?"),
        (Mark("no lap time", "", (3, "soon")),
         "lap 3, “soon”, is no lap time: type it like 1:35.2"),
        (Mark("no adjuster", "FL.bump_preload", ()), "this damper has no bump prel. adjuster"),
        (Mark("unknown damper", "FL.damper", ("X",)),
         "X is not in the damper shed: a new damper, or a typo?"),
        (Mark("damper twice", "FL.damper", ("X", "FR", "RL")),
         "X is entered at FR and RL too: which corner has it?"),
        (Mark("tread spread", "FL.tread_inner", ()),
         "more than 45 °C across one tread: unit or probe?"),
        (Mark("odd", "", ("as it said",)), "as it said"),
    ],
)  # fmt: skip
def test_marks(mark: Mark, said: str) -> None:
    assert mark_words(mark, PREFERENCES) == said


def test_what_a_search_hit() -> None:
    air = Match("air", value=29.0, quantity="temperature", asked="°C", than="> 20")
    assert match_words(Match("venue", "Larkmere"), PREFERENCES) == "venue “Larkmere”"
    assert match_words(air, PREFERENCES) == "air 29 °C > 20"
    assert match_words(air, PSI) == "air 84 °F > 20"
    hot = Match("hot", value=29.0, quantity="temperature", asked="°C")
    assert match_words(hot, PREFERENCES) == "hot: air 29 °C"


def test_a_pressure_is_told_with_what_explains_it() -> None:
    told = []
    for then, now in ((("16", "24"), ("15.14", "9")), (("16", "24"), ("13", "24"))):
        sheets = [
            session(corner(
                gas_pressure=Reading.of_text(gas, "pressure"), cold_pressure=Reading.of_text(
                    gas[:1], "pressure"), gas_temperature=Reading.of_text(at, "temperature")))
            for gas, at in (then, now)
        ]  # fmt: skip
        found = changes(*sheets, SHED, PREFERENCES.reference_speeds)
        told += list(paired((*found.values, *found.readings), PREFERENCES))
    agrees(told, __file__, "pressures")


def test_a_loop_goes_in_and_out_again() -> None:
    travel, force = (0.0, 1.0, 2.0, 1.0), (1.0, 2.0, 3.0, -1.0)
    loop = Loop(position=8, speed=0.1, displacement=travel, force=force)
    way_in, way_out = _halves(loop)
    assert way_in == [(0.0, 1.0), (1.0, 2.0), (2.0, 3.0)]
    assert way_out == [(2.0, 3.0), (1.0, -1.0), (0.0, 1.0)]


def test_a_sheet_says_who_saw_its_warnings_and_bands_are_in_percent() -> None:
    sheet = SHED.sheets[0].model_copy(update={"seen_by": "Ann"})
    lines = [line for _, line in sheet_lines(sheet, SHED.builds[0], fit_of(sheet), PREFERENCES)]
    assert "its warnings were seen by Ann" in lines
    for line in (line for _, line in next_run_lines(SHED.builds[0], SHED, (), PREFERENCES)):
        before, after = map(float, re.findall(r"±([\d.]+)", line))
        assert 0.1 < after <= before < 50, "percent, of a sheet with five positions"


def test_a_note_of_a_phase_alone_and_of_scales_alone() -> None:
    notes = [
        Note(session="s", phase="entry", turn="7"),
        Note(session="s", phase="braking", balance=-2, rating=7),
        Note(session="s", words="It skips.", turn="the hairpin"),
        Note(session="s", rating=3),
    ]
    assert [said.text for said in notes_said(notes)] == [
        "the hairpin: “It skips.”",
        "3 of 10",
        "braking: understeer · 7 of 10",
        "entry, turn 7",
    ]


def test_the_day_of_what_a_search_brought_back() -> None:
    row = Recalled("e", "kept", "s", "", "", "", "", "", "", "", "dry", 11.0, None)
    assert conditions_words(row, PREFERENCES) == "dry, air 11 °C"
    row = replace(row, surface="", track=30.0)
    assert conditions_words(row, PREFERENCES) == "air 11 °C, track 30 °C"


@pytest.mark.parametrize(("least", "reached"), [(1.4, False), (0.9, True)])
def test_the_gas_and_what_it_holds(least: float, reached: bool) -> None:
    found = Cavitation(14e5, 9.0, 3000.0, 1.2, 0.5, 1.5 if least > 1 else 0.95, least)
    told = _gas(found, PREFERENCES)
    assert told.startswith("gas 14.00 bar at 9 °C holds 3000 N in bump: ")
    assert " × the force at 500 mm/s" in told
    assert told.endswith(CAVITATES) == reached
