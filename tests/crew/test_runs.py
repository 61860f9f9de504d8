"""The runs of a session, from the crew's verbs: numbered by time, one step of undo each."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from tests.crew.test_workspace import Heard
from trackside.analysis.outings import outings_before
from trackside.analysis.recall import outing_before
from trackside.crew import moments, next_session
from trackside.crew.runs import next_run, runs_of
from trackside.crew.workspace import Workspace
from trackside.errors import BadInput
from trackside.logbook import Logbook, put
from trackside.logbook.twins import TWICE
from trackside.preferences import Preferences
from trackside.records import Session

DAY = "2026-05-09"


@pytest.fixture
def crew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Workspace]:
    """Practice 1 of one car, just begun at 9:00, in a logbook of its own; the next one opened
    begins an hour after."""
    monkeypatch.setattr(moments, "today", lambda: date.fromisoformat(DAY))
    hours = iter(range(9, 24))
    monkeypatch.setattr(
        next_session,
        "opened_now",
        lambda logbook, body: body.update(start=f"{DAY} {next(hours):02}:00"),
    )
    monkeypatch.setattr("trackside.crew.runs.opened_now", next_session.opened_now)
    workspace = Workspace(tmp_path / "log.trackside", Preferences(author="tester"), Heard())
    event = workspace.add("event", {"venue": "Harrow Fen", "date": DAY})
    car = workspace.add("car", {"name": "Coupé", "number": "7"})
    workspace.new_session(event, car, {"driver": "Ann"})
    workspace.keep_text("FL.rebound_bleed", "8")
    workspace.keep_text("FL.hot_pressure", "1.9 bar")
    workspace.flush()
    yield workspace
    workspace.close()


def titles(workspace: Workspace) -> list[str]:
    """Start and title of every run, oldest first."""
    workspace.flush()
    return [f"{line.start[11:]} {line.title}" for line in workspace.logbook.session_lines()[::-1]]


def test_the_next_run_carries_the_set_up_on_and_no_reading(crew: Workspace) -> None:
    first = crew.entity
    crew.next_run()
    assert titles(crew) == ["09:00 practice 1 run 1", "10:00 practice 1 run 2"]
    assert crew.session.si("FL.rebound_bleed") == 8
    assert crew.session.value("FL.hot_pressure") is None
    assert crew.session.based_on == first
    assert crew.session.status == "planned"
    crew.next_run()
    assert titles(crew)[-1] == "11:00 practice 1 run 3"


def test_one_undo_takes_the_next_run_back_and_the_number_of_the_first(crew: Workspace) -> None:
    before = crew.logbook.session_lines()
    crew.next_run()
    crew.logbook.undo()
    assert crew.logbook.session_lines() == before


def test_a_session_after_one_of_several_runs_begins_without_a_run(crew: Workspace) -> None:
    crew.next_run()
    crew.new_session()
    assert titles(crew)[-1] == "11:00 practice 2"
    assert crew.session.run is None


def test_the_outing_before_is_the_run_before(crew: Workspace) -> None:
    first = crew.entity
    crew.next_run()
    assert outing_before(crew.logbook, crew.entity) == first
    crew.keep_text("driver", "Bo")
    crew.flush()
    found = outings_before(crew.logbook, crew.entity)
    assert (found.own, found.car) == ("", first), "Bo has none; the car's is the run before"


def test_a_forgotten_run_goes_in_by_its_time(crew: Workspace) -> None:
    crew.next_run()
    crew.keep_text("FL.rebound_bleed", "5")
    crew.next_run()
    stable = crew.entity
    crew.run_between("9:30")
    assert titles(crew) == [
        "09:00 practice 1 run 1",
        "09:30 practice 1 run 2",
        "10:00 practice 1 run 3",
        "11:00 practice 1 run 4",
    ]
    assert crew.line().title == "practice 1 run 2"
    assert crew.session.si("FL.rebound_bleed") == 8, "as the run before it"
    assert crew.session.value("FL.hot_pressure") is None
    assert crew.logbook.session_line(stable).title == "practice 1 run 4"
    crew.logbook.undo()
    assert len(titles(crew)) == 3


def test_a_run_before_the_first_is_the_first(crew: Workspace) -> None:
    crew.run_between("08.15")
    assert titles(crew) == ["08:15 practice 1 run 1", "09:00 practice 1 run 2"]


def test_a_forgotten_run_has_run_and_goes_in_before_a_start_without_its_day(
    crew: Workspace,
) -> None:
    crew.keep("start", "13:00")  # as an older program wrote it
    crew.next_run()
    crew.run_between("11:05")
    assert crew.session.ran
    assert [title.removeprefix(f"{DAY} ") for title in titles(crew)] == [
        "10:00 practice 1 run 1",
        "11:05 practice 1 run 2",
        " practice 1 run 3",
    ]
    crew.take(crew.logbook.session_lines()[0].entity)
    assert crew.session.value("start") == "13:00"
    crew.run_between("12:00")
    assert crew.line().title == "practice 1 run 3"
    assert crew.line().begun == f"{DAY} 12:00"


@pytest.mark.parametrize("typed", ["", "noon", "25:00", "10:75", "10", "2026-02-30 10:00"])
def test_what_is_no_time_is_refused_and_nothing_is_written(crew: Workspace, typed: str) -> None:
    before = titles(crew)
    with pytest.raises(BadInput, match="10:45"):
        crew.run_between(typed)
    assert titles(crew) == before


def test_a_run_moves_to_another_session_and_both_are_numbered_anew(crew: Workspace) -> None:
    crew.next_run()
    moving = crew.entity
    crew.next_run()
    crew.new_session()
    assert list(crew.sessions_beside()) == ["practice 1"]
    crew.take(moving)
    crew.move_run(crew.sessions_beside()["practice 2"])
    assert titles(crew) == [
        "09:00 practice 1 run 1",
        "10:00 practice 2 run 1",
        "11:00 practice 1 run 2",
        "12:00 practice 2 run 2",
    ]
    assert crew.entity == moving, "a run's code is the same wherever it is"
    crew.logbook.undo()
    assert titles(crew)[1] == "10:00 practice 1 run 2"


def test_a_run_left_alone_has_the_name_of_its_session(crew: Workspace) -> None:
    crew.next_run()
    crew.new_session()
    crew.take(crew.logbook.session_lines()[1].entity)
    crew.move_run(crew.sessions_beside()["practice 2"])
    assert titles(crew)[0] == "09:00 practice 1"


def test_a_run_does_not_move_to_where_it_is_nor_to_another_car(crew: Workspace) -> None:
    crew.next_run()
    here = crew.line()
    with pytest.raises(BadInput, match="practice 1 already"):
        crew.move_run(here)
    with pytest.raises(BadInput, match="of another car"):
        crew.move_run(here._replace(car="other", number="2"))


def test_a_session_that_was_two_is_split(crew: Workspace) -> None:
    crew.next_run()
    crew.next_run()
    split = crew.entity
    crew.next_run()
    crew.take(split)
    crew.split_session()
    assert titles(crew) == [
        "09:00 practice 1 run 1",
        "10:00 practice 1 run 2",
        "11:00 practice 2 run 1",
        "12:00 practice 2 run 2",
    ]
    crew.logbook.undo()
    assert titles(crew)[-1] == "12:00 practice 1 run 4"


def test_the_first_run_cannot_be_split_off(crew: Workspace) -> None:
    with pytest.raises(BadInput, match="first run"):
        crew.split_session()


def test_a_split_session_takes_a_number_that_is_free(crew: Workspace) -> None:
    crew.next_run()
    second = crew.entity
    crew.new_session()
    crew.take(second)
    crew.split_session()
    assert crew.line().title == "practice 3"
    assert titles(crew)[0] == "09:00 practice 1"


def test_sessions_of_a_logbook_of_today_are_sessions_of_one_run(crew: Workspace) -> None:
    crew.keep_text("number", "")
    crew.flush()
    first = crew.entity
    crew.logbook.write(
        put("session", {**crew.session.body(), "start": f"{DAY} 13:00"}, entity=None)
    )
    later = crew.logbook.session_lines()[0]
    assert later.title == "practice"
    assert later.run == ""
    assert [run.entity for run in runs_of(crew.logbook, later)] == [later.entity]
    assert [run.entity for run in runs_of(crew.logbook, crew.line())] == [first]


def test_the_newest_set_up_is_carried_on_where_no_session_is_in_hand_yet(crew: Workspace) -> None:
    """A key may come before the program has put the newest session in hand."""
    body = next_session.next_session(crew.logbook, None, event="elsewhere")
    assert body["FL"]["rebound_bleed"]["typed"] == "8"
    assert "hot_pressure" not in body["FL"]
    assert (body["event"], body["based_on"]) == ("elsewhere", crew.entity)


def test_last_counts_runs(crew: Workspace) -> None:
    first = crew.entity
    crew.next_run()
    assert crew.logbook.session("last") == crew.entity
    assert crew.logbook.session("last-1") == first


def test_runs_meet_on_another_laptop_with_the_same_facts(crew: Workspace) -> None:
    crew.next_run()
    crew.run_between("9:30")
    crew.flush()
    with Logbook.open(":memory:", device="other", author="O") as other:
        other.take(crew.logbook.lines(), via="bundle")
        assert other.session_lines() == crew.logbook.session_lines()


def test_the_same_run_opened_on_two_laptops_is_one_to_settle(crew: Workspace) -> None:
    with Logbook.open(":memory:", device="other", author="O") as other:
        other.take(crew.logbook.lines(), via="bundle")
        first = crew.entity
        theirs = next_run(other, (first, other.session_record(first)))
        other.write(*theirs.writes)
        crew.next_run()
        crew.flush()
        crew.logbook.take(other.lines(), via="bundle")
        [twice] = crew.logbook.open_conflicts()
        assert sorted(twice.twins) == sorted([crew.entity, theirs.entity])
        crew.logbook.settle(twice.entity, {TWICE: "3"})
        assert [line.title[-5:] for line in crew.logbook.session_lines()] == [
            "run 3",
            "run 2",
            "run 1",
        ]


def test_a_run_number_is_of_the_run_alone() -> None:
    session = Session.checked({"run": {"typed": "2", "unit": "", "si": 2.0}})
    assert "run" not in session.carried_over()
