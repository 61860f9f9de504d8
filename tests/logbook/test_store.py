"""Writing and reading back: the truth never changes, what is made from it can be made anew."""

from __future__ import annotations

import os
import sqlite3
import stat
import threading
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from trackside.errors import BadRecord, LogbookError, UnknownRecord
from trackside.logbook import Logbook, drop, patch, put
from trackside.logbook.canonical import digest
from trackside.logbook.projections import PROJECTED
from trackside.logbook.rows import sort_key
from trackside.logbook.schema import APPLICATION_ID, VERSION

FIELDS = ["driver", "start", "FL.camber", "FL.hot_pressure", "items.Bar 1.5", "event", "surface"]
READING = {"typed": "1,9", "unit": "bar", "si": 190000.0}


def weekend(logbook: Logbook) -> tuple[str, str, str]:
    event = put("event", {"venue": "Harrow Fen", "date": "2026-05-09"})
    car = put("car", {"name": "Car 7"})
    run = {"event": event.entity, "car": car.entity, "kind": "practice", "driver": "Ines Halloran"}
    session = put("session", run | {"FL": {"hot_pressure": READING}, "surface": "wet"})
    logbook.write(event, car, session)
    return event.entity, car.entity, session.entity


def test_a_session_is_listed_with_what_belongs_to_it(logbook: Logbook) -> None:
    event, car, session = weekend(logbook)
    logbook.write(put("note", {"session": session, "words": "pushes on entry"}))
    logbook.write(put("kept", {"session": session, "why": "won"}))
    logbook.write(patch("event", event, {"venue": "Harrow Fen South"}))
    logbook.write(patch("car", car, {"name": "Car 8"}))
    line = logbook.session_line(session)
    assert (line.venue, line.event_date, line.car_name) == (
        "Harrow Fen South",
        "2026-05-09",
        "Car 8",
    )
    assert (line.notes, line.changes, line.kept, line.hot_pressures) == (1, 0, True, True)
    assert (line.wet, line.laps, line.best_lap_s, line.short) == (True, None, None, session[-6:])
    assert logbook.session_count(car=car) == 1
    assert logbook.readings("FL", "hot_pressure") == [(session, "1,9", "bar", 190000.0)]
    [(_, note)] = logbook.notes(session)
    assert note["words"] == "pushes on entry"


def test_a_patch_changes_one_value_and_keeps_the_rest(logbook: Logbook) -> None:
    _, _, session = weekend(logbook)
    logbook.write(patch("session", session, {"items.Bar 1.5": "soft", "driver": None}))
    body = logbook.state(session)
    assert body is not None
    assert body["items"] == {"Bar 1.5": "soft"}
    assert "driver" not in body
    assert body["FL"] == {"hot_pressure": READING}


def test_a_dropped_entity_is_gone_from_every_list_but_not_from_history(logbook: Logbook) -> None:
    _, _, session = weekend(logbook)
    logbook.write(drop("session", session, reason="typed twice"))
    assert logbook.state(session) is None
    assert logbook.session_lines() == []
    assert logbook.readings("FL", "hot_pressure") == []
    assert [entry.op for entry in logbook.history(session)] == ["drop", "put"]
    with pytest.raises(UnknownRecord):
        logbook.write(patch("session", session, {"driver": "x"}))
    with pytest.raises(UnknownRecord):
        logbook.record(session)


def test_one_bad_write_keeps_nothing_of_the_save(logbook: Logbook) -> None:
    with pytest.raises(BadRecord):
        logbook.write(put("note", {"words": "good"}), put("note", {"rating": float("nan")}))
    assert logbook.all("note") == []
    assert logbook.verify().revisions == 0


def test_revisions_can_be_neither_changed_nor_deleted(logbook: Logbook, path: Path) -> None:
    weekend(logbook)
    stranger = sqlite3.connect(path)
    for statement in ("UPDATE revision SET via = 'x'", "DELETE FROM revision"):
        with pytest.raises(sqlite3.IntegrityError, match="a revision is never"):
            stranger.execute(statement)
    columns = "id, rev, envelope, received_at, via"
    with pytest.raises(sqlite3.IntegrityError, match="a revision is never replaced"):
        stranger.execute(f"REPLACE INTO revision ({columns}) SELECT {columns} FROM revision")
    stranger.close()


def test_every_hash_can_be_recomputed(logbook: Logbook, path: Path) -> None:
    weekend(logbook)
    stranger = sqlite3.connect(path)
    rows = stranger.execute("SELECT rev, envelope FROM revision").fetchall()
    assert len(rows) == 3
    assert all(digest(envelope) == rev for rev, envelope in rows)
    stranger.executescript("DROP TRIGGER revision_never_changes")
    stranger.execute("UPDATE revision SET envelope = replace(envelope, 'Ines', 'Inez')")
    stranger.commit()
    stranger.close()
    problems = logbook.verify().problems
    assert "Revision 3 is not what was written down." in problems


def test_verify_notices_a_projection_that_was_tampered_with(logbook: Logbook, path: Path) -> None:
    weekend(logbook)
    assert logbook.verify()[:2] == (3, ())
    stranger = sqlite3.connect(path)
    stranger.execute("UPDATE session_line SET driver = 'Nobody'")
    stranger.commit()
    stranger.close()
    assert logbook.verify().problems == (
        "The table session_line is not what the revisions say; rebuild the logbook.",
    )
    logbook.rebuild()
    assert logbook.verify().problems == ()


def test_the_pragmas_hold(logbook: Logbook, path: Path) -> None:
    weekend(logbook)
    pragmas = logbook._connection._pragma
    found = logbook._connection.call(
        lambda: [pragmas(name) for name in ("journal_mode", "synchronous", "foreign_keys")]
    )
    assert found == ["delete", 3, 1]
    stranger = sqlite3.connect(path)
    assert stranger.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)
    assert stranger.execute("PRAGMA user_version").fetchone() == (VERSION,)
    stranger.close()


@pytest.mark.skipif(os.name != "posix", reason="permission bits")
def test_a_new_file_is_for_its_owner_alone(logbook: Logbook, path: Path) -> None:
    weekend(logbook)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_kinds_and_fields_of_a_newer_version_are_kept(logbook: Logbook) -> None:
    body = {"session": "s", "drone": {"battery": {"left": [1, {"deep": True}]}}, "words": "from up"}
    [saved] = logbook.write(put("aerial", body))
    assert logbook.state(saved.entity) == body
    assert logbook.of_session("aerial", "s") == [(saved.entity, body)]
    logbook.write(patch("aerial", saved.entity, {"drone.pilot": "Bo"}))
    assert logbook.state(saved.entity)["drone"]["pilot"] == "Bo"
    with pytest.raises(UnknownRecord, match="needs a newer trackside"):
        logbook.record(saved.entity)


def test_words_come_back_without_control_characters(logbook: Logbook) -> None:
    [saved] = logbook.write(put("note", {"words": "red \x1b[31m\u202eflag\x9b"}), reason="a\x07b")
    assert logbook.state(saved.entity) == {"words": "red [31mflag"}
    [entry] = logbook.history(saved.entity)
    assert entry.reason == "ab"


def test_a_record_comes_back_as_its_model(logbook: Logbook) -> None:
    event, _, session = weekend(logbook)
    assert logbook.record(event).venue == "Harrow Fen"
    assert logbook.record(session).si("FL.hot_pressure") == 190000.0


def test_a_submitted_save_is_seen_by_the_next_read_and_cannot_be_cancelled(
    logbook: Logbook,
) -> None:
    futures = [logbook.submit(put("note", {"words": str(n)})) for n in range(20)]
    assert not any(future.cancel() for future in futures)
    assert len(logbook.all("note")) == 20
    assert [future.result()[0].seq for future in futures] == list(range(1, 21))


def test_a_failed_submit_gives_its_error_to_the_future(logbook: Logbook) -> None:
    future = logbook.submit(patch("note", "nothing", {"words": "x"}))
    assert isinstance(future.exception(5), UnknownRecord)


def test_only_the_owner_thread_may_touch_the_connection(logbook: Logbook) -> None:
    with pytest.raises(sqlite3.ProgrammingError, match="thread"):
        logbook._connection.sql.execute("SELECT 1")
    owners = {logbook._connection.call(threading.get_ident) for _ in range(5)}
    assert len(owners) == 1
    assert threading.get_ident() not in owners


def _read_on(logbook: Logbook, ended: list[BaseException]) -> None:
    try:
        while True:
            logbook.session_count()
    except BaseException as error:
        ended.append(error)


def test_a_read_that_races_the_end_is_told_in_a_sentence(tmp_path: Path) -> None:
    for number in range(20):
        logbook = Logbook.open(tmp_path / f"{number}.trackside", device="d")
        ended: list[BaseException] = []
        thread = threading.Thread(target=_read_on, args=(logbook, ended))
        thread.start()
        logbook.close()
        thread.join()
        assert [type(error) for error in ended] == [LogbookError]


def test_many_threads_lose_nothing(logbook: Logbook) -> None:
    def write(name: int) -> None:
        for count in range(10):
            logbook.write(put("note", {"words": f"{name} {count}"}))

    threads = [threading.Thread(target=write, args=(name,)) for name in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(logbook.all("note")) == 40
    assert logbook.verify()[:2] == (40, ())


def test_a_closed_logbook_says_so(path: Path) -> None:
    logbook = Logbook.open(path)
    logbook.submit(put("note", {"words": "last"}))
    logbook.close()
    logbook.close()
    with pytest.raises(LogbookError, match="closed"):
        logbook.all("note")
    with Logbook.open(path) as again:
        assert len(again.all("note")) == 1


def test_sessions_are_found_by_what_the_hands_call_them(logbook: Logbook) -> None:
    event, _, first = weekend(logbook)
    later = put("session", {"event": event, "start": "2026-05-09 14:20"})
    logbook.write(later)
    assert logbook.session("last") == first  # without a start it is the next to run
    assert logbook.session("last-1") == later.entity
    assert logbook.session(first) == first
    assert logbook.session(first[-6:].upper()) == first
    assert logbook.session(first[:-1]) == first
    for name in ("last-2", "%%%%", "abc", "", "zzzz", "____", first[:8]):
        with pytest.raises(UnknownRecord):
            logbook.session(name)
    with pytest.raises(UnknownRecord, match="Several"):
        logbook.session(first[:8])
    assert logbook.session_lines(before=first)[0].entity == later.entity
    assert logbook.session_lines(before=later.entity) == []


def test_the_board_pages_newest_first(logbook: Logbook) -> None:
    logbook.write(
        *(put("session", {"start": f"2026-05-{day:02d} 10:00", "driver": "A"}) for day in (2, 9, 5))
    )
    starts = [line.start[8:10] for line in logbook.session_lines()]
    assert starts == ["09", "05", "02"]
    assert [line.start[8:10] for line in logbook.session_lines(offset=1, limit=1)] == ["05"]
    assert logbook.session_lines(driver="B") == []


def test_sort_keys() -> None:
    newest_first = [
        sort_key("", "2026-10-03"),
        sort_key("2026-10-04 09:00", "2026-10-03"),
        sort_key("14:00", "2026-10-03"),
        sort_key("2026-10-03 10:00", "2026-10-03"),
        sort_key("2026-06-01 10:00", ""),
        sort_key("2026-05-09 10:00", "2026-05-09"),
    ]
    assert newest_first == sorted(newest_first, reverse=True)


RUN = st.fixed_dictionaries(
    {},
    optional={
        "event": st.sampled_from(["e1", "e2"]),
        "car": st.just("c1"),
        "start": st.sampled_from(["", "10:00", "2026-05-09 10:00"]),
        "best_lap": st.just({"typed": "1:30", "unit": "s", "si": 90.0}),
        "FL": st.dictionaries(st.sampled_from(["camber", "hot_pressure"]), st.just(READING)),
        "session": st.sampled_from(["s1", "s2"]),
        "venue": st.text(max_size=3),
        "words": st.text(max_size=5),
    },
)
KINDS = {"s1": "session", "s2": "session", "e1": "event", "e2": "event", "c1": "car"} | {
    "n1": "note",
    "k1": "kept",
    "x1": "unknown",
}
ACTION = st.one_of(
    st.tuples(st.just("put"), st.sampled_from(sorted(KINDS)), RUN),
    st.tuples(
        st.just("set"),
        st.sampled_from(sorted(KINDS)),
        st.dictionaries(
            st.sampled_from([*FIELDS, "session", "venue", "words"]),
            st.none() | st.sampled_from(["e1", "e2", "s1", "s2", "wet"]) | st.just(READING),
            max_size=2,
        ),
    ),
    st.tuples(st.just("drop"), st.sampled_from(sorted(KINDS)), st.none()),
    st.tuples(st.sampled_from(["undo", "redo"]), st.none(), st.none()),
    st.tuples(st.just("branch"), st.sampled_from(sorted(KINDS)), RUN),
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(ACTION, max_size=25))
def test_rebuilt_projections_equal_the_live_ones(actions: list) -> None:
    with Logbook.open(":memory:", device="d") as logbook:
        for op, entity, body in actions:
            if op in ("undo", "redo"):
                getattr(logbook, op)()
            elif op == "put":
                logbook.write(put(KINDS[entity], body, entity), reason="why")
            elif op == "branch":
                write = put(KINDS[entity], body, entity)
                logbook.write(type(write)(write.kind, "put", entity, body, parents=()))
            elif logbook.state(entity) is not None:
                change = patch(KINDS[entity], entity, body or {})
                logbook.write(change if op == "set" else drop(KINDS[entity], entity))
        live = {table: tables(logbook, table) for table in PROJECTED}
        assert logbook.verify().problems == ()
        logbook.rebuild()
        assert {table: tables(logbook, table) for table in PROJECTED} == live


def tables(logbook: Logbook, name: str) -> list[tuple]:
    return sorted(logbook._rows(f"SELECT * FROM {name}"), key=repr)
