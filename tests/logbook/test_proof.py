"""What is shown is what the revisions say, whatever became of the tables beside them."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from trackside.errors import LogbookDamaged
from trackside.logbook import Logbook, backup, patch, put, verify
from trackside.logbook.schema import APPLICATION_ID, VERSION

MARKS = {"user_version": 60, "application_id": 68}
"""Where they are in the file (SQLite's "Database File Format", section 1.3, from memory)."""
CLICKS = {"typed": "11", "unit": "clicks", "si": 11.0}


@pytest.fixture
def run(logbook: Logbook) -> str:
    event = put("event", {"venue": "Harrow Fen", "date": "2026-05-09"})
    session = put("session", {"event": event.entity, "driver": "Ines", "FL": {"rebound": CLICKS}})
    logbook.write(event, session, put("note", {"session": session.entity, "words": "loose"}))
    logbook.write(patch("session", session.entity, {"driver": "Maud"}))
    return session.entity


def spoil(path: Path, statement: str) -> None:
    with sqlite3.connect(path) as sql:
        sql.execute(statement)
    sql.close()


SPOILT = {
    "body": "UPDATE current SET body = replace(body, '\"11\"', '\"10\"')",
    "line": "UPDATE session_line SET driver = 'Mauf', notes = 3",
    "reading": "UPDATE reading SET typed = '10' WHERE typed = '11'",
    "note": "UPDATE current SET kind = 'nose' WHERE kind = 'note'",
    "heads": "UPDATE current SET heads = replace(heads, 'a', 'b')",
}


def seen(logbook: Logbook, run: str) -> tuple:
    return (
        logbook.state(run),
        [line.driver for line in logbook.session_lines()],
        [line.notes for line in logbook.session_lines()],
        logbook.readings("FL", "rebound"),
        [body["words"] for _, body in logbook.notes(run)],
        list(logbook.session_readings()),
    )


@pytest.mark.parametrize("what", SPOILT)
def test_a_damaged_table_is_named_and_never_shown(
    path: Path, logbook: Logbook, run: str, what: str
) -> None:
    whole = seen(logbook, run)
    assert not logbook.unread.of()
    assert logbook.look_through() == ()
    logbook.close()
    spoil(path, SPOILT[what])
    for read_only in (False, True):
        with Logbook.open(path, device="d", read_only=read_only) as again:
            assert seen(again, run) == whole
            [*told] = again.unread.of()
            assert any("trackside verify --rebuild" in one.sentence for one in told)
            assert again.look_through()
            assert any("rebuild" in problem for problem in again.verify().problems)
            with pytest.raises(LogbookDamaged, match="No copy was made"):
                again.back_up(path.with_name("copy"))
    with Logbook.open(path, device="d") as again:
        again.rebuild()
        assert again.verify().problems == ()
        assert seen(again, run) == whole


LISTED_WRONG = {
    "driver": "UPDATE session_line SET driver = 'Mauf'",
    "event": "UPDATE session_line SET event = replace(event, '0', '1')",
    "session": "UPDATE session_line SET entity = replace(entity, '0', '1')",
    "time": "UPDATE session_line SET sort_key = '2006' WHERE driver = 'Maud'",
    "unit": "UPDATE reading SET unit = 'clocks' WHERE unit = 'clicks'",
    "field": "UPDATE reading SET field = 'rebounc' WHERE field = 'rebound'",
}


@pytest.mark.parametrize("what", LISTED_WRONG)
def test_no_list_gathers_what_no_revision_has(
    path: Path, logbook: Logbook, run: str, what: str
) -> None:
    def gathered(logbook: Logbook) -> set:
        [(car, _)] = logbook.all("car")
        return {
            *logbook.session_names(),
            *logbook.reading_columns(),
            *logbook.events_waiting(),
            *logbook.session_entities(car),
        }

    car = put("car", {"name": "Car 7"})
    logbook.write(car)
    logbook.write(
        patch("session", run, {"car": car.entity}),
        put("session", {"car": car.entity, "driver": "Ines", "start": "2026-05-08 10:00"}),
    )
    whole = gathered(logbook)
    assert len(whole) == 7
    newest_first = [line.driver for line in logbook.session_lines()]
    logbook.close()
    spoil(path, LISTED_WRONG[what])
    with Logbook.open(path, device="d") as again:
        assert gathered(again) <= whole
        if what not in ("session", "driver"):
            assert [line.driver for line in again.session_lines()] == newest_first
        assert again.look_through()


def test_a_damaged_index_of_the_board_is_named(path: Path, logbook: Logbook, run: str) -> None:
    logbook.close()
    with sqlite3.connect(path) as sql:
        pages = [
            sql.execute("SELECT rootpage FROM sqlite_schema WHERE name = ?", (name,)).fetchone()[0]
            for name in ("session_newest", "current_kind", "current_session")
        ]
    sql.close()
    whole = path.read_bytes()
    for page in pages:
        content = bytearray(whole)
        content[page * 4096 - 8] ^= 1  # the last cell of the page, which SQLite fills from its end
        path.write_bytes(content)
        with Logbook.open(path, device="d") as again:
            assert again.look_through()


def test_a_damaged_name_of_a_head_is_no_parent(path: Path, logbook: Logbook, run: str) -> None:
    logbook.close()
    spoil(path, SPOILT["heads"])
    with Logbook.open(path, device="d") as again:
        again.write(patch("session", run, {"driver": "Ines"}))
        assert not any("earlier revisions" in problem for problem in again.verify().problems)
        assert again.open_conflicts() == []


def test_what_a_damaged_revision_said_is_not_proved(path: Path, logbook: Logbook, run: str) -> None:
    logbook.close()
    spoil(path, "DROP TRIGGER revision_never_changes")
    spoil(path, "UPDATE revision SET envelope = replace(envelope, 'Maud', 'Mauf')")
    with Logbook.open(path, device="d") as again:
        assert (again.state(run) or {})["driver"] == "Maud"
        assert "cannot be checked" in again.unread.of()[0].sentence
        assert set(again.look_through()) == set(again.verify().problems)
        assert any("not what was written down" in told for told in again.look_through())
        with pytest.raises(LogbookDamaged, match="not what was written down"):
            again.history(run)


def test_verify_lets_another_window_save(path: Path, logbook: Logbook, run: str) -> None:
    for number in range(60):
        logbook.write(put("note", {"session": run, "words": f"loose {number}"}))
    with Logbook.open(path, device="other") as other:
        found = logbook.verify(lambda *_: other.write(put("event", {})) and None)
        assert found.problems == ()
        assert len(other.all("event")) > 3


def test_no_save_waits_for_what_verify_looks_at_long(
    path: Path, logbook: Logbook, run: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    damage, waited = verify.damage, []

    def slow(sql: sqlite3.Connection) -> Iterator[str]:
        yield from damage(sql)
        began = time.monotonic()
        other.write(put("event", {"session": run}))
        waited.append(time.monotonic() - began)

    monkeypatch.setattr(verify, "damage", slow)
    with Logbook.open(path, device="other") as other:
        assert logbook.verify().problems == ()
    [longest] = waited
    assert longest < 0.5


def test_a_copy_that_cannot_be_made_is_done_without(
    path: Path, logbook: Logbook, run: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr(backup, "_copy_apart", full)
    assert logbook.verify().problems == ()
    logbook.close()
    spoil(path, SPOILT["body"])
    with Logbook.open(path, device="d") as again:
        assert len(again.verify().problems) == 1


def test_a_newer_file_is_compared_too(path: Path, logbook: Logbook, run: str) -> None:
    logbook.close()
    spoil(path, "PRAGMA user_version = 99")
    with Logbook.open(path, device="d") as newer:
        assert newer.read_only
        assert newer.verify().problems == ()
    spoil(path, SPOILT["body"])
    with Logbook.open(path, device="d") as newer:
        assert newer.verify().problems == (
            "The table current is not what the revisions say; rebuild the logbook.",
        )


@pytest.mark.parametrize("mark", ["user_version", "application_id"])
def test_a_damaged_bit_of_a_mark_in_the_header_is_healed(
    path: Path, logbook: Logbook, run: str, mark: str
) -> None:
    """Nobody is told to update trackside, or that this is no logbook."""
    state = logbook.state(run)
    logbook.close()
    whole = path.read_bytes()
    for bit in range(32):
        content = bytearray(whole)
        content[MARKS[mark] + bit // 8] ^= 1 << bit % 8
        path.write_bytes(content)
        with Logbook.open(path, device="d", read_only=True) as reader:
            assert (reader.notice, reader.state(run)) == ("", state)
        with Logbook.open(path, device="d") as again:
            assert (again.read_only, again.notice, again.state(run)) == (False, "", state)
            assert again.verify().problems == ()
            assert again._rows("PRAGMA user_version") == [(VERSION,)]
            assert again._rows("PRAGMA application_id") == [(APPLICATION_ID,)]


def test_a_damaged_description_of_the_tables_is_a_sentence(
    path: Path, logbook: Logbook, run: str
) -> None:
    logbook.close()
    content = path.read_bytes()
    assert content.count(b"typed TEXT NOT NULL") == 1
    path.write_bytes(content.replace(b"typed TEXT NOT NULL", b"tyqed TEXT NOT NULL"))
    with Logbook.open(path, device="d") as again:
        with pytest.raises(LogbookDamaged, match="no such column"):
            again.readings("FL", "rebound")
        assert again.verify().problems == (
            "The description of reading in the file is not as it was written down.",
        )
        with pytest.raises(LogbookDamaged, match=r"No copy was made.*description of reading"):
            again.back_up(path.with_name("copy"))
        again.rebuild()
        assert again.verify().problems == ()


def test_a_lost_guard_of_the_revisions_is_named(path: Path, logbook: Logbook, run: str) -> None:
    logbook.close()
    content = path.read_bytes()
    assert content.count(b"BEFORE DELETE ON") == 1
    path.write_bytes(content.replace(b"BEFORE DELETE ON", b"BEFORE UPDATE ON"))
    with Logbook.open(path, device="d") as again:
        [problem] = again.verify().problems
        assert "revision_never_goes" in problem
        assert again.look_through() == (problem,)
        with pytest.raises(LogbookDamaged, match="revision_never_goes"):
            again.back_up(path.with_name("copy"))


UNFINDABLE = {
    "the length of a text": "UPDATE words_docsize SET sz = x'03000000' WHERE id = 3",
    "a length beside it": "UPDATE words_docsize SET sz = x'01000001' WHERE id = 3",
    "all lengths": "UPDATE words_data SET block = x'0205000000' WHERE id = 1",
    "the index": "UPDATE words_data SET block = zeroblob(length(block)) WHERE id > 10",
}


@pytest.mark.parametrize("what", UNFINDABLE)
def test_a_damaged_index_of_words_is_named(
    path: Path, logbook: Logbook, run: str, what: str
) -> None:
    logbook.close()
    with sqlite3.connect(path) as sql:
        before = sql.total_changes
        sql.execute(UNFINDABLE[what])
        assert sql.total_changes > before
    sql.close()
    with Logbook.open(path, device="d") as again:
        assert (
            again.look_through()
            == again.verify().problems
            == ("The table words is not what the revisions say; rebuild the logbook.",)
        )
        with pytest.raises(LogbookDamaged, match="The table words"):
            again.back_up(path.with_name("copy"))
        again.rebuild()
        assert again.verify().problems == ()
        again.back_up(path.with_name("copy"))
