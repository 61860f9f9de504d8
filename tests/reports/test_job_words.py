"""Jobs in words: a line each, on the pit board and on a run's sheet."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from trackside.crew.jobs import JobOnList, Jobs, Ticked
from trackside.logbook import Logbook, SessionLine, put
from trackside.records import Job
from trackside.reports.job_words import (
    count_words,
    counted,
    job_words,
    jobs_said,
    ticked_words,
    written_for,
)
from trackside.reports.naming import moment_in_words


def job(line: SessionLine | None = None, **body: str) -> JobOnList:
    return JobOnList("e", Job.checked({"words": "Change pads", **body}), line, "Coupé", {})


def test_a_job_has_a_box_and_a_hand() -> None:
    assert job_words(job()) == "□ Change pads"
    assert job_words(job(who="Jo")) == "□ Change pads: Jo"
    assert job_words(job(who="Jo", done="yes")) == "☑ Change pads: Jo"


def test_jobs_are_counted_by_car() -> None:
    assert count_words(0) == counted({}) == ""
    assert (count_words(1), count_words(2)) == ("1 job to do", "2 jobs to do")
    assert counted({"Coupé": 2, "Tourer": 1}) == "3 jobs to do: Coupé 2, Tourer 1"
    assert counted({"": 1}) == "1 job to do: 1"


def test_who_ticked_a_job_and_when() -> None:
    at = "2026-05-09T12:20:30+00:00"
    assert ticked_words(None) == ""
    assert ticked_words(Ticked("Mara", at)) == f"done: Mara, {moment_in_words(at)[:-3]}"
    assert ticked_words(Ticked(" ", at)).startswith("done: unsigned, ")


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Logbook]:
    """A practice and a race of one car."""
    with Logbook.open(tmp_path / "log", author="Mara", device="d") as logbook:
        event, car = put("event", {"venue": "Harrow Fen"}), put("car", {"name": "Coupé"})
        logbook.write(event, car)
        for kind, hour in (("practice", 10), ("race", 15)):
            body = {"event": event.entity, "car": car.entity, "kind": kind}
            logbook.write(put("session", body | {"start": f"2026-05-09 {hour}:00"}))
        yield logbook


def test_a_job_is_told_with_the_run_it_was_written_for(log: Logbook) -> None:
    race, practice = log.session_lines()
    assert written_for(job()) == ""
    assert written_for(job(practice)) == "from practice, Harrow Fen 2026-05-09"
    assert written_for(job(practice._replace(venue=""))) == "from practice, 2026-05-09"
    assert written_for(job(practice._replace(venue="", start=""))) == "from practice"
    jobs = Jobs(log)
    assert jobs_said(jobs, race.entity) == []
    log.write(jobs.added("Pads", "", race.car, practice.entity))
    log.write(jobs.added("Bleed", "Jo", race.car, race.entity))
    [section] = jobs_said(jobs, race.entity)
    assert section.title == "Jobs before this run"
    assert [said.text for said in section.said] == [
        "□ Pads (from practice, Harrow Fen 2026-05-09)", "□ Bleed: Jo"
    ]  # fmt: skip
    pads = jobs.all()[0]
    turned = jobs.turned(pads, True)
    assert turned is not None
    log.write(turned)
    [section] = jobs_said(jobs, practice.entity)
    done = ticked_words(jobs.ticked(jobs.all()[0]))
    assert [said.text for said in section.said] == [f"☑ Pads ({done})"]
