"""Taking a logbook along: JSON there and back, whatever was written down."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.errors import BadImport
from trackside.logbook import Logbook, drop, patch, put
from trackside.logbook.exchange import export_json, import_json


def exported(logbook: Logbook) -> str:
    stream = io.StringIO(newline="")
    export_json(logbook, stream)
    return stream.getvalue()


def document_of(logbook: Logbook) -> dict:
    return json.loads(exported(logbook))


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
    document = document_of(logbook)
    with Logbook.open(":memory:") as other:
        assert import_json(other, document) == (3, 0, ())
        assert document_of(other) == document
        assert other.verify()[:2] == (3, ())
        assert import_json(other, document) == (0, 3, ())
        assert other.verify().revisions == 3
        assert {item["reason"] for item in document["entities"]} == {"Saturday"}


def test_what_is_here_is_never_overwritten(logbook: Logbook) -> None:
    run = fill(logbook)
    document = document_of(logbook)
    logbook.write(patch("session", run, {"driver": "Otto"}))
    assert import_json(logbook, document) == (0, 2, (run,))
    logbook.write(drop("session", run))
    assert import_json(logbook, document).left == (run,)
    assert logbook.state(run) is None


def test_taking_in_is_one_step_of_undo(logbook: Logbook) -> None:
    with Logbook.open(":memory:") as other:
        fill(other)
        import_json(logbook, document_of(other))
    assert len(logbook.undo()) == 3
    assert logbook.current_states() == []


@pytest.mark.parametrize(
    ("damage", "cause"),
    [
        (lambda d: d.update(format="other"), "not a trackside logbook"),
        (lambda d: d.update(version=2), "version 2"),
        (lambda d: d.update(entities={}), "no list"),
        (lambda d: d["entities"].append("x"), "not an object"),
        (lambda d: d["entities"].append(d["entities"][0]), "twice"),
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
    document = document_of(logbook)
    damage(document)
    with Logbook.open(":memory:") as other:
        with pytest.raises(BadImport, match=cause):
            import_json(other, document)
        assert other.current_states() == []


def test_control_characters_are_left_outside(logbook: Logbook) -> None:
    document = document_of(logbook)
    entity = put("note", {}).entity
    body = {"session": "s", "words": "red\x1b[31m"}
    document["entities"] = [{"entity": entity, "kind": "note", "body": body}]
    import_json(logbook, document)
    assert logbook.state(entity) == {"session": "s", "words": "red[31m"}
    assert "u001b" not in logbook._rows("SELECT envelope FROM revision")[0][0]


ENTITY = st.uuids(version=4).map(str)
HOSTILE = st.text(st.characters(exclude_categories=["Cs"]), max_size=12) | st.sampled_from(
    ["=1+1", "@x", "-", "\t", "\r\n", "\\u0000", "\x1b[31m", "\u202e", "[/", "'", '"', "\u2028",
     "</script>", "{}", "%s", "é", "\U0001f3c1", "\ufeff", "null"]
)  # fmt: skip
JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | HOSTILE
    | st.floats(allow_nan=False, allow_infinity=False),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(HOSTILE, inner, max_size=3),
    max_leaves=8,
)  # fmt: skip
READING = st.fixed_dictionaries(
    {
        "typed": HOSTILE,
        "unit": st.sampled_from(["", "°", "bar"]),
        "si": st.none() | st.floats(-1e9, 1e9),
    }
)


@given(
    st.dictionaries(
        ENTITY,
        st.tuples(st.sampled_from(["aerial", "=kind", "kite"]), st.dictionaries(HOSTILE, JSON))
        | st.tuples(st.just("note"), st.fixed_dictionaries({"session": HOSTILE, "words": HOSTILE}))
        | st.tuples(
            st.just("session"),
            st.fixed_dictionaries({"driver": HOSTILE, "FL": st.dictionaries(HOSTILE, READING)}),
        ),
        max_size=4,
    ),
    HOSTILE,
    HOSTILE,
)
def test_whatever_stands_comes_back_the_same(records: dict, author: str, reason: str) -> None:
    with Logbook.open(":memory:", author=author) as here, Logbook.open(":memory:") as there:
        for entity, (kind, body) in records.items():
            here.write(put(kind, body, entity), reason=reason)
        given = exported(here)
        assert import_json(there, json.loads(given)) == (len(records), 0, ())
        assert exported(there) == given
        assert there.current_states() == here.current_states()
        assert there.verify().problems == ()
        assert import_json(there, json.loads(given)).same == len(records)


def test_the_sample_weekends_can_be_taken_in(logbook: Logbook) -> None:
    file = Path(__file__).parents[2] / "sample_sessions" / "weekends.json"
    if not file.exists():
        pytest.skip("no sample weekends beside these tests")
    document = json.loads(file.read_text("utf-8"))
    assert import_json(logbook, document).added == len(document["entities"])
    assert document_of(logbook)["entities"][0].keys() == document["entities"][0].keys()
    assert logbook.verify().problems == ()
