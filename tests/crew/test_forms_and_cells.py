"""What a form asks, and what is typed into it: every entry, its unit, its hint; and the way of a
text into a record and back."""

from __future__ import annotations

from typing import Any

import pytest

from tests.told import agrees
from trackside.crew.cell_text import (
    change,
    describe_value,
    parse_value,
    read_day,
    siblings,
    spread,
    text_of,
)
from trackside.crew.deciding import value_typed
from trackside.crew.forms import FORMS, Entry, entries
from trackside.crew.notes import change_body, note_body
from trackside.crew.turning import uneven
from trackside.errors import BadInput
from trackside.preferences import Preferences
from trackside.records import Adjuster, Reading

SI = Preferences()
PSI = Preferences(units={"pressure": "psi", "length": "in", "force": "lbf"})
BUILD: dict[str, Any] = {
    "damper": "D1", "version": "A",
    "adjusters": [{"acts_on": "rebound_bleed", "clicks": 20, "counted_from": "hard"}],
}  # fmt: skip


def entry(key: str) -> Entry:
    """That entry of whatever form it is on."""
    return next(entries(form)[key] for form in FORMS if key in entries(form))


def test_every_entry_of_every_form() -> None:
    told = []
    for form, parts in FORMS.items():
        for part, sections in parts.items():
            for section in sections:
                told.append(f"{form} / {part} / {section.title} {section.role}")
                told += [
                    f"  {e.key}: {e.label_in(SI)} | {e.label_in(PSI)} | {e.quantity} | {e.hint} | "
                    f"{e.choices} | {e.required} | {e.group}"
                    for e in section.entries
                ]
    agrees(told, __file__, "forms")


@pytest.mark.parametrize(
    ("key", "typed", "si"),
    [
        ("car.FL.mass", "250", 250.0),
        ("car.wheelbase", "2500", 2.5),  # mm
        ("car.FL.motion_ratio", "0.72", 0.72),
        ("car.FL.motion_ratio", "-30:0.70 0:0.72 30:0.76", 0.72),  # at static: that of 0
        ("build.gas_pressure", "16", 16e5),  # 1 bar is 1e5 Pa by definition
        ("build.gas_pressure", "16 psi", 110316.0),  # 6894.757 Pa by definition
        ("build.piston_diameter", "46", 0.046),
        ("event.altitude", "250", 250.0),
        ("event.road_speed", "144", 40.0),
        ("event.road_speed", "100 mph", 44.704),  # 0.44704 m/s by definition
    ],
)  # fmt: skip
def test_a_figure_is_kept_as_typed_and_shown_again(key: str, typed: str, si: float) -> None:
    one = entry(key)
    body = parse_value(one, typed, SI)
    assert body["typed"] == typed
    assert body["si"] == pytest.approx(si, rel=1e-5)
    head, _, name = one.path.partition(".")
    kept = {head: {name: body} if name else body}
    assert text_of(one, kept, SI) == typed


def test_a_figure_of_another_unit_is_shown_in_the_crews() -> None:
    one = entry("build.gas_pressure")
    body = parse_value(one, "16", SI)
    assert text_of(one, {"gas_pressure": body}, PSI) == "232.06"  # 16e5 / 6894.757
    assert text_of(one, {"gas_pressure": 16e5}, SI) == "16"
    assert text_of(one, {"gas_pressure": True}, SI) == "True"
    assert text_of(one, {}, SI) == ""
    assert text_of(entry("car.name"), {"name": "a\nb"}, SI) == "a b"
    assert describe_value("build", "gas_pressure", body, SI) == "16 bar"
    assert describe_value("build", "gas_pressure", {**body, "typed": "16 bar"}, SI) == "16 bar"


def test_words_for_values_without_a_cell() -> None:
    assert describe_value("build", "gas_pressure", None, SI) == "empty"
    assert describe_value("build", "sheet", "x", SI) == "the one chosen"
    assert describe_value("session", "lap_times", [1, 2, 3], SI) == "3 of them"
    assert describe_value("odd", "thing", "a\nb", SI) == "a b"
    told = describe_value("build", "adjusters", BUILD["adjusters"], SI)
    assert told == "rebound adjuster: clicks 20, counted hard"
    rules = [{"direction": "bump", "full_hard_force": 500.0, "reference_speed": 0.1}]
    told = describe_value("build", "shop_rules", rules, SI)
    assert told == "shop rule, bump: full hard 500 N, at speed 100 mm/s"


def test_what_cannot_be_kept_says_why() -> None:
    for key, typed, said in (
        ("car.name", " ", "Name cannot be empty"),
        ("build.adjusters.bump_bleed.clicks", "3.5", "is not a whole number"),
        ("build.adjusters.bump_bleed.counted_from", "left", "is not known here"),
        ("build.date", "9 May", "“9 May” is not a date"),
        ("car.stops", "red", "red"),
    ):
        with pytest.raises(BadInput, match=said):
            parse_value(entry(key), typed, SI)
    assert read_day("2026-05-09") == "2026-05-09"
    assert parse_value(entry("car.number"), "  ", SI) is None
    assert parse_value(entry("car.number"), "7", SI) == "7"
    for typed in ("hard", "h", "full hard", "Hard"):
        assert parse_value(entry("build.adjusters.bump_bleed.counted_from"), typed, SI) == "hard"
    assert parse_value(entry("build.adjusters.bump_bleed.clicks"), "18", SI) == 18


def knob(name: str) -> Entry:
    """That entry of the bump knob."""
    return entry(f"build.adjusters.bump_bleed.{name}")


def test_a_road_class_is_taken_in_either_case() -> None:
    """“c” and “C” are class C; the record keeps the letter as the standard has it."""
    for typed in ("c", "C", " c "):
        assert parse_value(entry("event.road_class"), typed, SI) == "C"
    with pytest.raises(BadInput, match="is not known here"):
        parse_value(entry("event.road_class"), "I", SI)


def test_a_knob_is_kept_whole_or_not_at_all() -> None:
    with pytest.raises(BadInput, match="say also from which end it counts: hard or soft"):
        change("build", BUILD, {knob("clicks"): "18"}, SI)
    with pytest.raises(BadInput, match="say also how many clicks it has"):
        change("build", BUILD, {knob("counted_from"): "soft"}, SI)
    patch = change("build", BUILD, {knob("clicks"): "18", knob("counted_from"): "soft"}, SI)
    assert {a["acts_on"]: a["clicks"] for a in patch["adjusters"]} == {
        "rebound_bleed": 20, "bump_bleed": 18,
    }  # fmt: skip
    with_both = BUILD | patch
    gone = change("build", with_both, {knob("clicks"): ""}, SI)
    assert [a["acts_on"] for a in gone["adjusters"]] == ["rebound_bleed"]
    assert change("build", with_both, {knob("step"): "2"}, SI)["adjusters"][1]["step"]
    assert change("build", BUILD, {entry("build.oil"): "thin"}, SI) == {"oil": "thin"}
    with pytest.raises(BadInput):
        change("build", BUILD, {knob("clicks"): "0", knob("counted_from"): "soft"}, SI)


def test_what_is_kept_together() -> None:
    every = entries("damper").values()
    assert {e.path.rpartition(".")[2] for e in siblings(knob("step"), every)} == {
        "clicks", "counted_from", "step", "share_per_click",
    }  # fmt: skip
    assert siblings(entry("build.oil"), every) == [entry("build.oil")]
    assert spread({"FL": {"mass": {"typed": "2", "si": 2.0}}, "x": None, "n": 3}) == {
        "FL.mass": {"typed": "2", "si": 2.0}, "n": 3,
    }  # fmt: skip
    assert spread({"adjusters": ["odd"]}) == {}
    assert spread({"adjusters": "odd"}) == {"adjusters": "odd"}


# ── notes, reasons, decisions ───────────────────────────────────────────────────────────────────


NOTE = {"words": "It skips.", "phase": "", "turn": "", "balance": "", "rating": ""}


@pytest.mark.parametrize(
    ("name", "typed", "kept"),
    [
        ("balance", "-3", -3), ("balance", "3", 3), ("balance", "0", 0), ("balance", "4", None),
        ("balance", "-4", None), ("balance", "1.5", None), ("balance", "much", None),
        ("rating", "1", 1), ("rating", "10", 10), ("rating", "11", None), ("rating", "0", None),
    ],
)  # fmt: skip
def test_a_scale_beyond_its_ends_stands_in_the_words(
    name: str, typed: str, kept: int | None
) -> None:
    body, said = note_body({**NOTE, name: typed}, "s", "Ann")
    assert body.get(name) == kept
    assert body["session"] == "s"
    assert body["driver"] == "Ann"
    if kept is None:
        assert body["words"] == f"It skips.\n{name} {typed}"
        assert said == f"{name} {typed} could not be read and was left in the words"
    else:
        assert (body["words"], said) == ("It skips.", "")


def test_a_phase_that_is_none_stands_in_the_words() -> None:
    body, said = note_body({**NOTE, "words": "", "phase": "pit", "turn": " 7 "}, "s", "Ann")
    assert (body["words"], body["turn"]) == ("phase pit", "7")
    assert said == "phase pit could not be read and was left in the words"
    body, said = note_body({**NOTE, "phase": "entry"}, "s", "Ann")
    assert (body["phase"], said) == ("entry", "")


def test_a_verdict_that_is_none_stands_in_its_words() -> None:
    asked = {"what": "rebound", "reason": " More grip. ", "verdict": "better", "verdict_words": "a"}
    body = change_body(asked, "s")
    assert (body["what"], body["reason"]) == ("rebound", "More grip.")
    assert (body["verdict"], body["verdict_words"]) == ("better", "a")
    body = change_body({**asked, "verdict": "so so"}, "s")
    assert body.get("verdict", "") == ""
    assert body["verdict_words"] == "so so a"


@pytest.mark.parametrize(
    ("kind", "path", "typed", "kept"),
    [
        ("session", "lap_times", "1:35.2", [95.2]),
        ("session", "lap_times", "", None),
        ("session", "driver", "Ann", "Ann"),
        ("note", "balance", "+2", 2),
        ("note", "words", " so ", "so"),
        ("car", "name", "Coupé", "Coupé"),
        ("event", "date", "2026-05-09", "2026-05-09"),
    ],
)
def test_a_decision_typed_by_hand(kind: str, path: str, typed: str, kept: object) -> None:
    bodies = {"note": {"session": "s"}, "car": {"name": "A"},
              "event": {"venue": "V", "date": "2026-05-08"}}  # fmt: skip
    assert value_typed(kind, path, typed, bodies.get(kind, {}), SI) == kept


@pytest.mark.parametrize(
    ("kind", "path", "said"),
    [
        ("car", "", "keep it or take it off"),
        ("session", "odd.thing", "cannot be typed here"),
        ("sheet", "rows", "rows of a sheet cannot be typed here"),
    ],
)
def test_what_cannot_be_typed_as_a_decision(kind: str, path: str, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        value_typed(kind, path, "x", {}, SI)


def test_a_pressure_typed_as_a_decision_is_in_the_crews_unit() -> None:
    kept = value_typed("session", "FL.cold_pressure", "20", {}, PSI)
    assert Reading.checked(kept).si == pytest.approx(20 * 6894.757, rel=1e-6)  # its definition


# ── two sides of an axle ────────────────────────────────────────────────────────────────────────


HARD = Adjuster(acts_on="bump_bleed", clicks=20, counted_from="hard")
SOFT = HARD.model_copy(update={"counted_from": "soft"})


@pytest.mark.parametrize(
    ("left", "right", "said"),
    [
        ((8.0, HARD), (8.0, HARD), ""),
        ((8.0, HARD), (9.0, HARD), "FL 8, FR 9 from hard: uneven by 1 click"),
        ((8.0, SOFT), (5.0, SOFT), "FL 8, FR 5 from soft: uneven by 3 clicks"),
        ((8.0, HARD), (12.0, SOFT), ""),
        ((8.0, HARD), (10.0, SOFT), "FL 8, FR 10 from hard: uneven by 2 clicks"),
        ((8.0, SOFT), (10.0, HARD), "FL 12, FR 10 from hard: uneven by 2 clicks"),
        ((8.0, HARD), (9.0, HARD.model_copy(update={"clicks": 16})), ""),
        ((0.3, HARD), (0.1 + 0.2, HARD), ""),
        ((None, HARD), (9.0, HARD), ""),
        ((8.0, HARD), (None, HARD), ""),
        ((8.0, None), (9.0, HARD), ""),
        ((8.0, HARD), (9.0, None), ""),
    ],
)
def test_two_sides_of_an_axle(
    left: tuple[float | None, Adjuster | None], right: tuple[float | None, Adjuster | None],
    said: str,
) -> None:  # fmt: skip
    assert uneven(("FL", *left), ("FR", *right)) == said


def test_files_of_a_note_are_told_by_name_and_hash() -> None:
    """Where two laptops each put a photo to one note: which is which."""
    files = [{"name": f"IMG_{n}.jpg", "sha256": f"{n}" * 64, "size": 9} for n in (1, 2)]
    told = describe_value("note", "files", files, SI)
    assert told == "IMG_1.jpg (11111111), IMG_2.jpg (22222222)"
    assert describe_value("note", "files", [3, {"name": "x"}], SI) == "2 of them"
