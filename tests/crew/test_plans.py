"""A plan begun from a run, its cells stepped within what can be set, taken as the next run."""

from __future__ import annotations

import json
from collections.abc import Iterator
from io import StringIO
from pathlib import Path
from shutil import copy

import pytest

from trackside.analysis.shed import Shed
from trackside.crew.plans import KnownPlan, Plans, past_end, stepped, typed
from trackside.crew.verdicts import Verdicts
from trackside.errors import BadInput, UnknownRecord
from trackside.logbook import Logbook, patch
from trackside.logbook.exchange import export_json, import_json
from trackside.preferences import Preferences
from trackside.records import Adjuster, Plan, Reading, Session

METRIC = Preferences()


@pytest.fixture
def logbook(samples_log: Path, tmp_path: Path) -> Iterator[Logbook]:
    path = copy(samples_log, tmp_path / "own.trackside")
    with Logbook.open(path, author="Mara", device="d") as logbook:
        yield logbook


def begun(logbook: Logbook, name: str = "", **cells: Reading | str) -> KnownPlan:
    """A plan from the newest run."""
    plans = Plans(logbook)
    named = {path.replace("__", "."): value for path, value in cells.items()}
    write = plans.begun(logbook.session("last"), name, named)
    logbook.write(write)
    return plans.named(write.entity)


def clicks(count: float) -> Reading:
    return Reading.of_si(count, "clicks")


def at(logbook: Logbook) -> tuple[Session, Shed]:
    return logbook.session_record(logbook.session("last")), Shed.of(logbook)


def test_a_plan_holds_what_differs_and_nothing_else(logbook: Logbook) -> None:
    run, _ = at(logbook)
    now = run.value("FL.rebound_bleed")
    assert isinstance(now, Reading)
    plan = begun(logbook, FL__rebound_bleed=clicks(4), FR__rebound_bleed=clicks(3))
    assert now.si != 4
    body = logbook.state(plan.entity) or {}
    assert set(body) == {"session", "name", "FL", "FR"}
    assert set(body["FL"]) == {"rebound_bleed"}
    plans = Plans(logbook)
    logbook.write(plans.with_cell(plan, "FL.rebound_bleed", now))  # as in the run: it is let go
    assert set(plans.named(plan.entity).record.cells) == {"FR.rebound_bleed"}
    assert plan.record.applied_to(run).si("FL.rebound_bleed") == 4
    assert plan.record.applied_to(run).value("FL.camber") == run.value("FL.camber")
    assert logbook.session_record(logbook.session("last")) == run


def test_undo_history_and_export_know_a_plan(logbook: Logbook, tmp_path: Path) -> None:
    plan = begun(logbook, FL__rebound_bleed=clicks(4))
    plans = Plans(logbook)
    logbook.write(plans.with_cell(plan, "FL.rebound_bleed", clicks(5)))
    assert len(logbook.history(plan.entity, "FL.rebound_bleed")) == 2
    logbook.undo()
    assert plans.named("a").record.cells["FL.rebound_bleed"] == clicks(4)
    written = StringIO()
    export_json(logbook, written)
    with Logbook.open(tmp_path / "other.trackside", author="Ole", device="e") as other:
        import_json(other, json.loads(written.getvalue()))
        assert Plans(other).all() == plans.all()
    assert not logbook.verify().problems


def test_names_are_the_next_free_letter(logbook: Logbook) -> None:
    assert [begun(logbook).record.name, begun(logbook).record.name] == ["A", "B"]
    assert begun(logbook, "soft rear").record.name == "soft rear"
    with pytest.raises(UnknownRecord, match="no plan “C”"):
        Plans(logbook).named("C")


def test_a_step_past_an_end_says_by_how_much(logbook: Logbook) -> None:
    run, shed = at(logbook)
    path = "FL.rebound_bleed"
    run = run.with_value(path, clicks(1))
    assert isinstance(after := stepped(run, path, 1, shed, METRIC), Reading)
    assert after.si == 0
    with pytest.raises(BadInput, match="FL rebound: 2 clicks past full hard"):
        stepped(run, path, 3, shed, METRIC)
    with pytest.raises(BadInput, match="FL rebound: 1 click past full soft"):
        stepped(run, path, -20, shed, METRIC)
    with pytest.raises(BadInput, match="79 clicks past full soft"):
        typed(run, path, "99", shed, METRIC)


@pytest.mark.parametrize(("position", "told"), [
    (-2, "2 clicks past full {near}"), (0, ""), (20, ""), (20.5, "0.5 clicks past full {far}"),
])  # fmt: skip
def test_past_an_end_is_the_same_from_either_end(position: float, told: str) -> None:
    for near, far in (("hard", "soft"), ("soft", "hard")):
        knob = Adjuster.checked({"acts_on": "bump_bleed", "clicks": 20, "counted_from": near})
        assert past_end(position, knob) == told.format(near=near, far=far)


@pytest.mark.parametrize(("path", "value", "steps", "after"), [
    ("FL.spring_rate", "90 N/mm", 2, "100.0"), ("FL.packers", "3 mm", -1, "2.0"),
    ("FL.cold_pressure", "1.40 bar", -2, "1.30"), ("FL.gas_pressure", "12 bar", 1, "12.50"),
    ("items.Front bar", "hole 3 of 5", 1, "hole 4 of 5"), ("items.Wing", "7,5°", -5, "7.0°"),
    ("items.Front bar", "28 mm, hole 2 of 4", 2, "28 mm, hole 4 of 4"),
])  # fmt: skip
def test_other_cells_step_too(path: str, value: str, steps: int, after: str) -> None:
    run = Session().with_value(path, typed(Session(), path, value, None, METRIC))
    found = stepped(run, path, steps, None, METRIC)
    assert (found.typed if isinstance(found, Reading) else found) == after


@pytest.mark.parametrize(("path", "value", "steps", "told"), [
    ("FL.packers", "1 mm", -3, "2 mm below 0.0 mm"), ("FL.packers", "", 1, "is not known"),
    ("FL.cold_pressure", "4.45 bar", 2, "0.05 bar above 4.50 bar"),
    ("items.Wing", "high", 1, "no number to step"),
    ("items.Front bar", "28 mm, hole 3 of 4", 3, "Front bar: 2 holes past the last"),
    ("items.Front bar", "hole 1", -1, "Front bar: 1 hole past the first"),
    ("FL.damper", "X", 1, "cannot be planned"),
    ("FL.rebound_bleed", "4", 1, "no such adjuster on record"),
    ("FL.bump_stop", "red", 1, "no bump stop on record"),
])  # fmt: skip
def test_a_step_that_cannot_be_is_refused(path: str, value: str, steps: int, told: str) -> None:
    run = Session()
    if path != "FL.damper" and value:
        run = run.with_value(path, typed(run, path, value, None, METRIC))
    with pytest.raises(BadInput, match=told):
        stepped(run, path, steps, None, METRIC)


def test_a_taken_plan_is_a_planned_run_whose_verdict_waits(logbook: Logbook) -> None:
    run, _ = at(logbook)
    plan = begun(logbook, FL__rebound_bleed=clicks(4), **{"items__Front bar": "2"})
    plans = Plans(logbook)
    with pytest.raises(BadInput, match="for a reason"):
        plans.taken(plan, " ")
    made = plans.taken(plan, "calmer")
    logbook.write(*made.writes)
    new = logbook.session_record(made.entity)
    assert (new.status, new.based_on, new.ran) == ("planned", plan.record.session, False)
    assert (new.si("FL.rebound_bleed"), new.items["Front bar"]) == (4, "2")
    assert new.value("RR.rebound_bleed") == run.value("RR.rebound_bleed")
    assert logbook.changes(made.entity)[0][1]["what"] == "plan A: FL rebound, Front bar"
    assert plans.named("A").record.taken_as == made.entity
    with pytest.raises(BadInput, match="was taken"):
        plans.taken(plans.named("A"), "again")
    with pytest.raises(BadInput, match="was taken"):
        plans.with_cell(plan, "FL.rebound_bleed", clicks(6))
    logbook.write(patch("session", made.entity, {"status": "done"}))
    line = logbook.session_line(made.entity)
    assert any(said.waits for said in Verdicts(logbook, None)._of("change", line))  # type: ignore[arg-type]
    logbook.write(patch("session", made.entity, {"status": "planned"}))
    logbook.undo(steps=3)  # both words on the run's state, then the run and its reason at once
    assert logbook.state(made.entity) is None
    assert plans.named("A").is_open


def test_what_a_gauge_says_is_wanted_and_no_reading_of_the_run(logbook: Logbook) -> None:
    """A charge and a tyre pressure of a plan stood on the run that it became as if they had been
    read."""
    gas, cold = (Reading.of_si(bar * 1e5, "pressure", "bar") for bar in (13.0, 1.65))
    plan = begun(logbook, FL__rebound_bleed=clicks(4), FL__gas_pressure=gas, FR__cold_pressure=cold)
    plans = Plans(logbook)
    made = plans.taken(plan, "calmer")
    logbook.write(*made.writes)
    new = logbook.session_record(made.entity)
    assert new.si("FL.rebound_bleed") == 4
    assert new.value("FL.gas_pressure") is None
    assert new.value("FR.cold_pressure") is None
    told = logbook.changes(made.entity)[0][1]["what"]
    assert told == "plan A: FL rebound, FL gas 13.00 bar, FR cold 1.65 bar"


def test_a_plan_of_an_older_day_becomes_a_run_of_today(logbook: Logbook) -> None:
    lines = logbook.session_lines(car=at(logbook)[0].car)
    newest, old = lines[0], next(line for line in lines if line.event != lines[0].event)
    plans = Plans(logbook)
    write = plans.begun(old.entity, "", {"FL.rebound_bleed": clicks(7)})
    logbook.write(write)
    made = plans.taken(plans.named(write.entity), "as then")
    logbook.write(*made.writes)
    line, new = logbook.session_line(made.entity), logbook.session_record(made.entity)
    assert (line.event, line.session) == (newest.event, newest.session)
    then = logbook.session_record(old.entity)
    assert new.si("FL.rebound_bleed") == 7
    assert new.value("RL.spring_rate") == then.value("RL.spring_rate")


def test_a_plan_whose_run_is_gone_says_so(logbook: Logbook) -> None:
    with pytest.raises(UnknownRecord, match="no longer in the logbook"):
        Plans(logbook).run_of(Plan(session="01"))
