"""Rules of a line each: what waits for a verdict, what was read, a number in another unit."""

from __future__ import annotations

import pytest

from trackside.errors import BadRecord
from trackside.records import (
    Build,
    Change,
    Counter,
    Damper,
    Event,
    Job,
    Reading,
    TyreSet,
    Weighing,
    value_body,
)
from trackside.records.base import Record
from trackside.records.box_part import BoxPart
from trackside.records.fields import CORNER_FIELDS, SESSION_FIELDS
from trackside.records.note import NamedFile


@pytest.mark.parametrize(
    ("said", "waits"),
    [
        ({}, False),
        ({"what": "bar"}, True),
        ({"reason": "loose"}, True),
        ({"what": "bar", "verdict": "better"}, False),
        ({"what": "bar", "verdict_words": "calmer"}, False),
        ({"verdict": "better"}, False),
    ],
)
def test_a_change_waits_for_its_verdict_once_it_says_something(
    said: dict[str, str], waits: bool
) -> None:
    assert Change.checked({"session": "s", **said}).unjudged is waits


def test_readings_and_outcomes_are_read_and_settings_are_not() -> None:
    for fields in (CORNER_FIELDS, SESSION_FIELDS):
        read = {field.role for field in fields.values() if field.is_read}
        assert read == {"reading", "outcome"} & {field.role for field in fields.values()}
    assert CORNER_FIELDS["hot_pressure"].is_read
    assert not CORNER_FIELDS["camber"].is_read


def test_a_number_in_another_unit_and_none_where_it_cannot_be_read() -> None:
    bar = Reading.of_si(1.9e5, "pressure")
    assert bar.number("pressure", "bar") == pytest.approx(1.9)
    assert bar.number("pressure", "kPa") == pytest.approx(190)
    assert Reading(typed="some").number("pressure", "bar") is None


@pytest.mark.parametrize(
    ("changed", "taken"),
    [
        ({}, True),
        ({"name": "a"}, True),
        ({"name": "a" * 200}, True),
        ({"name": ""}, False),
        ({"name": "a" * 201}, False),
        ({"size": 1}, True),
        ({"size": 0}, False),
        ({"sha256": "0" * 63}, False),
        ({"sha256": "0" * 65}, False),
        ({"sha256": "G" * 64}, False),
    ],
)
def test_a_file_of_a_note_has_a_name_a_size_and_a_whole_hash(
    changed: dict[str, object], taken: bool
) -> None:
    body = {"name": "tyre.jpg", "sha256": "0" * 64, "size": 12, **changed}
    if taken:
        assert NamedFile.checked(body).body() == body
    else:
        with pytest.raises(BadRecord):
            NamedFile.checked(body)


@pytest.mark.parametrize("name", ["count", "slot_count"])
def test_a_part_of_the_box_may_be_none_and_not_less(name: str) -> None:
    assert getattr(BoxPart.checked({"sort": "disc", name: 0}), name) == 0
    with pytest.raises(BadRecord):
        BoxPart.checked({"sort": "disc", name: -1})


def test_of_a_part_that_nobody_counted_there_is_none() -> None:
    part = BoxPart.checked({"sort": "disc"})
    assert (part.count, part.slot_count) == (0, None)


def test_a_value_is_kept_as_its_body_and_words_as_they_are() -> None:
    bar = Reading.of_si(1.9e5, "pressure")
    assert value_body(bar) == bar.body()
    assert (value_body("TW-1"), value_body(None)) == ("TW-1", None)


def test_a_scale_is_named_by_its_corner() -> None:
    body = {"FL": {"mass": 293}, "RR": {"mass": 300}}
    found = Weighing.checked({"car": "c", **body})
    assert [found.mass(corner) for corner in ("FL", "FR", "RL", "RR")] == [293, None, None, 300]


@pytest.mark.parametrize(
    ("record", "field", "body"),
    [
        (Counter, "part", {}),
        (TyreSet, "name", {}),
        (Job, "words", {}),
        (Event, "venue", {"date": "2026-05-09"}),
        (Damper, "serial", {}),
        (Build, "version", {"damper": "D"}),
    ],
)
def test_one_letter_is_a_name_and_none_is_not(
    record: type[Record], field: str, body: dict[str, str]
) -> None:
    assert getattr(record.checked({**body, field: "x"}), field) == "x"
    with pytest.raises(BadRecord):
        record.checked({**body, field: ""})
