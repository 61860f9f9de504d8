"""A run read from its text comes out as one read at length, or is left to be read at length."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from trackside.errors import TracksideError
from trackside.logbook import Logbook, put, rows
from trackside.logbook.canonical import canonical, digest
from trackside.logbook.fold import fold
from trackside.logbook.merge import Line
from trackside.logbook.plain_sheet import (
    MOST_NUMBERS,
    MOST_PLACES,
    MOST_SHAPES,
    Numbers,
    plain_sheet,
    statement_of,
)
from trackside.logbook.projections import PROJECTED
from trackside.logbook.revisions import Revision, seal

HOLE, CORNER = "\x7f", "\x80"
ENTITY = "0196b3f0-0000-7000-8000-000000000001"
BAR = {"typed": "1,45", "unit": "bar", "si": 145000.0}


def written(body: Any, **other: Any) -> tuple[str, str]:
    """A run put down once, with that body; `other` parts of its envelope as given."""
    said = {
        "parents": (), "device": "d", "seq": 1, "save": 1, "author": "Mara", "reason": "",
        "recorded_at": "2026-05-09T08:00:00.000Z",
    }  # fmt: skip
    envelope = canonical(
        json.loads(seal(put("session", {}, ENTITY), **said)[1]) | {"body": body} | other
    )  # type: ignore[arg-type]
    return digest(envelope), envelope


def at_length(number: int, one: tuple[str, str]) -> tuple:
    """What the tables take of it, the long way."""
    revision = Revision.read(*one)
    state = fold([revision])
    assert state.body is not None
    return (
        rows.current_row(revision, state, linear=True),
        sorted(rows.reading_rows(number, state.body)),
        rows.gist(state.body),
        rows.word_row("session", revision.entity, state.body, [revision.reason]),
    )


def written_by(places: Any, values: list) -> list[tuple]:
    """The rows that their statement writes, in the order in which it writes them."""
    with closing(sqlite3.connect(":memory:")) as sql:
        sql.execute("CREATE TABLE reading (session, corner, field, typed, unit, si)")
        if statement := statement_of(places):
            sql.execute(statement, values)
        return sql.execute("SELECT * FROM reading ORDER BY rowid").fetchall()


def from_text(number: int, one: tuple[str, str]) -> tuple | None:
    """The same from its text; None where it is left to the long way."""
    sheet = plain_sheet(number, one, Numbers())
    if sheet is None:
        return None
    latest, state, kept, places, values = sheet
    assert written_by(places, values) == sheet.rows()
    assert state.body is not None
    return (
        rows.current_row(latest, state, True, kept),
        sheet.rows(),
        rows.gist(state.body),
        rows.word_row("session", latest.entity, state.body, [latest.reason]),
    )


WORDS = st.text(max_size=8) | st.sampled_from(
    [
        "",
        HOLE,
        CORNER,
        '{"si":1.0,"typed":"9","unit":"bar"}',
        '"body":',
        ',"device":"',
        "null",
        "a{b}",
        "é",
    ]
)
NUMBERS = st.none() | st.integers() | st.floats(allow_nan=False, allow_infinity=False)
READINGS = st.fixed_dictionaries(
    {"typed": WORDS, "unit": st.sampled_from(["", "bar", "clicks"]), "si": NUMBERS}
)
ODD = st.sampled_from(
    [None, True, 3, 1e300, -0.0, [], [BAR], {}, {"x": BAR}, {"x": None}, {"typed": BAR, "unit": ""},
     {"typed": "1", "unit": "bar"}, {"typed": 1, "unit": "bar", "si": 1.0}, BAR | {"si": True},
     BAR | {"more": 1}, {"hot_pressure": BAR, "typed": "x"}, BAR | {"si": -(10**400)}]
)  # fmt: skip
VALUES = READINGS | READINGS | WORDS | ODD
NAMES = st.sampled_from(
    ["hot_pressure", "camber", "damper", "words", "typed", "unit", "a.b", "é", ""]
)
BODIES = st.dictionaries(
    st.sampled_from(
        ["FL", "FR", "RL", "RR", "items", "driver", "words", "laps", "best_lap", "x-y"]
    ),
    st.dictionaries(NAMES, READINGS, max_size=4) | st.dictionaries(NAMES, VALUES) | VALUES,
)


@example({"FL": [BAR], "FR": {"camber": BAR | {"typed": ""}}}, 1)
@example({"driver": {"hot_pressure": BAR}}, 1)
@example({"FL": {"typed": BAR, "unit": BAR}}, 1)
@example({"FL": {"camber": {"toe": BAR}}, "FR": {"camber": BAR}}, 1)
@example({"FL": [{"toe": BAR}], "FR": {"camber": BAR}}, 1)
@example({"laps": BAR | {"si": None}}, 1)
@given(BODIES, st.integers(1, 2**40))
def test_a_run_from_its_text_is_as_one_read_at_length(body: dict, number: int) -> None:
    one = written(body)
    if (found := from_text(number, one)) is not None:
        assert found == at_length(number, one)


@given(st.dictionaries(NAMES, READINGS, max_size=5), st.floats(-1e15, 1e15))
def test_sheets_as_this_program_writes_them_are_read_from_their_text(
    section: dict, pressure: float
) -> None:
    plain = {
        name: reading | {"typed": "7", "si": None if reading["si"] is None else pressure}
        for name, reading in section.items()
        if name != "typed"
    }
    body = dict.fromkeys(rows.CORNERS, plain) | {"driver": "Otto", "laps": BAR | {"si": 12.0}}
    body["FL"] = plain | {"damper": "S-101"}
    assert from_text(7, written(body)) == at_length(7, written(body))


@pytest.mark.parametrize(
    ("was", "now"),
    [
        ('"si":145000.0', '"si":145000.00'),
        ('"si":145000.0', '"si":1.45e5'),
        ('"si":145000.0', '"si":-0'),
        ('"si":145000.0', '"si":9007199254740993'),
        ('"si":145000.0', '"si":1e999'),
        ('"typed":"1,45"', '"typed": "1,45"'),
        ('"typed":"1,45"', '"typed":"1,45","typed":"1,46"'),
        ('"camber"', '"zebra"'),
        ('"camber"', '"toe"'),
        ('"driver":"Otto"', '"driver":"\\u004ftto"'),
        ('"driver":"Otto"', '"driver":null'),
        ('"},"toe"', '"},"camber"'),
        ('"driver":"Otto"', '"driver":"Otto","driver":"Ines"'),
        ('"driver":"Otto"', '"driver":"Otto" '),
        ('"parents":[]', '"parents":["x"]'),
        ('"author":"Mara"', '"author":{"si":1.0,"typed":"1","unit":""}'),
    ],
)
def test_what_another_program_spells_otherwise_is_read_at_length(was: str, now: str) -> None:
    _, envelope = written({"FL": {"camber": BAR, "toe": BAR}, "driver": "Otto"})
    assert was in envelope
    assert from_text(1, ("name", envelope)) is not None
    assert from_text(1, ("name", envelope.replace(was, now, 1))) is None


def test_a_corner_that_is_spelled_otherwise_and_lies_deeper_is_read_at_length() -> None:
    _, envelope = written({"FL": {"camber": BAR}, "x": [{"camber": BAR, "toe": BAR}]})
    assert from_text(1, ("name", envelope)) is None
    camber, toe = canonical({"camber": BAR})[1:-1], canonical({"toe": BAR})[1:-1]
    assert f"{camber},{toe}" in envelope
    other = envelope.replace(f"{camber},{toe}", f"{toe},{camber}")
    assert from_text(1, ("name", other)) is None


def test_what_is_no_json_is_left_to_the_long_way() -> None:
    _, envelope = written({"FL": {"camber": BAR, "toe": BAR}})
    for broken in (envelope[:-1], envelope.replace('"},"toe"', '"}"toe"'), envelope + "}"):
        assert from_text(1, ("name", broken)) is None
        with pytest.raises(TracksideError):
            Revision.read("name", broken)


def test_the_numbers_remembered_are_no_more_than_told() -> None:
    numbers = Numbers()
    for number in range(MOST_NUMBERS + 5):
        assert numbers[f"{number}.0"] == number
    assert len(numbers) == 5


def test_a_rebuild_comes_to_the_same_with_and_without(monkeypatch: pytest.MonkeyPatch) -> None:
    lines: list[Line] = []
    for n in range(9):
        body = {"FL": {"camber": BAR | {"si": float(n)}, "damper": "S-1"}, "words": f"{n}"}
        before = lines[-1].rev if lines else ""
        one = written(body, entity=f"e{n}", seq=n + 1, save=n + 1, before=before)
        lines.append(Line(*one))
    with Logbook.open(":memory:", device="here") as logbook:
        logbook.take(lines, via="test")
        live = {table: logbook._rows(f"SELECT * FROM {table}") for table in PROJECTED}
        logbook.rebuild()
        quick = {table: logbook._rows(f"SELECT * FROM {table}") for table in PROJECTED}
        monkeypatch.setattr("trackside.logbook.projections.plain_sheet", lambda *_: None)
        logbook.rebuild()
        slow = {table: logbook._rows(f"SELECT * FROM {table}") for table in PROJECTED}
    assert quick == live == slow
    assert len(quick["reading"]) > len(lines)


def test_sheets_that_no_statement_can_write_are_written_all_the_same() -> None:
    """None of their values, a name with a quote, and more values than a statement takes."""
    assert statement_of(()) == ""
    assert statement_of((("FL", "driver's", True),)) == ""
    assert statement_of((("FL", "camber", False),) * (MOST_PLACES + 1)) == ""
    bodies: list[Any] = [
        {"x": 1},
        {"FL": {"driver's": BAR, "damper": "S-1"}},
        {"FL": {f"n{n}": BAR for n in range(MOST_PLACES + 1)}},
    ]
    with Logbook.open(":memory:", device="here") as logbook:
        logbook.write(*(put("session", body) for body in bodies))
        live = logbook._rows("SELECT * FROM reading")
        logbook.rebuild()
        assert logbook._rows("SELECT * FROM reading") == live
        assert len(live) == MOST_PLACES + 3


def test_more_ways_of_filling_in_than_are_remembered_come_to_the_same() -> None:
    with Logbook.open(":memory:", device="here") as logbook:
        logbook.write(
            *(put("session", {"FL": {f"n{n}": BAR, "camber": BAR}}) for n in range(MOST_SHAPES + 9))
        )
        live = logbook._rows("SELECT * FROM reading")
        logbook.rebuild()
        assert logbook._rows("SELECT * FROM reading") == live
