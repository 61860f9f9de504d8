"""A damper or a car like another one: the design goes along, what was measured does not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from trackside.analysis.shed import Shed
from trackside.crew import copies
from trackside.errors import BadInput
from trackside.logbook import Logbook, dampers, put
from trackside.records import Build, Car, CarCorner, Damper
from trackside.records.fields import CORNERS
from trackside.reports.copy_words import OF_ONE_CAR, OF_ONE_DAMPER, copied_words, taken_words

KNOB = {"acts_on": "rebound_bleed", "clicks": 24, "counted_from": "hard", "step": 0.5,
        "share_per_click": 0.03}  # fmt: skip
RULE = {"direction": "rebound", "full_hard_force": 900.0, "reference_speed": 0.1}
ROD = {"typed": "14", "unit": "mm", "si": 0.014}
BUILD = {"damper": "Q-0099", "version": "B", "date": "2026-02-01", "rod_diameter": ROD,
         "adjusters": [KNOB], "shop_rules": [RULE], "oil": "thin", "needle": "N2", "family": "Q",
         "rebound_parts": {"seat": 0.03}, "gas_pressure": 16e5, "sheet": "s", "work": "resealed",
         "of_a_newer_one": 1}  # fmt: skip
CORNER = {"mass": 210.0, "unsprung_mass": 28.0, "motion_ratio": 0.7, "spring_rate": 6e4}
CAR = {"name": "Coupé", "number": "27", "wheelbase": 2.5, "stops": "red = 5:400", "words": "bent",
       "FL": CORNER}  # fmt: skip


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with Logbook.open(tmp_path / "log.trackside", author="ann", device="here") as logbook:
        damper = {"serial": "Q-0099", "model": "Quad", "place": "FL", "words": "weeps"}
        older = {"damper": "Q-0099", "version": "A", "date": "2025-02-01", "oil": "old"}
        logbook.write(put("damper", damper), put("build", older), put("build", BUILD))
        logbook.write(put("sheet", {"damper": "Q-0099", "build": "B"}))
        yield logbook


def test_every_field_is_copied_or_left_on_purpose() -> None:
    assert {*copies.DAMPER_COPIED, *copies.DAMPER_LEFT} == set(Damper.model_fields)
    assert {*copies.BUILD_COPIED, *copies.BUILD_LEFT} == set(Build.model_fields)
    assert {*copies.CAR_COPIED, *copies.CAR_LEFT, *CORNERS} == set(Car.model_fields)
    assert {*copies.CORNER_COPIED, *copies.CORNER_LEFT} == set(CarCorner.model_fields)


def test_the_design_goes_along_and_what_was_measured_does_not(logbook: Logbook) -> None:
    found = copies.copied_damper(logbook, "q-0099", ["Q-0100", " Q-0101 "])
    logbook.write(*found.writes)
    shed = Shed.of(logbook)
    first, second = shed.build("Q-0100"), shed.build("Q-0101")
    pattern = shed.build("Q-0099")
    assert first is not None
    assert second is not None
    assert pattern is not None
    for name in copies.BUILD_COPIED:
        assert getattr(first, name) == getattr(second, name) == getattr(pattern, name), name
    assert (first.version, first.gas_pressure, first.sheet, first.work) == ("A", None, "", "")
    assert [d.model for d in shed.dampers] == ["Quad"] * 3
    assert [(d.place, d.words) for d in shed.dampers[1:]] == [("", "")] * 2
    assert shed.sheet(first) is None
    body = logbook.state(dampers.records_of(logbook, "Q-0100")["build"])
    assert body is not None
    assert body["rod_diameter"] == ROD  # as it was typed
    assert copied_words(found, OF_ONE_DAMPER) == (
        "Q-0100, Q-0101 like Q-0099: model, sizes, adjusters, shop rule, oil, needle, "
        "sisters' word, parts copied; not copied: place, notes, gas charge, work done, "
        "dyno sheets, runs"
    )


def test_all_of_them_are_one_step_of_undo(logbook: Logbook) -> None:
    before = logbook.current_states()
    logbook.write(*copies.copied_damper(logbook, "Q-0099", ["Q-0100", "Q-0101"]).writes)
    logbook.undo()
    assert logbook.current_states() == before


@pytest.mark.parametrize(
    ("serials", "why"),
    [
        (["Q-0100", "q-0099"], ("q-0099 is on record already", "give another serial")),
        (["Q-0100", "q-0100"], ("q-0100 was typed twice", "give each serial once")),
        ([" "], ("no serial was typed", "type it as engraved")),
    ],
)
def test_all_or_none_are_entered(
    logbook: Logbook, serials: list[str], why: tuple[str, str]
) -> None:
    with pytest.raises(BadInput) as refused:
        copies.copied_damper(logbook, "Q-0099", serials)
    assert (refused.value.cause, refused.value.remedy) == why


def test_only_a_damper_on_record_is_copied(logbook: Logbook) -> None:
    with pytest.raises(BadInput) as refused:
        copies.copied_damper(logbook, "X-1", ["X-2"])
    assert refused.value.cause == "X-1 is not in the shed"
    assert refused.value.remedy == "name a damper that is"
    logbook.write(put("damper", {"serial": "bare"}))
    bare = copies.copied_damper(logbook, "bare", ["bare 2"])
    assert [write.kind for write in bare.writes] == ["damper", "build"]
    assert "nothing copied" in copied_words(bare, OF_ONE_DAMPER)


@pytest.mark.parametrize(
    ("serial", "following"),
    [("Q-0098", "Q-0100"), ("Q-0099", "Q-0100"), ("SA-9", "SA-10"), ("TW-2241B", ""), ("x", ""),
     ("٣", ""), ("Q-009٣", "")],
)  # fmt: skip
def test_the_next_serial_counts_up_past_those_on_record(
    logbook: Logbook, serial: str, following: str
) -> None:
    assert copies.next_serial(logbook, serial) == following


def test_names_are_parted_by_commas_and_semicolons() -> None:
    assert copies.names_in("TW-1, TW 2;; TW-3 ,") == ("TW-1", "TW 2", "TW-3")


def test_a_car_is_copied_without_what_was_weighed(logbook: Logbook) -> None:
    car = logbook.write(put("car", CAR))[0].entity
    found = copies.copied_car(logbook, car, "Coupé 2", " 28 ")
    [write] = found.writes
    logbook.write(write)
    corner = {name: value for name, value in CORNER.items() if name != "mass"}
    assert logbook.state(write.entity) == {
        "name": "Coupé 2", "number": "28", "wheelbase": 2.5, "stops": "red = 5:400", "FL": corner,
    }  # fmt: skip
    assert copied_words(found, OF_ONE_CAR) == (
        "Coupé 2 like Coupé: lengths, bump stops, unsprung masses, motion ratios, springs copied; "
        "not copied: notes, weights on the scales, sessions"
    )
    with pytest.raises(BadInput, match="coupé is on record already"):
        copies.copied_car(logbook, car, "coupé")


def test_a_copy_says_of_what_it_is_one_and_is_as_new(logbook: Logbook) -> None:
    found = copies.copied_damper(logbook, "Q-0099", ["Q-0100"])
    assert [write.reason for write in found.writes] == ["copied from Q-0099"] * 2
    build = found.writes[1].body
    assert (build["damper"], build["version"]) == ("Q-0100", "A")
    assert "date" not in build, "until somebody types one"
    assert copies.damper_design(logbook, "q-0099") == replace(found, names=(), writes=())


def test_a_car_without_a_number_gets_none_and_what_is_on_four_corners_is_told_once(
    logbook: Logbook,
) -> None:
    body = {**CAR, "RR": {"mass": 190.0, "tyre_rate": 2e5}, "RL": {"mass": 1.0}, "FR": "odd"}
    car = logbook.write(put("car", body))[0].entity
    found = copies.copied_car(logbook, car, "Coupé 2", " ")
    [write] = found.writes
    assert write.reason == "copied from Coupé"
    assert write.body.keys() == {"name", "wheelbase", "stops", "FL", "RR"}
    assert found.copied == (
        "wheelbase", "stops", "unsprung_mass", "motion_ratio", "spring_rate", "tyre_rate"
    )  # fmt: skip
    assert found.left == ("words", "mass")
    assert copies.car_design(logbook, car) == replace(found, names=(), writes=())
    assert copies.car_design(logbook, "nothing").copied == ()
    for name, why in (("", ("no name was typed", "type what it is called")),
                      ("COUPÉ", ("COUPÉ is on record already", "give another name"))):  # fmt: skip
        with pytest.raises(BadInput) as refused:
            copies.copied_car(logbook, car, name)
        assert (refused.value.cause, refused.value.remedy) == why


def test_a_serial_of_a_great_many_figures_is_not_counted_up(logbook: Logbook) -> None:
    assert copies.next_serial(logbook, "9" * 15) == "1" + "0" * 15
    assert copies.next_serial(logbook, "X" + "1" * 15) == "X" + "1" * 14 + "2"
    logbook.write(put("damper", {"serial": "q-0100"}))
    assert copies.next_serial(logbook, "Q-0099") == "Q-0101"


def test_a_figure_that_cannot_be_right_is_not_copied_and_named(tmp_path: Path) -> None:
    """The limits are our own, no source."""
    with Logbook.open(tmp_path / "log.trackside", author="a", device="d") as logbook:
        build = {
            "damper": "D1", "version": "A", "oil": "X 5", "rod_diameter": {"typed": "14", "unit":
            "mm", "si": 0.014}, "piston_diameter": {"typed": "460", "unit": "mm", "si": 0.46},
        }  # fmt: skip
        logbook.write(put("damper", {"serial": "D1"}), put("build", build))
        copied = copies.copied_damper(logbook, "D1", ["D2"])
        inside = copied.writes[1].body
        assert "piston_diameter" not in inside
        assert inside["rod_diameter"] == build["rod_diameter"]
        told = taken_words(copied, OF_ONE_DAMPER)
        assert told.startswith("sizes, oil copied; left out, since it cannot be right: sizes;")
        car = put("car", {"name": "C", "FL": {"unsprung_mass": {"typed": "9000", "unit": "kg",
                                                                "si": 9000.0}}})  # fmt: skip
        logbook.write(car)
        copy = copies.copied_car(logbook, car.entity, "C2")
        assert "FL" not in copy.writes[0].body
        assert copy.doubtful == ("unsprung_mass",)
