"""A verdict given later, and notes and reasons put right: one revision each."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from trackside.crew.corrections import Corrections, ReasonWanted
from trackside.crew.verdicts import LOOKED_THROUGH, SaidOnce, Verdicts
from trackside.errors import BadInput, UnknownRecord
from trackside.logbook import Logbook, drop, patch, put

DAY = "2026-05-09"
REASON = {"what": "Rear bar one hole softer", "reason": "loose on exit"}
ANSWERS = {"verdict": "", "verdict_words": "", **REASON}
NOTE = {"words": "pushes wide", "phase": "mid", "turn": "3", "balance": -2}
SAID = {"words": "pushes wide", "phase": "mid", "turn": "3", "balance": "-2", "rating": ""}


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with Logbook.open(tmp_path / "team.trackside", author="Mara", device="d") as opened:
        yield opened


def verdicts(logbook: Logbook, today: str = DAY) -> Verdicts:
    return Verdicts(logbook, Corrections(logbook, lambda: date.fromisoformat(today)))


def session(logbook: Logbook, start: str = f"{DAY} 10:00", **body: Any) -> str:
    run = put("session", {"kind": "practice", "start": start, "status": "done", **body})
    logbook.write(run)
    return run.entity


def said(logbook: Logbook, kind: str, of: str, **body: Any) -> str:
    write = put(kind, {"session": of, **body})
    logbook.write(write)
    return write.entity


def test_what_waits_is_a_reason_of_a_run_without_any_verdict(logbook: Logbook) -> None:
    first, second = session(logbook), session(logbook, f"{DAY} 12:00")
    planned = session(logbook, f"{DAY} 14:00", status="planned")
    waits = said(logbook, "change", first, **REASON)
    later = said(logbook, "change", second, reason="nose lifts")
    said(logbook, "change", planned, **REASON)
    said(logbook, "change", first, **REASON, verdict="better")
    said(logbook, "change", first, **REASON, verdict_words="calmer")
    said(logbook, "change", first)
    said(logbook, "note", first, **NOTE)
    found = verdicts(logbook)
    assert [one.entity for one in found.waiting()] == [later, waits]
    assert [one.entity for one in found.shown(first)][:2] == [waits, later]
    assert len(found.shown(first)) == 6
    assert [one.entity for one in found.shown("")] == [later, waits]
    logbook.write(patch("session", planned, {"status": "done"}))
    assert len(found.waiting()) == 3
    logbook.write(drop("change", later))
    assert [one.entity for one in found.waiting()][1:] == [waits]


def test_what_nobody_judged_for_long_does_not_wait_for_ever(logbook: Logbook) -> None:
    old = session(logbook, "2026-01-01 10:00")
    said(logbook, "change", old, **REASON)
    found = verdicts(logbook)
    for n in range(LOOKED_THROUGH - 1):
        session(logbook, f"2026-02-01 10:{n:02d}")
    assert len(found.waiting()) == 1
    session(logbook)
    assert found.waiting() == ()
    assert len(found.shown(old)) == 1


def _one(found: Verdicts, of: str, entity: str) -> SaidOnce:
    return next(one for one in found.shown(of) if one.entity == entity)


def test_a_verdict_is_one_revision_and_the_next_morning_needs_no_reason(logbook: Logbook) -> None:
    run = session(logbook)
    entity = said(logbook, "change", run, **REASON)
    found = verdicts(logbook, "2026-05-10")
    logbook.write(found.judged(_one(found, run, entity), "better"))
    assert found.waiting() == ()
    newest, first = logbook.history(entity)
    assert newest.changes == {"verdict": (None, "better")} or newest.changes == {
        "verdict": ("", "better")
    }
    assert first.op == "put"
    assert logbook.state(entity) == {"session": run, **REASON, "verdict": "better"}


@pytest.mark.parametrize("verdict", ["", "great", "Better"])
def test_no_other_word_is_a_verdict(logbook: Logbook, verdict: str) -> None:
    run = session(logbook)
    entity = said(logbook, "change", run, **REASON)
    note = said(logbook, "note", run, **NOTE)
    found = verdicts(logbook)
    with pytest.raises(BadInput):
        found.judged(_one(found, run, entity), verdict)
    with pytest.raises(BadInput):
        found.judged(_one(found, run, note), "better")


def test_only_what_was_changed_is_written(logbook: Logbook) -> None:
    run = session(logbook)
    entity = said(logbook, "note", run, **NOTE, driver="Ines", newer="kept")
    found = verdicts(logbook)
    one = _one(found, run, entity)
    assert found.edited(one, SAID) == (None, "")
    write, unread = found.edited(one, SAID | {"turn": "4", "balance": "", "rating": "11"})
    assert write is not None
    logbook.write(write)
    assert unread == "rating 11 could not be read and was left in the words"
    assert logbook.history(entity)[0].changes == {
        "turn": ("3", "4"), "balance": (-2, None),
        "words": ("pushes wide", "pushes wide\nrating 11"),
    }  # fmt: skip
    kept = logbook.state(entity) or {}
    assert (kept["driver"], kept["newer"], kept["phase"]) == ("Ines", "kept", "mid")


def test_what_says_nothing_any_more_is_refused(logbook: Logbook) -> None:
    run = session(logbook)
    note, reason = said(logbook, "note", run, **NOTE), said(logbook, "change", run, **REASON)
    found = verdicts(logbook)
    for entity, answers in ((note, SAID), (reason, ANSWERS)):
        with pytest.raises(BadInput, match="nothing is left of it"):
            found.edited(_one(found, run, entity), dict.fromkeys(answers, " "))


def test_what_somebody_else_wrote_meanwhile_is_not_overwritten(logbook: Logbook) -> None:
    run = session(logbook)
    entity = said(logbook, "change", run, **REASON)
    found = verdicts(logbook)
    one = _one(found, run, entity)
    logbook.write(patch("change", entity, {"verdict": "worse"}))
    with pytest.raises(BadInput, match="meanwhile: verdict now says “worse”"):
        found.judged(one, "better")
    write, _ = found.edited(one, ANSWERS | {"reason": "loose on exit of 5"})
    assert write is not None, "another place of it may be put right"
    logbook.write(write)
    assert (logbook.state(entity) or {})["verdict"] == "worse"
    logbook.write(drop("change", entity))
    with pytest.raises(BadInput, match="taken off the logbook meanwhile"):
        found.judged(one, "better")


def test_after_the_event_other_words_need_a_reason(logbook: Logbook) -> None:
    event = put("event", {"venue": "Harrow Fen", "date": DAY})
    logbook.write(event)
    run = session(logbook, event=event.entity)
    entity = said(logbook, "change", run, **REASON)
    corrections = Corrections(logbook, lambda: date(2026, 5, 11))
    found = Verdicts(logbook, corrections)
    logbook.write(found.judged(_one(found, run, entity), "better"))
    one = _one(found, run, entity)
    with pytest.raises(ReasonWanted) as wanted:
        found.judged(one, "worse")
    assert (wanted.value.session, wanted.value.path) == (run, "the reason")
    corrections.give(run, "the watch was wrong")
    logbook.write(found.judged(one, "worse"))
    assert logbook.history(entity)[0].reason == "the watch was wrong"


def test_a_reason_is_named_by_the_end_of_its_code_or_by_its_session(logbook: Logbook) -> None:
    run = session(logbook)
    reason = said(logbook, "change", run, **REASON)
    found = verdicts(logbook)
    for letters in (4, 6):
        named = found.named(f" {reason[-letters:].upper()} ")
        assert (named.entity, named.kind, named.line.entity) == (reason, "change", run)
    assert found.named(run).entity == reason
    with pytest.raises(UnknownRecord):
        found.named(reason[-3:])
    judged = said(logbook, "change", run, **REASON, verdict="better")
    assert found.named(judged[-6:]).entity == judged, "its own code names one that was judged"
    assert found.named(run).entity == reason, "the one that waits"


@pytest.mark.parametrize(
    ("reasons", "cause"),
    [
        ([], "no change waits for a verdict in that session"),
        ([{**REASON, "verdict": "worse"}], "no change waits for a verdict in that session"),
        ([REASON, REASON], "2 changes wait for a verdict in that session"),
    ],
)
def test_a_session_in_which_not_one_change_waits_names_none(
    logbook: Logbook, reasons: list[dict[str, Any]], cause: str
) -> None:
    run = session(logbook)
    for body in reasons:
        said(logbook, "change", run, **body)
    with pytest.raises(UnknownRecord) as refused:
        verdicts(logbook).named(run)
    assert refused.value.cause == cause
    assert refused.value.remedy == "name the reason by the end of its code"
