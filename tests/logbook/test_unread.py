"""What of a logbook cannot be read is named as long as it is there."""

from __future__ import annotations

from pathlib import Path

import pytest

from trackside.logbook import Logbook, drop, put
from trackside.records import Note


@pytest.mark.parametrize("of_session", [True, False])
def test_a_record_that_was_dropped_is_named_no_longer(tmp_path: Path, of_session: bool) -> None:
    with Logbook.open(tmp_path / "log.trackside", author="a", device="a") as logbook:
        session = put("session", {"kind": "test"})
        note, other = (
            put("note", {"session": of, "words": "It skips.", "balance": 5})
            for of in (session.entity, "another")
        )
        logbook.write(session, note, other)
        logbook.records(Note, "note")
        assert {one.entity for one in logbook.unread.of("note")} == {note.entity, other.entity}
        logbook.write(drop("note", note.entity))
        logbook.records(Note, "note", session.entity if of_session else "")
        assert [one.entity for one in logbook.unread.of("note")] == [other.entity]
