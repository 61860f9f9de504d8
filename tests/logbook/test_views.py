"""The file in anybody's SQLite tool: tables and views with plain names, read without our code."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from trackside.logbook import Logbook, drop, patch, put


@pytest.fixture
def stranger(path: Path) -> Iterator[sqlite3.Connection]:
    """A plain connection to a logbook with a session, a note, a reason and a correction."""
    with Logbook.open(path, author="Mara", device="d") as logbook:
        event, car = put("event", {"venue": "Harrow Fen", "date": "2026-05-09"}), put("car", {})
        typed = {"typed": "-2,5", "unit": "°", "si": -0.0436}
        run = put("session", {"event": event.entity, "car": car.entity, "FL": {"camber": typed}})
        session = run.entity
        note = put("note", {"session": session, "words": "loose", "turn": "3", "driver": "Ines"})
        gone = put("note", {"session": session, "words": "never said"})
        change = put("change", {"session": session, "what": "rebound", "verdict": "better"})
        logbook.write(event, car, run, note, gone, change, reason="Saturday")
        corrected = {"FL.camber": typed | {"typed": "-2,4"}, "driver": "Otto"}
        logbook.write(patch("session", session, corrected), reason="gauge read twice")
        logbook.write(drop("note", gone.entity))
        logbook.rebuild()
    with closing(sqlite3.connect(path)) as sql:
        sql.row_factory = sqlite3.Row
        yield sql


def test_sessions_and_readings(stranger: sqlite3.Connection) -> None:
    [line] = stranger.execute("SELECT * FROM session_line")
    assert (line["venue"], line["driver"], line["notes"]) == ("Harrow Fen", "Otto", 1)
    [row] = stranger.execute("SELECT * FROM session_reading WHERE field = 'camber'")
    assert (row["corner"], row["typed"], row["unit"]) == ("FL", "-2,4", "°")
    assert (row["si"], row["session"]) == (-0.0436, line["short"])


def test_notes_and_changes(stranger: sqlite3.Connection) -> None:
    [note] = stranger.execute("SELECT * FROM session_note")
    assert (note["venue"], note["said_by"], note["turn"]) == ("Harrow Fen", "Ines", "3")
    assert (note["words"], note["author"]) == ("loose", "Mara")
    [change] = stranger.execute("SELECT * FROM session_change")
    assert (change["what"], change["verdict"]) == ("rebound", "better")


def test_the_history_of_a_value(stranger: sqlite3.Connection) -> None:
    rows = stranger.execute("SELECT * FROM value_history WHERE path = 'FL.camber'").fetchall()
    assert [(row["value"], row["author"], row["reason"]) for row in rows] == [
        ("-2,4", "Mara", "gauge read twice")
    ]
    kinds = [row["op"] for row in stranger.execute("SELECT DISTINCT op FROM value_history")]
    assert kinds == ["put", "set", "drop"]


def test_the_readme_names_the_views(stranger: sqlite3.Connection) -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    for view in ("session_line", "session_reading", "session_note", "session_change",
                 "value_history"):  # fmt: skip
        assert f"`{view}`" in readme
        stranger.execute(f"SELECT * FROM {view}")


def test_every_view_can_be_read(stranger: sqlite3.Connection) -> None:
    views = [
        name for (name,) in stranger.execute("SELECT name FROM sqlite_schema WHERE type='view'")
    ]
    assert {"session_reading", "session_note", "session_change", "value_history"} <= set(views)
    for view in views:
        stranger.execute(f"SELECT * FROM {view}").fetchall()


def test_the_newest_session_is_named_where_one_start_begins_the_other(logbook: Logbook) -> None:
    event = put("event", {"venue": "Harrow Fen", "date": "2026-05-09"})
    logbook.write(event)
    for start in ("2026-05-09 10:00", "2026-05-09 10:00 b"):
        body = {"event": event.entity, "start": start, "status": "done", "FL": {"damper": "Q-77"}}
        logbook.write(put("session", body))
    newest = logbook.session_lines(limit=1)[0]
    assert logbook.newest_ran("damper") == [("q-77", newest.entity, "FL")]
