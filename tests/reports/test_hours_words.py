"""Running hours in words."""

from __future__ import annotations

from typing import Any

import pytest

from trackside.analysis.hours import HoursRun
from trackside.preferences import Preferences
from trackside.records import Counter
from trackside.reports.hours_words import hours_lines, hours_row, hours_words

METRIC = Preferences()


def unit(driven: float = 2.0, short: int = 0, until: str = "", **more: Any) -> HoursRun:
    """An engine that went in with 10 h and has had so many hours in three runs since."""
    figures = {name: more.pop(name) * 3600 for name in ("start", "limit") if name in more}
    body = {"part": "engine", "serial": "E12", "since": "2026-05-08", **figures, **more}
    return HoursRun("u", Counter.checked(body), until, driven * 3600, 3, short)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"start": 10, "limit": 30}, "engine E12: 12.0 h of 30.0 h, 18.0 h left"),
        ({"start": 10, "limit": 12}, "engine E12: 12.0 h of 12.0 h, 0.0 h left"),
        ({"start": 10, "limit": 11}, "engine E12: 12.0 h of 11.0 h, 1.0 h beyond the shop's limit"),
        ({"start": 10}, "engine E12: 12.0 h"),
        ({"start": 10, "short": 1}, "engine E12: 12.0 h+"),
        ({"limit": 30}, "engine E12: 2.0 h+ of 30.0 h"),
        ({"start": 0, "serial": None}, "engine: 2.0 h"),
    ],
)
def test_what_it_has_and_what_is_left(given: dict[str, Any], words: str) -> None:
    assert hours_words(unit(**given), METRIC) == words


def test_all_about_a_unit() -> None:
    one = unit(start=10, limit=30, short=1, until="2026-06-01", words="fresh bearings")
    assert hours_row(one, METRIC) == (
        "engine", "E12", "2026-05-08", "12.0 h+", "30.0 h", "out of the car",
    )  # fmt: skip
    assert list(hours_lines([one], one, METRIC)) == [
        "engine E12: 12.0 h+ of 30.0 h, 18.0 h left",
        "went in with 10.0 h, then 2.0 h in 3 runs since 2026-05-08",
        "no whole time for 1 run: there is more than that",
        "another went in on 2026-06-01",
        "fresh bearings",
    ]


def test_what_it_had_may_not_be_known() -> None:
    one = unit()
    assert hours_row(one, METRIC)[3:] == ("2.0 h+", "–", "–")
    assert list(hours_lines([one], one, METRIC))[1] == (
        "2.0 h in 3 runs since 2026-05-08; what it had when it went in is not known"
    )


def test_where_nobody_knows_when_it_went_in_that_is_said() -> None:
    one = unit(start=10, since="")
    told = "went in with 10.0 h, then 2.0 h in 3 runs, all on record: when it went in is not known"
    assert told in list(hours_lines([one], one, METRIC))
