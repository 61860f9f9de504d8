"""Best lap and number of laps: as typed, else of the lap times. Tolerances: our own, no source."""

from __future__ import annotations

import pytest

from trackside.analysis.lap_figures import (
    LapFigure,
    best_contradicted,
    best_lap,
    count_contradicted,
    lap_count,
)
from trackside.analysis.plausible_ranges import mark_at
from trackside.analysis.shed import Shed
from trackside.preferences import Preferences
from trackside.records import Reading, Session
from trackside.records.laps import read_laps
from trackside.reports.lap_words import laps_said
from trackside.reports.mark_words import mark_words

NO_SHED = Shed((), (), (), {})


def session(laps: str, best: str = "", count: str = "") -> Session:
    return Session(
        lap_times=read_laps(laps),
        best_lap=Reading.of_text(best, "lap time"),
        laps=Reading.of_text(count, "count"),
    )


def test_nobody_typed_them() -> None:
    found = session("1:50 out 1:35.2 1:34.9 1:20 in")
    assert best_lap(found) == LapFigure(94.9, from_laps=True)
    assert lap_count(found) == LapFigure(2, from_laps=True)
    assert (found.best_lap, found.laps) == (None, None)
    assert best_lap(session("out in")) is lap_count(session("")) is None


def test_what_was_typed_stands() -> None:
    found = session("1:35.2 1:34.9", "1:35.2", "7")
    assert best_lap(found) == LapFigure(95.2, from_laps=False)
    assert lap_count(found) == LapFigure(7, from_laps=False)


@pytest.mark.parametrize(
    ("typed", "other"),
    [("1:34.987", None), ("1:34.9", None), ("1:35", None), ("94,98", None), ("1:34.9 s", None),
     ("1:34.988", 94.987), ("1:34.8", 94.987), ("1:36", 94.987), ("quick", None), ("", None)],
)  # fmt: skip
def test_another_best_lap_than_the_best_is_flagged(typed: str, other: float | None) -> None:
    found = session("1:35.2 1:34.987", typed)
    assert best_contradicted(found) == other
    mark = mark_at("best_lap", found, NO_SHED)
    if other:
        assert mark is not None
        words = f"{typed} is not the best of the lap times, 1:34.987: which is right?"
        assert mark_words(mark, Preferences()) == words
    else:
        assert mark is None or mark.kind == "unreadable"


@pytest.mark.parametrize(("typed", "other"), [("2", None), ("6", None), ("1", 2), ("7", 2)])
def test_more_lap_times_than_laps_are_flagged(typed: str, other: int | None) -> None:
    """Two timed laps, an out-lap and an in-lap; two more that nobody timed may be counted."""
    found = session("1:50 out 1:35 1:36 1:50 in", count=typed)
    assert count_contradicted(found) == other
    mark = mark_at("laps", found, NO_SHED)
    assert (mark is not None) == (other is not None)
    if mark:
        words = f"{typed} laps, but the lap times have 2 timed: which is right?"
        assert mark_words(mark, Preferences()) == words


def test_a_lap_that_cannot_be_read_may_be_the_best() -> None:
    assert best_contradicted(session("1:35.2 1:34x", "1:34.9")) is None
    assert mark_at("lap_times", session("1:35.2 1:34x"), NO_SHED) is not None
    assert mark_at("lap_times", session("out 1:35.2 1:50 in"), NO_SHED) is None
    assert mark_at("lap_times", session("1:35.2 0:05 in"), NO_SHED) is not None


def test_the_debrief_says_where_they_come_from() -> None:
    def told(before: Session | None, now: Session) -> list[str]:
        return [said.text for said in laps_said(before, now)]

    now, typed = session("1:35.2 1:34.9"), session("1:35.2", "1:35.3", "1")
    assert told(None, now) == [
        "best lap 1:34.900 (from the lap times) · 2 timed laps (from the lap times)"
    ]
    assert told(now, typed) == [
        "best lap 1:35.300, the outing before 1:34.900 (from the lap times) · 1 lap",
        "best lap 1:35.3 is not the best of the lap times, 1:35.200: which is right?",
    ]
    assert told(now, session("")) == []
