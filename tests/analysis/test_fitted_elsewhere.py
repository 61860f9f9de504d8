"""One damper on two cars in one session: a caution, for it is in one place. The program's own rule,
no source."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from trackside.analysis.fitted_elsewhere import fitted_elsewhere
from trackside.analysis.shed import Shed
from trackside.logbook import Logbook, put
from trackside.preferences import Preferences
from trackside.records import Reading
from trackside.reports.mark_words import problem_at, problems

DAY = "2026-05-09"


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    with Logbook.open(tmp_path / "log.trackside", author="t", device="t") as logbook:
        yield logbook


def wrote(book: Logbook, kind: str, body: dict[str, Any]) -> str:
    write = put(kind, body)
    book.write(write)
    return write.entity


def count(number: int) -> dict[str, Any]:
    return Reading.of_si(float(number), "count").body()


def two_cars(book: Logbook) -> tuple[str, str, str]:
    event = wrote(book, "event", {"venue": "Harrow Fen", "date": DAY})
    cars = (wrote(book, "car", {"name": "Coupé", "number": number}) for number in ("7", "8"))
    wrote(book, "damper", {"serial": "D1"})
    return event, *cars  # type: ignore[return-value]


def session(event: str, car: str, start: str = "09:00", **more: Any) -> dict[str, Any]:
    begun = {"start": f"{DAY} {start}"} if start else {}
    return {"event": event, "car": car, "kind": "practice", "number": count(1)} | begun | more


def told(book: Logbook, entity: str, path: str) -> str:
    session, shed = book.session_record(entity), Shed.of(book)
    return problem_at(path, session, shed, Preferences(), fitted_elsewhere(book, entity))


def test_a_damper_on_two_cars_in_one_session_is_marked_on_both(book: Logbook) -> None:
    event, first, second = two_cars(book)
    one = wrote(book, "session", session(event, first, FL={"damper": "D1"}))
    other = wrote(book, "session", session(event, second, "09:10", RR={"damper": "d1"}))
    assert told(book, one, "FL.damper") == "D1 is on Coupé 8 too, in practice 1: which car has it?"
    assert (
        told(book, other, "RR.damper") == "d1 is on Coupé 7 too, in practice 1: which car has it?"
    )
    found = problems(
        book.session_record(one), Shed.of(book), Preferences(), fitted_elsewhere(book, one)
    )
    assert set(found) == {"FL.damper"}


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"number": count(2), "start": f"{DAY} 11:00"}, "another session"),
        ({"start": "2026-05-10 09:00"}, "another day"),
        ({"FL": {"damper": "D2"}}, "another damper"),
    ],
)
def test_a_damper_that_went_to_the_other_car_later_is_not(
    book: Logbook, more: dict[str, Any], why: str
) -> None:
    event, first, second = two_cars(book)
    one = wrote(book, "session", session(event, first, FL={"damper": "D1"}))
    wrote(book, "session", session(event, second, FL={"damper": "D1"}) | more)
    assert told(book, one, "FL.damper") == "", why


def test_sessions_that_are_on_at_one_time_count_as_one(book: Logbook) -> None:
    event, first, second = two_cars(book)
    length = {"duration": Reading.of_text("40", "duration", "min").body()}
    one = wrote(book, "session", session(event, first, FL={"damper": "D1"}, **length))
    wrote(book, "session", session(event, second, "09:20", kind="test", FL={"damper": "D1"}))
    assert "in test 1" in told(book, one, "FL.damper")


def test_of_several_runs_the_last_begun_by_then_counts(book: Logbook) -> None:
    event, first, second = two_cars(book)
    wrote(book, "session", session(event, first, "09:00", run=count(1), FL={"damper": "D1"}))
    wrote(book, "session", session(event, first, "09:20", run=count(2), FL={"damper": "D2"}))
    other = wrote(book, "session", session(event, second, "09:30", FL={"damper": "D1"}))
    assert told(book, other, "FL.damper") == ""


def test_a_damper_that_is_not_in_the_shed_is_marked_all_the_same(book: Logbook) -> None:
    event, first, second = two_cars(book)
    one = wrote(book, "session", session(event, first, FL={"damper": "X9"}))
    wrote(book, "session", session(event, second, FL={"damper": "X9"}))
    assert "which car has it?" in told(book, one, "FL.damper")


def test_a_session_of_no_event_or_car_has_no_other(book: Logbook) -> None:
    _, first, second = two_cars(book)
    one = wrote(book, "session", session("", first, FL={"damper": "D1"}))
    two = wrote(book, "session", session("", second, FL={"damper": "D1"}))
    assert not fitted_elsewhere(book, one)
    assert not fitted_elsewhere(book, two)
