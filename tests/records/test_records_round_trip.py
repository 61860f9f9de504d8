"""Every record comes back from its body as it was, and a contradiction is named."""

from __future__ import annotations

import json
from typing import Any

import pytest
from pydantic import ValidationError

from tests.running import SHEETS
from trackside.errors import BadRecord
from trackside.records import (
    KINDS,
    Adjuster,
    Build,
    CornerSheet,
    Event,
    Note,
    Reading,
    Session,
    read_value,
)
from trackside.records.fields import (
    CORNER_FIELDS,
    CORNERS,
    SESSION_FIELDS,
    Field,
    field_of,
)

ENTITIES = json.loads((SHEETS.parent / "weekends.json").read_text("utf-8"))["entities"]


@pytest.mark.parametrize("kind", sorted({entity["kind"] for entity in ENTITIES}))
def test_bodies_of_the_samples_come_back_as_they_were(kind: str) -> None:
    for entity in ENTITIES:
        if entity["kind"] == kind:
            record = KINDS[kind].checked(entity["body"])
            assert KINDS[kind].checked(json.loads(json.dumps(record.body()))) == record


def test_what_is_unknown_is_left_out_and_never_zero() -> None:
    session = Session()
    assert "FL" not in session.body() or session.body()["FL"] == {}
    assert session.value("FL.camber") is None
    assert session.si("air_temperature") is None
    zero = session.with_value("FL.camber", Reading.of_text("0", "angle"))
    assert zero.si("FL.camber") == 0.0
    assert zero != session


def test_every_field_can_be_set_and_read_by_its_path() -> None:
    session = Session()
    paths = [*SESSION_FIELDS, *(f"{c}.{name}" for c in CORNERS for name in CORNER_FIELDS)]
    for path in paths:
        field = field_of(path)
        value = read_value(field, "1" if field.quantity else "words")
        assert session.with_value(path, value).value(path) == value
    assert session.with_value("items.Front bar", "3 of 5").value("items.Front bar") == "3 of 5"
    assert session.with_value("items.Front bar", None).items == {}


def test_what_is_emptied_is_the_fields_default_and_can_be_read_again() -> None:
    session = Session(driver="Ann", kind="race", tyre_set="3", words="dry line only")
    for path in ("driver", "kind", "start", "status", "tyre_set", "result", "words"):
        emptied = session.with_value(path, None)
        assert emptied.value(path) == Session().value(path)
        assert Session.checked(emptied.body()) == emptied


@pytest.mark.parametrize(
    ("path", "typed", "kept"),
    [
        ("surface", "w", "wet"), ("surface", "DRY", "dry"), ("surface", "d", "d"),
        ("surface", "drying", "drying"), ("status", "ab", "aborted"), ("kind", "Q", "qualifying"),
        ("driver", "w", "w"),
    ],
)  # fmt: skip
def test_a_choice_is_completed_from_an_unambiguous_start(path: str, typed: str, kept: str) -> None:
    assert read_value(field_of(path), typed) == kept


def test_a_record_cannot_be_changed() -> None:
    with pytest.raises(ValidationError):
        Session().driver = "X"  # type: ignore[misc]


SET = {
    "damper", "build", "bump_bleed", "rebound_bleed", "both_bleed", "bump_preload",
    "rebound_preload", "spring_rate", "perch", "bump_stop", "packers", "ride_height", "camber",
    "toe", "caster", "hot_target",
}  # fmt: skip
"""What the crew sets on a corner: positions, springs, heights, target pressures."""


def full_session() -> Session:
    """A session with a value in every field."""

    def filled(fields: dict[str, Field]) -> dict[str, Any]:
        return {
            name: Reading.of_si(1.0, field.quantity).body() if field.quantity else "x"
            for name, field in fields.items()
        }

    body = filled(SESSION_FIELDS) | {"event": "e", "car": "c", "items": {"Front bar": "hole 2"}}
    body |= {"lap_times": [61.5], "words": "said", "based_on": "b"}
    return Session.checked(body | {corner: filled(CORNER_FIELDS) for corner in CORNERS})


def test_every_value_of_a_session_has_a_field_that_says_what_it_is() -> None:
    assert set(CornerSheet.model_fields) == set(CORNER_FIELDS)
    beside = {"event", "car", "based_on", "opened", "lap_times", "items", "words", *CORNERS}
    assert set(Session.model_fields) == set(SESSION_FIELDS) | beside
    roles = {f.role for fields in (CORNER_FIELDS, SESSION_FIELDS) for f in fields.values()}
    assert roles == {"setting", "target", "reading", "outcome", "own"}


def test_a_setting_is_carried_on_and_a_reading_is_not() -> None:
    before = full_session()
    after = Session.checked(before.carried_over())
    for corner in CORNERS:
        kept = {n for n in CORNER_FIELDS if after.corner(corner).value(n) is not None}
        assert kept == SET
    kept = {n for n in SESSION_FIELDS if after.value(n) not in (None, "")}
    assert kept == {"kind", "driver", "tyre_set", "rear_set", "status"}
    assert (after.status, after.ran) == ("planned", False)
    assert (after.event, after.car, after.items) == ("e", "c", before.items)
    assert (after.lap_times, after.words) == ((), "")


def test_a_field_of_a_newer_program_is_passed_over() -> None:
    assert Event.checked({"venue": "V", "date": "2026-05-09", "of_tomorrow": 1}).venue == "V"


@pytest.mark.parametrize(
    ("kind", "body", "told"),
    [
        ("event", {"venue": "V", "date": "9 May"}, "date"),
        ("event", {"venue": "", "date": "2026-05-09"}, "venue"),
        ("note", {"session": "x", "balance": 7}, "balance"),
        ("note", {"session": "x", "phase": "landing"}, "phase"),
        ("car", {"name": "C", "FL": {"motion_ratio": -1}}, "FL.motion_ratio"),
        ("car", {"name": "C", "FL": {"mass": 0}}, "FL.mass"),
        ("build", {"damper": "D", "version": "A", "rod_diameter": 0.02, "piston_diameter": 0.02},
         "as thick as"),
        ("sheet", {"rows": []}, "rows"),
    ],
)  # fmt: skip
def test_a_contradiction_is_named(kind: str, body: dict, told: str) -> None:
    with pytest.raises(BadRecord) as error:
        KINDS[kind].checked(body)
    assert told in str(error.value)


def test_adjusters_that_contradict_each_other_are_refused() -> None:
    knobs = [Adjuster(acts_on=a, clicks=20, counted_from="hard")
             for a in ("both_bleed", "bump_bleed")]  # type: ignore[arg-type]  # fmt: skip
    with pytest.raises(BadRecord):
        Build.checked({"damper": "D", "version": "A", "adjusters": [k.body() for k in knobs]})
    twice = [knobs[1].body()] * 2
    with pytest.raises(BadRecord):
        Build.checked({"damper": "D", "version": "A", "adjusters": twice})


def test_a_position_outside_the_adjuster_is_told() -> None:
    knob = Adjuster(acts_on="bump_bleed", clicks=20, counted_from="soft", step=0.5)
    assert knob.problem(0) == knob.problem(20) == knob.problem(7.5) == ""
    assert "20 clicks from full soft" in knob.problem(21)
    assert "beyond" in knob.problem(-1)
    assert "steps by 0.5" in knob.problem(7.2)


@pytest.mark.parametrize("words", ["[/", "[b]bold", "🏁" * 10, "x" * 5000, "two\nlines", "تجربة"])
def test_words_stay_as_written(words: str) -> None:
    assert Note.checked({"session": "s", "words": words}).words == words


def test_control_codes_do_not_get_in() -> None:
    note = Note.checked({"session": "s", "words": "a\x1b[31mb\u202ec", "driver": "A\nB"})
    assert note.words == "a[31mbc"
    assert note.driver == "A B"
