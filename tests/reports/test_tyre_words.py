"""Tyre sets in words."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.analysis.test_tyre_sets import before, count, run, tyre_set
from trackside.analysis.tyre_sets import SetUse, set_before, set_uses
from trackside.logbook import Logbook
from trackside.preferences import Preferences
from trackside.records import Session, TyreSet
from trackside.reports.tyre_words import (
    age_from_runs,
    before_run_words,
    set_lines,
    set_row,
    used_words,
)

METRIC = Preferences()


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Logbook]:
    """An empty logbook."""
    with Logbook.open(tmp_path / "log", device="d") as logbook:
        yield logbook


def use(**more: Any) -> SetUse:
    """A set of 12 laps in two runs, that came new."""
    given = {"name": "S1", "entity": "", "record": None, "came_with": 0.0, "driven": 12.0}
    axles = {"front": more.get("driven", 12.0), "rear": more.get("driven", 12.0)}
    return SetUse(**{**given, **axles, "runs": 2, "without_laps": 0, "last": "", **more})


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({}, "12 laps, 2 heat cycles"),
        ({"driven": 1.0, "runs": 1}, "1 lap, 1 heat cycle"),
        ({"came_with": 4.0}, "16 laps, 2 heat cycles"),
        ({"came_with": None}, "12+ laps, 2 heat cycles"),
        ({"without_laps": 1}, "12+ laps, 2 heat cycles"),
        ({"came_with": None, "driven": 0.0, "runs": 0}, "? laps, 0 heat cycles"),
        ({"record": TyreSet(name="S1", cycles=3)}, "12 laps, 5 heat cycles"),
    ],
)
def test_what_is_behind_a_set(more: dict[str, Any], words: str) -> None:
    assert used_words(use(**more)) == words


def test_beside_an_empty_cell_it_says_where_it_is_from() -> None:
    assert age_from_runs(use()) == "12 (from the runs)"
    assert age_from_runs(use(without_laps=1)) == "12+ (from the runs)"
    assert age_from_runs(use(came_with=None)) == ""


def test_all_about_a_set_on_record(log: Logbook) -> None:
    more = {"compound": "soft", "size": "200/580-15", "state": "used", "date": "2026-05-01"}
    tyre_set(log, "S1", laps=count(20), words="from the test", **more)
    run(log, "2026-05-08 10:00", "S1", 8)
    run(log, "2026-05-08 14:00", "S1")
    [found] = set_uses(log, "c")
    assert set_row(found, METRIC) == ("S1", "soft", "200/580-15", "used", "28+", "2")
    assert list(set_lines([found], found, METRIC)) == [
        "set S1: 28+ laps, 2 heat cycles",
        "came with 20 laps, then 8 in 2 runs",
        "no laps written down in 1 run: there are more than that",
        "came on 2026-05-01",
        "from the test",
    ]


def test_all_about_a_set_that_only_runs_name(log: Logbook) -> None:
    run(log, "2026-05-08 10:00", "K1", 8)
    [found] = set_uses(log, "c")
    assert set_row(found, METRIC) == ("K1", "–", "–", "–", "8+", "1")
    assert list(set_lines([found], found, METRIC)) == [
        "set K1: 8+ laps, 1 heat cycle",
        "8 laps in 1 run",
        "what it had before is not known: type its laps when it came",
        "not on record: only runs name it",
    ]


def test_before_a_run_the_set_before_is_named_where_it_is_another(log: Logbook) -> None:
    tyre_set(log, "S1", state="new")
    run(log, "2026-05-08 10:00", "S1", 8)
    now = run(log, "2026-05-08 14:00", "S1", tyre_age=count(12))
    found, session = before(log, now), log.session_record(now)
    told = "set S1: 8 laps, 1 heat cycle before this run"
    asked = "12 laps on the set, but the runs come to 8: which is right?"
    assert list(before_run_words(found, session, None)) == [told, asked]
    assert next(iter(before_run_words(found, session, Session(tyre_set="s1")))) == told
    assert next(iter(before_run_words(found, session, Session(tyre_set="S2")))) == (
        f"{told}; the outing before ran set S2"
    )


def test_one_lap_is_one_lap(log: Logbook) -> None:
    tyre_set(log, "S1", laps=count(1))
    [found] = set_uses(log, "c")
    assert list(set_lines([found], found, METRIC)) == [
        "set S1: 1 lap, 0 heat cycles",
        "came with 1 lap, then 0 in 0 runs",
    ]


def test_where_the_axles_ran_other_laps_both_are_said(log: Logbook) -> None:
    tyre_set(log, "K1", state="new")
    tyre_set(log, "K2", state="new")
    run(log, "2026-05-08 10:00", "K1", 8)
    run(log, "2026-05-08 14:00", "K1", 5, rear_set="K2")
    now = run(log, "2026-05-08 16:00", "K1", 5, rear_set="K2")
    session, earlier = log.session_record(now), Session(tyre_set="K1")
    front, rear = before(log, now), set_before(log, now, session, rear=True)
    assert rear is not None
    assert list(before_run_words(front, session, earlier)) == [
        "front set K1: 13 laps (in front 13, at the rear 8), 2 heat cycles before this run"
    ]
    assert list(before_run_words(rear, session, earlier, rear=True)) == [
        "rear set K2: 5 laps, 1 heat cycle before this run; the outing before ran set K1"
    ]
    two, one = set_uses(log, "c")
    assert "on the front axle 18 laps, on the rear axle 8" in list(set_lines([], one, METRIC))
    assert "on the front axle 0 laps, on the rear axle 10" in list(set_lines([], two, METRIC))
