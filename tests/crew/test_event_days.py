"""An event's last day is not before its first: refused in the form, marked where it came in."""

from __future__ import annotations

import pytest

from trackside.crew.cell_text import change
from trackside.crew.forms import entries
from trackside.errors import BadInput
from trackside.preferences import Preferences
from trackside.reports.mark_words import figure_problem

EVENT = {"venue": "Harrow Fen", "date": "2026-05-09"}
LAST, FIRST = (entries("event")[f"event.{name}"] for name in ("last_day", "date"))


@pytest.mark.parametrize("day", ["2026-05-09", "2026-05-10", ""])
def test_a_last_day_on_or_behind_the_first_is_kept(day: str) -> None:
    assert change("event", EVENT, {LAST: day}, Preferences()) == {"last_day": day or None}


def test_a_last_day_before_the_first_is_refused_with_what_helps() -> None:
    told = (
        "the last day 2026-05-08 is before the first, 2026-05-09: type a later last day, or empty"
    )
    with pytest.raises(BadInput, match=told):
        change("event", EVENT, {LAST: "2026-05-08"}, Preferences())
    with pytest.raises(BadInput, match="the last day 2026-05-10 is before the first, 2026-05-11"):
        change("event", {**EVENT, "last_day": "2026-05-10"}, {FIRST: "2026-05-11"}, Preferences())


def test_another_value_of_such_an_event_can_still_be_changed() -> None:
    title = entries("event")["event.title"]
    body = {**EVENT, "last_day": "2026-05-01"}
    assert change("event", body, {title: "Round 2"}, Preferences()) == {"title": "Round 2"}


def test_what_came_in_so_is_marked() -> None:
    assert figure_problem(LAST, {**EVENT, "last_day": "2026-05-08"}, Preferences()) == (
        "the last day is before the first: a typo in one of them?"
    )
    for day in ("2026-05-09", "2026-06-01", 7, None):
        assert figure_problem(LAST, {**EVENT, "last_day": day}, Preferences()) == ""
    assert figure_problem(FIRST, {**EVENT, "last_day": "2026-05-08"}, Preferences()) == ""
