"""A strip-down as a job: its steps, what ticking them writes, and what a shop changes there."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from trackside.crew.strip_downs import (
    BENCHED,
    CHARGED,
    FITTED,
    PARTS_IN,
    STEPS,
    StripDownJob,
    StripDowns,
    charge_at_20,
)
from trackside.errors import BadInput, UnknownRecord
from trackside.logbook import Logbook, drop, patch, put
from trackside.logbook.dampers import builds_of, rename, strip_down
from trackside.records import Build, DynoRow, DynoSheet, StripDown

ROW = DynoRow(0.0, "bump", 0.1, 300.0)
PSI = 6894.757293168361


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    """One damper in build A, charged, with a bump stack and a seat that was measured."""
    with Logbook.open(tmp_path / "shop.trackside", author="Mara", device="d") as opened:
        build = {
            "damper": "TW-2241",
            "version": "A",
            "date": "2026-03-01",
            "gas_pressure": 1.4e6,
            "bump_stack": "27×0.15",
            "bump_parts": {"seat": 0.03},
        }
        opened.write(put("damper", {"serial": "TW-2241"}), put("build", build))
        yield opened


def _planned(logbook: Logbook, reseal: bool = False) -> tuple[StripDowns, StripDownJob]:
    jobs = StripDowns(logbook)
    logbook.write(jobs.planned("tw-2241", " softer \n", reseal=reseal))
    job = jobs.in_hand("TW-2241")
    assert job is not None
    return jobs, job


def _tick(logbook: Logbook, jobs: StripDowns, *steps: str) -> StripDownJob:
    for step in steps:
        job = jobs.of("TW-2241")[0]
        logbook.write(*jobs.turned(job, step, True))
    return jobs.of("TW-2241")[0]


def test_a_plan_has_the_steps_in_the_order_of_the_work_and_writes_no_build(
    logbook: Logbook,
) -> None:
    _, job = _planned(logbook)
    assert job.record.in_order == tuple(STEPS)
    assert job.record.open_steps == tuple(STEPS)
    assert (job.record.damper, job.record.why, job.stage) == ("TW-2241", "softer", "planned")
    assert len(builds_of(logbook, "TW-2241")) == 1


def test_the_stage_follows_what_is_ticked(logbook: Logbook) -> None:
    jobs, _ = _planned(logbook)
    assert _tick(logbook, jobs, "gas_out").stage == "on the bench"
    rest = [step for step in STEPS if step not in ("gas_out", FITTED)]
    job = _tick(logbook, jobs, *rest)
    assert (job.stage, job.is_open) == ("done", True)
    job = _tick(logbook, jobs, FITTED)
    assert (job.stage, job.is_open) == ("fitted", False)
    assert jobs.in_hand("TW-2241") is None


def test_who_ticked_a_step_and_when_is_in_the_history(logbook: Logbook) -> None:
    jobs, job = _planned(logbook)
    assert jobs.ticked(job, "gas_out") is None
    job = _tick(logbook, jobs, "gas_out")
    ticked = jobs.ticked(job, "gas_out")
    assert ticked is not None
    assert (ticked.author, len(ticked.recorded_at)) == ("Mara", 24)
    assert jobs.turned(job, "gas_out", True) == ()
    logbook.write(*jobs.turned(job, "gas_out", False))
    assert jobs.of("TW-2241")[0].record.done == {}


def test_with_its_parts_in_a_damper_has_a_new_build_once(logbook: Logbook) -> None:
    jobs, job = _planned(logbook)
    logbook.write(patch("strip_down", job.entity, {"oil": "2.5W"}))
    job = _tick(logbook, jobs, PARTS_IN)
    assert job.record.build == "B"
    _, new = builds_of(logbook, "TW-2241")[-1]
    assert (new["version"], new["work"], new["oil"]) == ("B", "softer", "2.5W")
    assert (new["bump_stack"], new.get("gas_pressure")) == ("27×0.15", None)
    logbook.write(*jobs.turned(job, PARTS_IN, False))
    assert _tick(logbook, jobs, PARTS_IN).record.build == "B"
    assert len(builds_of(logbook, "TW-2241")) == 2


def test_a_reseal_leaves_the_build_as_it_is(logbook: Logbook) -> None:
    jobs, _ = _planned(logbook, reseal=True)
    job = _tick(logbook, jobs, PARTS_IN)
    assert (job.record.reseal, job.record.build) == ("yes", "")
    assert len(builds_of(logbook, "TW-2241")) == 1


def test_a_charge_with_its_temperature_becomes_the_builds(logbook: Logbook) -> None:
    """218 psi at 20 °C reads 267.42 psi at 80 °C, as `gas.pressure_at` has worked out by hand."""
    jobs, job = _planned(logbook)
    _tick(logbook, jobs, PARTS_IN)
    hot = {"charge": 267.42 * PSI, "charge_at": 80.0}
    logbook.write(patch("strip_down", job.entity, hot))
    _tick(logbook, jobs, CHARGED)
    _, new = builds_of(logbook, "TW-2241")[-1]
    assert new["gas_pressure"] / PSI == pytest.approx(218, abs=0.01)


@pytest.mark.parametrize("known", [{"charge": 1.4e6}, {"charge_at": 22.0}, {}])
def test_a_charge_without_its_temperature_is_nobodys(
    logbook: Logbook, known: dict[str, float]
) -> None:
    jobs, job = _planned(logbook)
    _tick(logbook, jobs, PARTS_IN)
    logbook.write(patch("strip_down", job.entity, known)) if known else None
    _tick(logbook, jobs, CHARGED)
    assert builds_of(logbook, "TW-2241")[-1][1].get("gas_pressure") is None


def test_a_charge_that_cannot_be_has_no_figure() -> None:
    assert charge_at_20(StripDown(damper="x", charge=1e6, charge_at=-300.0)) is None
    assert charge_at_20(StripDown(damper="x", charge=1e6, charge_at=20.0)) == pytest.approx(1e6)


def test_the_next_job_begins_with_the_steps_as_the_shop_left_them(logbook: Logbook) -> None:
    jobs, job = _planned(logbook)
    logbook.write(jobs.added(job, "Shaft run-out", "opened"))
    job = jobs.of("TW-2241")[0]
    mine = job.record.in_order[2]
    assert job.record.steps[mine] == "Shaft run-out"
    reworded = jobs.reworded(job, "labelled", " Sticker on ")
    assert reworded is not None
    logbook.write(reworded, jobs.taken_away(job, "benched"))
    job = jobs.of("TW-2241")[0]
    assert jobs.reworded(job, "labelled", "Sticker on") is None
    logbook.write(jobs.closed(job, though_open=True))
    logbook.write(put("damper", {"serial": "TW-2242"}))
    logbook.write(jobs.planned("TW-2242", ""))
    record = jobs.of("TW-2242")[0].record
    words = [record.steps[name] for name in record.in_order]
    assert words.index("Shaft run-out") == 2
    assert "Sticker on" in words
    assert STEPS["benched"] not in words
    assert record.done == {}


def test_a_step_is_added_at_the_end_and_between_and_needs_words(logbook: Logbook) -> None:
    jobs, job = _planned(logbook)
    logbook.write(jobs.added(job, "Paint mark"))
    logbook.write(jobs.added(job, "Rod straight", "gas_out"))
    record = jobs.of("TW-2241")[0].record
    words = [record.steps[name] for name in record.in_order]
    assert (words[1], words[-1]) == ("Rod straight", "Paint mark")
    for refused in (lambda: jobs.added(job, " "), lambda: jobs.reworded(job, "opened", "")):
        with pytest.raises(BadInput, match="a step needs words"):
            refused()


def test_a_damper_has_one_job_in_hand_and_is_in_the_shed(logbook: Logbook) -> None:
    jobs, _ = _planned(logbook)
    with pytest.raises(BadInput, match="TW-2241 has a strip-down that is planned"):
        jobs.planned("TW-2241", "again")
    with pytest.raises(BadInput, match="TW-9 is not in the shed"):
        jobs.planned("TW-9", "")


def test_a_job_with_steps_open_is_not_closed_by_mistake(logbook: Logbook) -> None:
    jobs, _ = _planned(logbook)
    job = _tick(logbook, jobs, *list(STEPS)[:-2])
    with pytest.raises(BadInput, match="2 steps are open: Label on, Fitted to the car"):
        jobs.closed(job)
    job = _tick(logbook, jobs, "labelled")
    with pytest.raises(BadInput, match="1 step is open: Fitted to the car"):
        jobs.closed(job)
    logbook.write(jobs.closed(job, though_open=True))
    job = jobs.of("TW-2241")[0]
    assert (job.is_open, job.stage, job.record.open_steps) == (False, "done", (FITTED,))


def test_parts_entered_on_the_old_build_later_reach_the_new_one_by_asking(
    logbook: Logbook,
) -> None:
    jobs, _ = _planned(logbook)
    job = _tick(logbook, jobs, PARTS_IN)
    assert jobs.entered_since(job) == {}
    assert jobs.taken_over(job) is None
    old, _ = builds_of(logbook, "TW-2241")[0]
    later = {"needle": "1.8°", "bump_parts.clamp": 0.012, "gas_pressure": 1.5e6}
    logbook.write(patch("build", old, later))
    assert jobs.entered_since(job) == {"needle": "1.8°", "bump_parts.clamp": 0.012}
    write = jobs.taken_over(job)
    assert write is not None
    logbook.write(write)
    _, new = builds_of(logbook, "TW-2241")[-1]
    assert (new["needle"], new["bump_parts"]) == ("1.8°", {"seat": 0.03, "clamp": 0.012})
    assert new.get("gas_pressure") is None
    assert jobs.entered_since(job) == {}


def test_what_the_new_build_says_itself_is_never_taken_over(logbook: Logbook) -> None:
    jobs, _ = _planned(logbook)
    job = _tick(logbook, jobs, PARTS_IN)
    (old, _), (new, _) = builds_of(logbook, "TW-2241")
    logbook.write(patch("build", old, {"needle": "1.8°"}), patch("build", new, {"needle": "2.0°"}))
    assert jobs.entered_since(job) == {}


def test_a_job_without_a_build_has_nothing_to_take_over(logbook: Logbook) -> None:
    jobs, job = _planned(logbook)
    logbook.write(strip_down(logbook, "TW-2241", "by hand"))
    old, _ = builds_of(logbook, "TW-2241")[0]
    logbook.write(patch("build", old, {"needle": "1.8°"}))
    assert jobs.entered_since(job) == {}


def test_a_damper_or_build_of_another_name_keeps_its_jobs(logbook: Logbook) -> None:
    jobs, _ = _planned(logbook)
    _tick(logbook, jobs, PARTS_IN)
    entity, body = builds_of(logbook, "TW-2241")[-1]
    logbook.write(*rename(logbook, "build", entity, body, {"version": "B2"}))
    assert jobs.of("TW-2241")[0].record.build == "B2"
    damper = next(iter(logbook.all("damper")))
    logbook.write(*rename(logbook, "damper", *damper, {"serial": "TW-7"}))
    assert jobs.of("TW-2241") == []
    assert jobs.of("tw-7")[0].record.damper == "TW-7"


def test_a_job_that_was_taken_off_says_so(logbook: Logbook) -> None:
    jobs, job = _planned(logbook)
    logbook.write(drop("strip_down", job.entity))
    with pytest.raises(UnknownRecord, match="taken off the logbook"):
        jobs.turned(job, "opened", True)


def test_a_step_that_another_took_away_is_not_ticked(logbook: Logbook) -> None:
    jobs, job = _planned(logbook)
    logbook.write(jobs.taken_away(job, "opened"))
    with pytest.raises(BadInput, match="not on the job any more"):
        jobs.turned(job, "opened", True)


def test_two_laptops_tick_other_steps_and_both_ticks_stay(logbook: Logbook, tmp_path: Path) -> None:
    jobs, job = _planned(logbook)
    with Logbook.open(tmp_path / "other.trackside", author="Otto", device="o") as other:
        other.take(logbook.lines(), via="share")
        theirs = StripDowns(other)
        logbook.write(*jobs.turned(job, "gas_out", True))
        other.write(*theirs.turned(theirs.of("TW-2241")[0], "opened", True))
        for here, there in ((logbook, other), (other, logbook)):
            there.take(here.lines(), via="share")
        for one in (jobs, theirs):
            assert one.of("TW-2241")[0].record.done == {"gas_out": "yes", "opened": "yes"}
        assert not logbook.open_conflicts()


def test_what_is_planned_goes_into_the_build_and_the_rest_stays_as_it_is(logbook: Logbook) -> None:
    jobs, job = _planned(logbook)
    step = {"typed": "0.4", "unit": "mm", "si": 0.4e-3}
    plan = {"bump_stack": "27×0.20", "bump_parts.hub_to_seat": step}
    logbook.write(patch("strip_down", job.entity, plan))
    to_come = jobs.build_to_come(job)
    assert to_come is not None
    assert to_come.bump_parts is not None
    assert (to_come.version, to_come.bump_stack) == ("B", "27×0.20")
    assert (to_come.bump_parts.seat, to_come.bump_parts.hub_to_seat) == (0.03, 0.4e-3)
    assert len(builds_of(logbook, "TW-2241")) == 1, "a plan is no build yet"
    _tick(logbook, jobs, PARTS_IN)
    _, build = builds_of(logbook, "TW-2241")[-1]
    assert (build["bump_stack"], build["bump_parts"]) == (
        "27×0.20",
        {"seat": 0.03, "hub_to_seat": step},
    )
    assert jobs.build_to_come(job) == Build.checked(build)


def test_a_job_may_be_planned_with_its_parts_and_a_reseal_makes_no_build(logbook: Logbook) -> None:
    jobs = StripDowns(logbook)
    logbook.write(jobs.planned("TW-2241", "softer", parts={"bump_parts.spacer": 1e-4}))
    job = jobs.of("TW-2241")[0]
    to_come = jobs.build_to_come(job)
    assert to_come is not None
    assert to_come.bump_parts is not None
    assert (to_come.bump_parts.seat, to_come.bump_parts.spacer) == (0.03, 1e-4)
    logbook.write(jobs.closed(job, though_open=True))
    logbook.write(jobs.planned("TW-2241", "new seals", reseal=True))
    assert jobs.build_to_come(jobs.of("TW-2241")[0]) is None


def test_a_sheet_of_the_new_build_ticks_its_bench_run(logbook: Logbook) -> None:
    jobs, _ = _planned(logbook)
    new = DynoSheet(damper="tw-2241", build="b", rows=(ROW,))
    assert jobs.benched(new) == (), "no build has come of it yet"
    _tick(logbook, jobs, PARTS_IN)
    assert jobs.benched(new.model_copy(update={"build": "A"})) == (), "the old build's sheet"
    logbook.write(*jobs.benched(new))
    job = jobs.of("TW-2241")[0]
    assert BENCHED in job.record.done
    assert jobs.benched(new) == ()


def test_after_new_seals_a_sheet_run_since_ticks_the_bench_run(logbook: Logbook) -> None:
    jobs, _ = _planned(logbook, reseal=True)
    since = DynoSheet(damper="TW-2241", build="A", date="2999-01-01", rows=(ROW,))
    assert jobs.benched(since) == (), "the seals are not in yet"
    _tick(logbook, jobs, PARTS_IN)
    for date in ("", "2020-01-01"):
        assert jobs.benched(since.model_copy(update={"date": date})) == ()
    assert len(jobs.benched(since)) == 1
