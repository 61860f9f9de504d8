"""The job list of each car: carried on until it is ticked, alike on two laptops."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from trackside.crew.jobs import Jobs, car_named, cars
from trackside.errors import BadInput, BadRecord, UnknownRecord
from trackside.logbook import Logbook, Write, drop, patch, put
from trackside.logbook.sharing import give, receive
from trackside.records import Job
from trackside.reports.job_words import counted, job_words, jobs_said, ticked_words, written_for
from trackside.reports.naming import moment_in_words

Two = tuple[Logbook, Logbook, str, Callable[[], None]]


def _day(log: Path, device: str = "one") -> Logbook:
    """A logbook with two cars and four runs, by their codes' ends `practice`, `race` of each."""
    return Logbook.open(log, author="Mara", device=device)


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Logbook]:
    """Open, with an event, the cars Coupé and Tourer, and runs of the Coupé at 10, 12 and 15."""
    with _day(tmp_path / "team.trackside") as logbook:
        event = put("event", {"venue": "Harrow Fen", "date": "2026-05-09"})
        coupe, tourer = (put("car", {"name": name}) for name in ("Coupé", "Tourer"))
        logbook.write(event, coupe, tourer)
        for kind, hour in (("practice", 10), ("qualifying", 12), ("race", 15)):
            start = {"event": event.entity, "kind": kind, "start": f"2026-05-09 {hour}:00"}
            logbook.write(put("session", {**start, "car": coupe.entity}))
        logbook.write(put("session", {**start, "car": tourer.entity}))
        yield logbook


def _keep(logbook: Logbook, write: Write | None) -> None:
    assert write is not None
    logbook.write(write)


def _run(logbook: Logbook, kind: str) -> str:
    return next(line.entity for line in logbook.session_lines() if line.kind == kind)


def _write(logbook: Logbook, words: str, kind: str = "practice", who: str = "") -> str:
    line = logbook.session_line(_run(logbook, kind))
    write = Jobs(logbook).added(words, who, line.car, line.entity)
    logbook.write(write)
    return write.entity


def _on(logbook: Logbook, kind: str) -> list[str]:
    return [job_words(job) for job in Jobs(logbook).on_sheet(_run(logbook, kind))]


def test_a_job_is_on_the_sheet_of_its_run_and_of_all_behind_it_until_it_is_ticked(
    log: Logbook,
) -> None:
    entity = _write(log, "Change pads", "qualifying", "Jo")
    assert [_on(log, kind) for kind in ("practice", "qualifying")] == [[], ["□ Change pads: Jo"]]
    coupe = log.session_line(_run(log, "qualifying")).car
    race = next(one for one in log.session_lines() if one.kind == "race" and one.car == coupe)
    jobs = Jobs(log)
    assert [job.entity for job in jobs.on_sheet(race.entity)] == [entity]
    other = next(one for one in log.session_lines() if one.kind == "race" and one.car != coupe)
    assert jobs.on_sheet(other.entity) == []
    _keep(log, jobs.turned(jobs.named(entity[-6:]), True))
    assert jobs.on_sheet(race.entity) == []
    assert _on(log, "qualifying") == ["☑ Change pads: Jo"]
    _write(log, "Bleed brakes", "qualifying")
    assert _on(log, "qualifying") == ["□ Bleed brakes", "☑ Change pads: Jo"], "open ones first"


def test_the_sheet_says_from_where_a_job_came_and_who_ticked_which(log: Logbook) -> None:
    first, _second = _write(log, "Change pads"), _write(log, "Bleed brakes", "qualifying")
    jobs = Jobs(log)
    [section] = jobs_said(jobs, _run(log, "qualifying"))
    assert [said.text for said in section.said] == [
        "□ Change pads (from practice, Harrow Fen 2026-05-09)",
        "□ Bleed brakes",
    ]
    _keep(log, jobs.turned(jobs.named(first), True))
    [section] = jobs_said(jobs, _run(log, "practice"))
    when = moment_in_words(log.history(first)[0].recorded_at)[:16]
    assert [said.text for said in section.said] == [f"☑ Change pads (done: Mara, {when})"]
    assert ticked_words(jobs.ticked(jobs.named(first))) == f"done: Mara, {when}"
    tourer = next(one for one in log.session_lines() if one.car_name == "Tourer")
    assert jobs_said(jobs, tourer.entity) == []


def test_open_jobs_are_counted_for_each_car(log: Logbook) -> None:
    assert counted(Jobs(log).open_counts()) == ""
    _write(log, "Change pads")
    jobs = Jobs(log)
    assert counted(jobs.open_counts()) == "1 job to do: Coupé 1"
    log.write(jobs.added("Hub", "", car_named(log, "tour")))
    _write(log, "Bleed brakes")
    assert counted(jobs.open_counts()) == "3 jobs to do: Coupé 2, Tourer 1"
    hub = next(job for job in jobs.all() if job.record.words == "Hub")
    assert (hub.line, written_for(hub), hub.car_name) == (None, "", "Tourer")
    assert [job.record.words for job in jobs.shown(hub.record.car)] == [
        *("Hub", "Change pads", "Bleed brakes"),
    ]
    _keep(log, jobs.turned(jobs.all()[0], True))
    assert [job.record.words for job in jobs.shown("")][-1] == "Change pads"


def test_a_job_outlives_the_run_it_was_written_for(log: Logbook) -> None:
    _write(log, "Change pads")
    log.write(drop("session", _run(log, "practice")))
    assert _on(log, "qualifying") == ["□ Change pads"]


def test_what_cannot_be_a_job_is_refused(log: Logbook) -> None:
    jobs, car = Jobs(log), cars(log)[0][0]
    for words, of, told in (
        ("  ", car, "a job needs words: say what is to be done"),
        ("Pads", "", "a job belongs to a car: enter the car first"),
    ):
        with pytest.raises(BadInput) as refused:
            jobs.added(words, "", of)
        assert f"{refused.value.cause}: {refused.value.remedy}" == told
    with pytest.raises(BadRecord, match="words: it is missing"):
        Job.checked({"car": car})
    with pytest.raises(BadRecord, match="done: it is none of 'yes'"):
        Job.checked({"car": car, "words": "Pads", "done": "no"})
    with pytest.raises(UnknownRecord, match="cars here: Coupé, Tourer"):
        car_named(log, "Lorry")
    for name in ("ab", "ffffff"):
        with pytest.raises(UnknownRecord, match="There is no job"):
            jobs.named(name)


def test_another_hand_other_words_and_off_the_list(log: Logbook) -> None:
    jobs, entity = Jobs(log), _write(log, "Pads", who="Jo")
    job = jobs.named(entity)
    assert jobs.edited(job, "Pads", "Jo") is None
    assert jobs.turned(job, False) is None
    with pytest.raises(BadInput) as refused:
        jobs.edited(job, " ", "Jo")
    assert refused.value.cause == "a job needs words"
    assert refused.value.remedy == "say what is to be done, or take it away"
    _keep(log, jobs.edited(job, "Front pads", ""))
    assert jobs.named(entity).record == Job(
        car=job.record.car, session=job.record.session, words="Front pads"
    )
    with pytest.raises(BadInput, match="words now says “Front pads”"):
        jobs.edited(job, "Rear pads", "Jo")
    log.write(jobs.taken_away(jobs.named(entity)))
    assert jobs.all() == ()
    for gone in (lambda: jobs.turned(job, True), lambda: jobs.taken_away(job)):
        with pytest.raises(BadInput) as refused:
            gone()
        assert refused.value.cause == "it was taken off the list meanwhile"
        assert refused.value.remedy == "undo brings it back"
    log.undo()
    assert jobs.named(entity).record.words == "Front pads"
    log.undo()
    assert jobs.named(entity).record.words == "Pads"
    assert log.verify().problems == ()


def _meet(one: Logbook, other: Logbook, stick: Path) -> None:
    for giver, taker in ((one, other), (other, one), (one, other)):
        stick.unlink(missing_ok=True)
        give(giver, stick)
        receive(taker, stick)


@pytest.fixture
def two(log: Logbook, tmp_path: Path) -> Iterator[Two]:
    """Two laptops with the same job, that have not met since: (one, other, the job, meet)."""
    entity = _write(log, "Pads", who="Jo")
    with Logbook.open(tmp_path / "other.trackside", author="Nils", device="two") as other:
        stick = tmp_path / "stick.bundle"
        _meet(log, other, stick)
        yield log, other, entity, lambda: _meet(log, other, stick)


def test_both_tick_it_and_it_is_ticked(two: Two) -> None:
    one, other, entity, meet = two
    for logbook in (one, other):
        jobs = Jobs(logbook)
        _keep(logbook, jobs.turned(jobs.named(entity), True))
    meet()
    for logbook in (one, other):
        assert not logbook.open_conflicts()
        job = Jobs(logbook).named(entity)
        assert job_words(job) == "☑ Pads: Jo"
        ticked = Jobs(logbook).ticked(job)
        assert ticked is not None
        assert ticked.author in ("Mara", "Nils")
        assert logbook.verify().problems == ()


def test_one_ticks_it_the_other_says_it_otherwise_and_both_hold(two: Two) -> None:
    one, other, entity, meet = two
    _keep(one, Jobs(one).turned(Jobs(one).named(entity), True))
    _keep(other, Jobs(other).edited(Jobs(other).named(entity), "Front pads", "Jo"))
    meet()
    for logbook in (one, other):
        assert not logbook.open_conflicts()
        assert job_words(Jobs(logbook).named(entity)) == "☑ Front pads: Jo"


def test_two_words_for_one_job_are_decided_by_a_person(two: Two) -> None:
    from trackside.crew.deciding import value_typed
    from trackside.preferences import Preferences
    from trackside.reports.naming import body_in_words

    one, other, entity, meet = two
    one.write(patch("job", entity, {"words": "Front pads"}))
    other.write(patch("job", entity, {"words": "Rear pads"}))
    meet()
    [conflict] = one.open_conflicts()
    assert (conflict.kind, conflict.path) == ("job", "words")
    body = one.state(entity)
    assert body is not None
    assert body_in_words(one, "job", body).startswith("job ")
    metric = Preferences()
    assert value_typed("job", "words", "All pads", body, metric) == "All pads"
    assert value_typed("job", "who", "", body, metric) is None
    with pytest.raises(BadRecord, match="words: it is missing"):
        value_typed("job", "words", "", body, metric)


def test_a_job_is_named_by_four_letters_of_its_code_or_more(log: Logbook) -> None:
    entity = _write(log, "Pads")
    jobs = Jobs(log)
    for letters in (4, 6, len(entity)):
        assert jobs.named(f" {entity[-letters:].upper()} ").entity == entity
    assert jobs.named(entity).code == entity[-6:]
    with pytest.raises(UnknownRecord) as refused:
        jobs.named(entity[-3:])
    assert refused.value.cause == f"There is no job “{entity[-3:]}”"
    assert refused.value.remedy == "trackside jobs lists their ids"


def test_a_code_that_several_jobs_end_in_names_none(
    log: Logbook, monkeypatch: pytest.MonkeyPatch
) -> None:
    entity = _write(log, "Pads")
    jobs = Jobs(log)
    [job] = jobs.all()
    monkeypatch.setattr(jobs, "all", lambda: (job, job._replace(entity=f"x{entity}")))
    with pytest.raises(UnknownRecord, match="Several jobs answer to “"):
        jobs.named(entity[-6:])


def test_open_jobs_of_a_car_are_its_own_the_oldest_first(log: Logbook) -> None:
    names = ("Pads", "Hub", "Wing")
    pads, *_ = (_write(log, words) for words in names)
    jobs = Jobs(log)
    tourer, coupe = car_named(log, "tourer"), jobs.all()[0].record.car
    log.write(jobs.added("Clutch", "", tourer))
    assert [job.record.words for job in jobs.open_of(coupe)] == list(names)
    _keep(log, jobs.turned(jobs.named(pads), True))
    assert [job.record.words for job in jobs.open_of(coupe)] == ["Hub", "Wing"]
    assert [job.record.words for job in jobs.open_of(tourer)] == ["Clutch"]


def test_of_what_is_done_forty_are_listed_that_cars_first_and_the_last_first(log: Logbook) -> None:
    """Forty: our own, no source."""
    coupe, tourer = car_named(log, "coupé"), car_named(log, "tourer")
    body = {"done": "yes"}
    log.write(*(put("job", body | {"car": coupe, "words": f"{n}"}) for n in range(41)))
    log.write(put("job", body | {"car": tourer, "words": "Hub"}))
    jobs = Jobs(log)
    assert [job.record.words for job in jobs.shown(coupe)] == [f"{40 - n}" for n in range(40)]
    assert [job.record.words for job in jobs.shown(tourer)][:3] == ["Hub", "40", "39"]
    log.write(jobs.added("Pads", "", coupe))
    assert len(jobs.shown(tourer)) == 41
    assert jobs.shown(tourer)[0].record.words == "Pads", "what is open stands above it"


def test_a_job_of_a_car_that_is_gone_has_no_name_of_one(log: Logbook) -> None:
    jobs, tourer = Jobs(log), car_named(log, "tourer")
    log.write(jobs.added("Hub", "", tourer), put("job", {"words": "Pads"}))
    log.write(drop("car", tourer))
    assert [(job.car_name, job.line) for job in jobs.all()] == [("", None), ("", None)]
    log.write(put("car", {"number": "7"}))
    assert [name for _, name in cars(log)] == ["Coupé"], "a car without a name has no jobs"


def test_a_car_is_named_whole_or_by_the_start_of_one_name(log: Logbook) -> None:
    log.write(put("car", {"name": "Tourer II"}))
    named = dict(cars(log))
    assert named[car_named(log, "TOURER")] == "Tourer", "whole"
    assert named[car_named(log, "tourer i")] == "Tourer II"
    assert named[car_named(log, " cou")] == "Coupé"
    for several in ("tour", ""):
        with pytest.raises(UnknownRecord) as refused:
            car_named(log, several)
        assert refused.value.cause == f"There is no one car “{several}”"
        assert refused.value.remedy == "cars here: Coupé, Tourer, Tourer II"


def test_without_a_car_there_is_none_to_name(tmp_path: Path) -> None:
    with _day(tmp_path / "new.trackside") as logbook:
        with pytest.raises(UnknownRecord) as refused:
            car_named(logbook, "Coupé")
        assert refused.value.remedy == "cars here: none"


def test_what_was_changed_meanwhile_is_told_by_what_stands_there(log: Logbook) -> None:
    jobs, entity = Jobs(log), _write(log, "Pads", who="Jo")
    job = jobs.named(entity)
    log.write(patch("job", entity, {"who": None}))
    with pytest.raises(BadInput) as refused:
        jobs.edited(job, "Pads", "Al")
    assert refused.value.cause == "it was changed meanwhile: who now says “nothing”"
    assert refused.value.remedy == "look at it again"
    _keep(log, jobs.edited(job, "Rear pads", "Jo"))
    assert jobs.named(entity).record.who is None, "what was not changed here stays as it is there"


def test_a_job_that_was_ticked_is_opened_again(log: Logbook) -> None:
    jobs, entity = Jobs(log), _write(log, "Pads")
    assert jobs.ticked(jobs.named(entity)) is None
    _keep(log, jobs.turned(jobs.named(entity), True))
    assert jobs.turned(jobs.named(entity), True) is None
    assert jobs.ticked(jobs.named(entity)) is not None
    _keep(log, jobs.turned(jobs.named(entity), False))
    assert jobs.named(entity).is_open
    assert jobs.ticked(jobs.named(entity)) is None
