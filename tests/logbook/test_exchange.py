"""Taking a logbook along: JSON there and back, CSV for a spreadsheet."""

from __future__ import annotations

import copy
import csv
import io
import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.errors import BadImport
from trackside.logbook import Logbook, drop, patch, put
from trackside.logbook.exchange import export_csv, export_json, import_json
from trackside.logbook.revisions import cleaned


def fill(logbook: Logbook) -> str:
    event = put("event", {"venue": "=Harrow Fen", "date": "2026-05-09"})
    reading = {"typed": "-2,5", "unit": "°", "si": -0.0436}
    run = put(
        "session",
        {
            "event": event.entity,
            "driver": "@Ines",
            "FL": {"camber": reading, "bump_stop": "-soft"},
            "items": {"Wing 1.5": "+2 holes"},
        },
    )
    logbook.write(event, run, put("aerial", {"of": 3}), reason="Saturday")
    return run.entity


def test_there_and_back_is_the_same(logbook: Logbook) -> None:
    fill(logbook)
    document = json.loads(json.dumps(export_json(logbook)))
    with Logbook.open(":memory:") as other:
        assert import_json(other, document) == (3, 0, ())
        assert export_json(other) == document
        assert other.verify() == (3, ())
        assert import_json(other, document) == (0, 3, ())
        assert other.verify().revisions == 3
        assert {item["reason"] for item in document["entities"]} == {"Saturday"}


def test_what_is_here_is_never_overwritten(logbook: Logbook) -> None:
    run = fill(logbook)
    document = export_json(logbook)
    logbook.write(patch("session", run, {"driver": "Otto"}))
    assert import_json(logbook, document) == (0, 2, (run,))
    logbook.write(drop("session", run))
    assert import_json(logbook, document).left == (run,)
    assert logbook.state(run) is None


def test_taking_in_is_one_step_of_undo(logbook: Logbook) -> None:
    with Logbook.open(":memory:") as other:
        fill(other)
        import_json(logbook, export_json(other))
    assert len(logbook.undo()) == 3
    assert logbook.standing() == []


@pytest.mark.parametrize(
    ("damage", "cause"),
    [
        (lambda d: d.update(format="other"), "not a trackside logbook"),
        (lambda d: d.update(version=2), "version 2"),
        (lambda d: d.update(entities={}), "no list"),
        (lambda d: d["entities"].append("x"), "not an object"),
        (lambda d: d["entities"].append(d["entities"][0]), "stands twice"),
        (lambda d: d["entities"][1].update(entity="x' OR 1"), "no identifier"),
        (lambda d: d["entities"][1].update(body=[1]), "no kind or no body"),
        (lambda d: d["entities"][1].update(kind=""), "no kind or no body"),
        (lambda d: d["entities"][1].update(author=3), "no text"),
        (lambda d: d["entities"][1].update(recorded_at="noon"), "not a date"),
        (lambda d: d["entities"][1].update(recorded_at=7), "cannot be taken in"),
        (lambda d: d["entities"][0]["body"].update(date="tomorrow"), "Event cannot be read"),
        (lambda d: d["entities"][2]["body"].update(x=float("nan")), "cannot be written down"),
    ],
)
def test_a_bad_file_leaves_nothing_behind(logbook: Logbook, damage, cause: str) -> None:
    fill(logbook)
    document = copy.deepcopy(export_json(logbook))
    damage(document)
    with Logbook.open(":memory:") as other:
        with pytest.raises(BadImport, match=cause):
            import_json(other, document)
        assert other.standing() == []


def test_control_characters_are_left_outside(logbook: Logbook) -> None:
    document = export_json(logbook)
    entity = put("note", {}).entity
    body = {"session": "s", "words": "red\x1b[31m"}
    document["entities"] = [{"entity": entity, "kind": "note", "body": body}]
    import_json(logbook, document)
    assert logbook.state(entity) == {"session": "s", "words": "red[31m"}
    assert "u001b" not in logbook._rows("SELECT envelope FROM revision")[0][0]


def test_a_spreadsheet_gets_every_reading_and_no_formula(logbook: Logbook) -> None:
    run = fill(logbook)
    stream = io.StringIO(newline="")
    assert export_csv(logbook, stream) == 4
    rows = {row["field"]: row for row in csv.DictReader(io.StringIO(stream.getvalue()))}
    assert rows["camber"]["typed"] == "-2,5"  # a number may start with its sign
    assert float(rows["camber"]["si"]) == -0.0436
    assert rows["camber"]["corner"] == "FL"
    assert rows["bump_stop"]["typed"] == "'-soft"
    assert rows["items.Wing 1.5"]["typed"] == "'+2 holes"
    assert rows["driver"]["typed"] == "'@Ines"
    assert rows["driver"]["venue"] == "'=Harrow Fen"
    assert rows["driver"]["session"] == run[-6:]


@given(st.text(max_size=8) | st.from_regex(r"['=+@-].{0,5}", fullmatch=True))
def test_what_a_spreadsheet_gets_can_be_told_back(typed: str) -> None:
    with Logbook.open(":memory:") as logbook:
        words = cleaned(typed)
        logbook.write(put("session", {"driver": words}))
        stream = io.StringIO(newline="")
        export_csv(logbook, stream)
    [row] = csv.DictReader(io.StringIO(stream.getvalue(), newline=""))
    assert row["typed"].removeprefix("'") == words
    assert row["typed"][:1] not in tuple("=@\t\r\n")


def test_the_sample_weekends_can_be_taken_in(logbook: Logbook) -> None:
    file = Path(__file__).parents[2] / "sample_sessions" / "weekends.json"
    if not file.exists():
        pytest.skip("no sample weekends beside these tests")
    document = json.loads(file.read_text("utf-8"))
    assert import_json(logbook, document).added == len(document["entities"])
    assert export_json(logbook)["entities"][0].keys() == document["entities"][0].keys()
    assert logbook.verify().problems == ()
