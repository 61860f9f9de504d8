"""The verdict on a change from the command line, and the history of what was said."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from tests.running import Cli
from trackside.logbook import Logbook, patch, put


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A logbook with a session of today and a reason without a verdict."""
    path = tmp_path / "team.trackside"
    with Logbook.open(path, author="Mara", device="d") as logbook:
        event = put("event", {"venue": "Harrow Fen", "date": date.today().isoformat()})
        run = put("session", {"kind": "race", "event": event.entity, "status": "done"})
        reason = {"session": run.entity, "what": "Rear bar softer", "reason": "loose"}
        note = put("note", {"session": run.entity, "words": "loose", "turn": "3"})
        logbook.write(event, run, put("change", reason), note)
        logbook.write(patch("note", note.entity, {"turn": "4"}))
    return path


def test_what_waits_is_listed_and_judged(cli: Cli, log: Path) -> None:
    [waits] = cli("--log", log, "verdict", "--json").json["reasons"]
    assert (waits["waits"], waits["what"], waits["verdict"]) == (True, "Rear bar softer", "")
    listed = cli("--log", log, "verdict").out
    assert waits["id"] in listed
    assert "Rear bar softer: loose" in listed
    given = cli("--log", log, "verdict", "last", "no", "same lap", "--json").json["reasons"]
    assert [one["verdict"] for one in given] == ["no difference"]
    assert given[0]["verdict_words"] == "same lap"
    assert "No change waits" in cli("--log", log, "verdict").out
    again = cli("--log", log, "verdict", waits["id"], "worse")
    assert (again.status, again.err) == (0, "")
    assert "→ worse" in again.out


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("last", "great"), "“great” is no verdict"),
        (("last",), "“” is no verdict"),
        (("last-4", "better"), "There is no session"),
        (("ffff", "better"), "There is no session"),
        (("zz", "better"), "There is no session"),
    ],
)
def test_what_cannot_be_used_writes_nothing(
    cli: Cli, log: Path, arguments: tuple[str, ...], told: str
) -> None:
    ran = cli("--log", log, "verdict", *arguments)
    assert (ran.status, ran.out, ran.err.count("\n")) == (2, "", 1)
    assert told in ran.err
    assert len(cli("--log", log, "verdict", "--json").json["reasons"]) == 1


def test_one_session_with_several_is_asked_which(cli: Cli, log: Path) -> None:
    with Logbook.open(log, author="Mara", device="d") as logbook:
        session = logbook.session_lines()[0].entity
        logbook.write(put("change", {"session": session, "reason": "also"}))
    ran = cli("--log", log, "verdict", "last", "better")
    assert (ran.status, ran.out) == (2, "")
    assert "2 changes wait for a verdict in that session: name the reason" in ran.err
    for one in cli("--log", log, "verdict", "--json").json["reasons"]:
        assert cli("--log", log, "verdict", one["id"], "b").status == 0
    ran = cli("--log", log, "verdict", "last", "better")
    assert "no change waits for a verdict in that session" in ran.err


def test_a_verdict_is_changed_after_the_event_with_a_reason(
    cli: Cli, samples_log: Path, tmp_path: Path
) -> None:
    log = tmp_path / "season.trackside"
    log.write_bytes(samples_log.read_bytes())
    shown = cli("--log", log, "show", "last", "--json").json
    [reason] = shown["reasons"]
    at = ("--log", log, "verdict", reason["id"][-6:], "worse")
    refused = cli(*at)
    assert (refused.status, refused.out) == (2, "")
    assert "needs its reason: give it with --reason" in refused.err
    assert cli(*at, "--reason", "the watch was wrong").status == 0
    told = cli("--log", log, "history", "last", "reasons").out
    assert "verdict: better → worse" in told
    assert "the watch was wrong" in told


def test_the_history_of_a_note(cli: Cli, log: Path) -> None:
    told = cli("--log", log, "history", "last", "notes").out
    assert "turn: 3 → 4" in told
    assert "written down" in told
    newest, first = cli("--log", log, "history", "last", "notes", "--json").json
    assert newest["changes"] == [{"path": "turn", "before": "3", "after": "4"}]
    assert newest["entity"] == first["entity"]
    assert "is no value of a session" in cli("--log", log, "history", "last", "note").err
