"""Notes and reasons in words, how many wait for their verdict, and what they said before."""

from __future__ import annotations

import pytest

from trackside.logbook import Logbook, patch, put
from trackside.records import Change, Note
from trackside.reports.naming import (
    moment_in_words,
)
from trackside.reports.said_words import past_words, said_briefly, said_whole
from trackside.reports.said_words import waiting_words as verdicts_waiting


@pytest.mark.parametrize(
    ("count", "said"),
    [(0, ""), (1, "1 change waits for its verdict"), (2, "2 changes wait for their verdict")],
)
def test_how_many_changes_wait(count: int, said: str) -> None:
    assert verdicts_waiting(count) == said


def test_a_note_and_a_reason_on_one_line() -> None:
    note = Note.checked({"session": "s", "driver": "Ann", "words": "It\nskips.", "turn": "3"})
    assert said_briefly("note", note) == "note: Ann: turn 3: “It skips.”"
    reason = Change.checked({"session": "s", "what": "bar", "reason": "push", "verdict": "better"})
    assert said_briefly("change", reason) == "reason: bar: push → better"
    assert said_whole("change", reason) == ["bar: push", "→ better"]


def test_what_a_note_said_before_the_newest_first() -> None:
    with Logbook.open(":memory:", device="here-123456", author="Ann") as logbook:
        note = put("note", {"session": "s", "words": "old", "turn": "3"})
        logbook.write(note)
        logbook.write(patch("note", note.entity, {"words": "new", "balance": None}), reason="a  b")
        logbook.write(patch("note", note.entity, {"turn": None}))
        logbook.undo()
        lines = list(past_words(logbook, note.entity))
        when = [moment_in_words(one.recorded_at) for one in logbook.history(note.entity)]
        who = "Ann, this laptop"
        assert lines == [
            f"{when[0]} {who}, taken back", "  turn: – → 3",
            f"{when[1]} {who}", "  turn: 3 → –",
            f"{when[2]} {who}: a b", "  words: old → new",
            f"{when[3]} {who}, written down",
        ]  # fmt: skip
        logbook.redo()
        assert next(past_words(logbook, note.entity)).endswith(f"{who}, set again")
