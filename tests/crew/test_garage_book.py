"""What is written in the garage book: when, under which name, and what may not be called so."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from trackside.crew.forms import entries
from trackside.crew.garage_book import BEGINS_AT, filled, may_be_called, new_entry
from trackside.errors import BadInput
from trackside.logbook import Logbook, Write, put
from trackside.preferences import Preferences

NOW = datetime(2026, 5, 9, 8, 5, 59)


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with Logbook.open(tmp_path / "log.trackside", author="ann", device="here") as logbook:
        yield logbook


def tyre_set(logbook: Logbook, name: Any, car: str = "c") -> Write:
    write = put("tyre_set", {"car": car, "name": name})
    logbook.write(write)
    return write


def ran(logbook: Logbook, name: str, car: str = "c") -> None:
    logbook.write(put("session", {"car": car, "start": "2026-05-09 10:00", "tyre_set": name}))


@pytest.mark.parametrize(
    ("kind", "of", "body"),
    [
        ("weighing", "car", {"at": "2026-05-09 08:05"}),
        ("tyre_set", "car", {"date": "2026-05-09", "name": "new set"}),
        ("weather", "event", {"at": "2026-05-09 08:05"}),
        ("counter", "car", {"since": "2026-05-09", "part": "new part"}),
    ],
)
def test_an_entry_says_when_it_was_read_and_what_it_is_called_until_it_is_named(
    kind: str, of: str, body: dict[str, str]
) -> None:
    new = new_entry(kind, of, "e", NOW)
    assert (new.kind, new.body) == (kind, {of: "e", **body})
    named = {k: v for k, v in body.items() if k in ("name", "part")}
    assert new_entry(kind, of, "e", None).body == {of: "e", **named}, "the clock is not trusted"
    assert BEGINS_AT[kind] in {entry.path for entry in entries(kind).values()}


def test_what_is_given_stands_in_the_place_of_what_is_proposed() -> None:
    new = new_entry("tyre_set", "car", "c", NOW, name="S4", date=None)
    assert new.body == {"car": "c", "name": "S4", "date": None}


def texts(kind: str, **typed: str) -> dict[Any, str]:
    return {entries(kind)[f"{kind}.{place}"]: text for place, text in typed.items()}


def test_an_entry_is_filled_with_what_was_typed(logbook: Logbook) -> None:
    new = new_entry("tyre_set", "car", "c", NOW)
    full = filled(logbook, new, texts("tyre_set", name="S4", laps="12"), Preferences())
    assert (full.entity, full.body["name"], full.body["date"]) == (new.entity, "S4", "2026-05-09")
    assert full.body["laps"] == 12
    read = new_entry("weather", "event", "e", NOW)
    full = filled(logbook, read, texts("weather", wind="light"), Preferences())
    assert full.body["wind"] == "light"


@pytest.mark.parametrize(
    ("kind", "place", "other"), [("tyre_set", "name", "compound"), ("counter", "part", "serial")]
)
def test_an_entry_that_nobody_named_is_refused(
    logbook: Logbook, kind: str, place: str, other: str
) -> None:
    new = new_entry(kind, "car", "c", NOW)
    with pytest.raises(BadInput) as refused:
        filled(logbook, new, texts(kind, **{other: "soft"}), Preferences())
    assert refused.value.cause == f"it has no name yet: {place}"
    assert refused.value.remedy == f"say {place}=…"
    assert filled(logbook, new, texts(kind, **{place: "S4"}), Preferences()).body[place] == "S4"


def test_a_set_that_is_entered_is_not_called_as_another_of_the_car(logbook: Logbook) -> None:
    tyre_set(logbook, "S1")
    new = new_entry("tyre_set", "car", "c", NOW)
    with pytest.raises(BadInput, match="this car has a set s1 already"):
        filled(logbook, new, texts("tyre_set", name="s1"), Preferences())
    part = new_entry("counter", "car", "c", NOW)
    assert filled(logbook, part, texts("counter", part="S1"), Preferences()).body["part"] == "S1"


def test_a_set_may_be_called_as_no_other_of_the_car_is(logbook: Logbook) -> None:
    one = tyre_set(logbook, "S1")
    tyre_set(logbook, "S2")
    tyre_set(logbook, "S3", car="other")
    tyre_set(logbook, {"typed": "S5"})
    for name in ("S3", "S1", " s1 ", "S4"):
        may_be_called(logbook, one.entity, one.body, name)
    for name, said in (("S2", "S2"), ("  s2", "s2"), ("S5", "S5")):
        with pytest.raises(BadInput) as refused:
            may_be_called(logbook, one.entity, one.body, name)
        assert refused.value.cause == f"this car has a set {said} already"
        assert refused.value.remedy == "give another name"


def test_a_name_that_runs_say_stands(logbook: Logbook) -> None:
    one = tyre_set(logbook, " S1")
    ran(logbook, "S2")
    ran(logbook, "S1", car="other")
    may_be_called(logbook, one.entity, one.body, "S4")
    for count, told in ((1, "a run names S1"), (2, "2 runs name S1")):
        ran(logbook, "s1 ")
        with pytest.raises(BadInput) as refused:
            may_be_called(logbook, one.entity, one.body, "S4")
        assert refused.value.cause == told, count
        assert refused.value.remedy == "enter the other one as a new set"
        may_be_called(logbook, one.entity, one.body, "s1")
