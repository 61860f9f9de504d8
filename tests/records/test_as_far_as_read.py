"""A record of another program is read as far as it can be, and what cannot be is named plainly."""

from __future__ import annotations

from typing import Any

import pytest

from tests.unreadable import WRONG, places, spoiled
from trackside.errors import BadRecord
from trackside.records import KINDS, Build, Car, DynoSheet, Event, Note, Session


@pytest.mark.parametrize(
    ("model", "body", "phrases"),
    [
        (Note, {"session": "1", "balance": 5}, ("balance: it is above 3",)),
        (Note, {"session": "1", "balance": "much", "words": 4},
         ("balance: it is no whole number", "words: it is no text")),
        (Session, {"number": "7"}, ("number: it is of a kind that does not belong there",)),
        (Session, {"FL": {"camber": 5, "damper": "D1"}},
         ("FL.camber: it is of a kind that does not belong there",)),
        (Session, {"FL": 5}, ("FL: it is of a kind that does not belong there",)),
        (Session, {"items": {"Rear bar": 2, "Wing": "4"}}, ("items.Rear bar: it is no text",)),
        (Car, {"name": "Car", "wheelbase": -2}, ("wheelbase",)),
        (Session, {"of_a_newer_laptop": [1]}, ()),
    ],
)  # fmt: skip
def test_a_value_that_cannot_be_read_is_left_out_and_named(
    model: Any, body: dict[str, Any], phrases: tuple[str, ...]
) -> None:
    record, named = model.as_far_as_read(body)
    assert isinstance(record, model)
    assert len(named) == len(phrases)
    assert all(told.startswith(phrase) for told, phrase in zip(named, phrases, strict=True))


def test_the_rest_of_the_section_and_of_the_record_stays() -> None:
    body = {"driver": "Ann", "number": "7", "FL": {"camber": 5, "damper": "D1"}}
    session, _ = Session.as_far_as_read(body)
    assert (session.driver, session.FL.damper, session.FL.camber) == ("Ann", "D1", None)
    assert body["FL"]["camber"] == 5, "what was given is not changed"


@pytest.mark.parametrize(
    ("model", "body"),
    [
        (Event, {"venue": 5, "date": "2026-05-09"}),
        (Event, {"date": "2026-05-09"}),
        (Build, {"damper": "D1", "version": "A", "stroke": "long"}),
        (DynoSheet, {"rows": [1, 2]}),
        (Note, 5),
        (Note, []),
    ],
)
def test_what_would_be_another_thing_without_it_is_refused(model: Any, body: Any) -> None:
    with pytest.raises(BadRecord):
        model.as_far_as_read(body)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("value", WRONG, ids=repr)
def test_no_value_at_any_place_ends_in_anything_else(kind: str, value: Any) -> None:
    for place in places(kind):
        try:
            record, named = KINDS[kind].as_far_as_read(spoiled({}, place, value))
        except BadRecord:
            continue
        assert isinstance(record, KINDS[kind])
        assert all("Input should" not in phrase for phrase in named), named
