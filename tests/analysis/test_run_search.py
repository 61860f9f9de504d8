"""Runs found by what is on record of them: compared with looking at every value by hand."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trackside.analysis.recall import first_unit
from trackside.analysis.run_query import read_query
from trackside.analysis.run_search import FoundRun, Runs
from trackside.logbook import Logbook, drop, patch, put
from trackside.preferences import Preferences
from trackside.records import Reading, Session
from trackside.records.fields import CORNERS
from trackside.reports.find_words import hits_words
from trackside.units import from_si

PREFERENCES = Preferences()


def find(logbook: Logbook, text: str) -> list[FoundRun]:
    runs = Runs(logbook)
    query = read_query(text, first_unit, runs.items)
    return [runs.found(place, query) for place in runs.places(query)]


def told(logbook: Logbook, text: str) -> list[str]:
    return [hits_words(found, PREFERENCES) for found in find(logbook, text)]


def value(typed: str, quantity: str, unit: str = "") -> dict[str, object]:
    found = Reading.of_text(typed, quantity, unit)
    assert found is not None
    return found.body()


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with Logbook.open(tmp_path / "log.trackside", author="ann", device="here") as logbook:
        event = put("event", {"venue": "Fen", "date": "2026-05-09", "title": "Second round"})
        car = put("car", {"name": "Coupé"})
        first = put("session", {
            "event": event.entity, "car": car.entity, "kind": "race", "start": "2026-05-09 10:00",
            "driver": "Ida Kestrup", "tyre_set": "S3", "status": "done",
            "fuel": value("40", "fuel", "L"), "lap_times": [95.2, 94.9],
            "items": {"Front bar": "28 mm, hole 3"},
            "FL": {"damper": "TW-2241", "rebound_bleed": value("8", "clicks"),
                   "hot_pressure": value("27.6", "pressure", "psi"), "toe": value("1", "toe")},
            "FR": {"damper": "TW-2242", "rebound_bleed": value("9", "clicks"),
                   "hot_pressure": {"typed": "1,9 baar"}},
        })  # fmt: skip
        second = put("session", {
            "event": event.entity, "car": car.entity, "kind": "race", "start": "2026-05-10 10:00",
            "driver": "Teo Vannick", "fuel": value("30", "fuel", "kg"),
            "best_lap": value("1:34", "lap time"),
            "FL": {"both_bleed": value("12", "clicks"), "toe": value("0.2°", "toe")},
        })  # fmt: skip
        note = put("note", {"session": first.entity, "words": "The rear steps out,\nlate."})
        logbook.write(event, car, first, second, note)
        yield logbook


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("rebound > 8", ["FL bump+reb 12", "FR rebound 9"]),
        ("fl rebound >= 8", ["FL bump+reb 12", "FL rebound 8"]),
        ("rebound between 8 and 9", ["FL rebound 8"]),
        ("rebound < 8", []),
        ("hot fl > 1.9 bar", ["FL hot 1.90 bar"]),
        ("hot = 27.6 psi", ["FL hot 1.90 bar"]),
        ("hot > 1 bar fuel > 35 L", ["FL hot 1.90 bar · fuel 40.0 L"]),
        ("fuel > 1 kg", ["fuel 30.0 kg"]),
        ("toe > 0.1", ["FL toe 1.00 mm"]),
        ("toe > 0.1°", ["FL toe 0.20 °"]),
        ("best lap < 1:35", ["best lap 1:34.000", "of its laps best lap 1:34.900"]),
        ("laps = 2", ["of its laps laps 2"]),
        ("front bar = 3", ["Front bar 28 mm, hole 3"]),
        ("driver = kest", ["driver Ida Kestrup"]),
        ("venue = fen date >= 2026-05-10", ["venue Fen · date 2026-05-10 10:00"]),
        ("event = second", ["event Second round"] * 2),
        ("car = coupe session = race", ["car Coupé · kind race"] * 2),
        ("damper = tw-2242", ["FR damper TW-2242"]),
        ("note = rear", ["note “The rear steps out, late.”"]),
        ("reason = rear", []),
        ("“rear steps out late”", ["note “The rear steps out, late.”"]),
        ("steps rear", ["note “The rear steps out, late.”"]),
        ("“out steps”", []),
        ("S3 2241", ["tyre set S3 · FL damper TW-2241"]),
        ("hole coupe", ["Front bar 28 mm, hole 3 · car Coupé"]),
        ("", ["", ""]),
    ],
)
def test_what_fits_is_said_with_where_it_is(logbook: Logbook, text: str, said: list[str]) -> None:
    assert told(logbook, text) == said


def test_a_note_is_quoted_without_its_turn_and_driver(logbook: Logbook) -> None:
    [found] = find(logbook, "teo")
    said = {"words": "Understeer in the fast one", "turn": "Hairpin", "driver": "Teo Vannick"}
    logbook.write(put("note", {"session": found.run.entity, **said}))
    assert told(logbook, "understeer") == ["note “Understeer in the fast one”"]
    [by_its_turn] = told(logbook, "note = hairpin")
    assert "Hairpin" in by_its_turn


def test_a_hit_names_its_cell(logbook: Logbook) -> None:
    paths = {
        "rebound = 9": "FR.rebound_bleed", "hole": "items.Front bar", "teo": "driver",
        "fen": "event", "date = 2026-05-09": "start", "laps = 2": "lap_times", "steps": "",
    }  # fmt: skip
    assert {text: find(logbook, text)[0].hits[0].path for text in paths} == paths


def test_what_was_dropped_or_changed_is_found_no_more(logbook: Logbook) -> None:
    [found] = find(logbook, "rebound = 9")
    logbook.write(patch("session", found.run.entity, {"FR.rebound_bleed": value("3", "clicks")}))
    assert find(logbook, "rebound = 9") == []
    assert len(find(logbook, "rebound = 3")) == 1
    logbook.write(drop("session", found.run.entity))
    assert find(logbook, "rebound = 3") == []
    assert find(logbook, "“rear steps”") == []


def test_a_value_that_the_table_has_wrong_is_not_shown(logbook: Logbook, tmp_path: Path) -> None:
    with sqlite3.connect(tmp_path / "log.trackside") as sql:
        sql.execute("UPDATE reading SET si = 30, typed = '30' WHERE typed = '9'")
    sql.close()
    [found] = find(logbook, "rebound = 30")
    assert hits_words(found, PREFERENCES) == "FR rebound 9"
    assert logbook.unread.of()


@pytest.fixture(scope="module")
def sessions(samples: Logbook) -> dict[str, Session]:
    """The runs of the season, read one by one."""
    return dict(samples.session_records(line.entity for line in samples.session_lines()))


@given(corner=st.sampled_from(["", *CORNERS]), sign=st.sampled_from(["<", "<=", ">", ">=", "="]),
       limit=st.integers(0, 30))  # fmt: skip
@settings(max_examples=60)
def test_the_sample_season_gives_what_looking_by_hand_gives(
    samples: Logbook, sessions: dict[str, Session], corner: str, sign: str, limit: int
) -> None:
    by_hand = {
        entity
        for entity, session in sessions.items()
        if any(_fits(session, c, sign, limit) for c in ([corner] if corner else CORNERS))
    }
    assert {one.run.entity for one in find(samples, f"bump {corner} {sign} {limit}")} == by_hand


def _fits(session: Session, corner: str, sign: str, limit: float) -> bool:
    counts = (session.corner(corner).si(name) for name in ("bump_bleed", "both_bleed"))
    shown = [from_si(si, "clicks") for si in counts if si is not None]
    return any(
        {"<": n < limit, "<=": n <= limit, ">": n > limit, ">=": n >= limit, "=": n == limit}[sign]
        for n in shown
    )


def test_a_job_is_found_with_its_run(tmp_path: Path) -> None:
    with Logbook.open(tmp_path / "log.trackside", author="t", device="t") as logbook:
        run = put("session", {"kind": "practice", "start": "2026-05-09 10:00"})
        job = put("job", {"session": run.entity, "words": "Change the front pads"})
        logbook.write(run, job)
        runs = Runs(logbook)
        query = read_query("front pads", Preferences().unit, runs.items)
        [place] = runs.places(query)
        hits = runs.found(place, query).hits
        assert {(hit.kind, hit.words) for hit in hits} == {
            ("job", "Change the front pads"),
            ("job", "…the front pads"),
        }


@pytest.mark.parametrize(
    ("words", "asked", "shown"),
    [
        ("Rear steps out", "rear", "Rear steps out"),
        ("and then the rear steps out", "rear", "…then the rear steps out"),
        ("the other rear steps out", "rear", "the other rear steps out"),
        (
            "when all is over garçon",
            "garcon",
            "when all is over garçon",
        ),  # an accent
        ("of a very long rear " + "x" * 200, "rear", ("…very long rear " + "x" * 200)[:121]),
    ],
)
def test_of_a_long_note_the_words_around_the_one_found_are_shown(
    logbook: Logbook, words: str, asked: str, shown: str
) -> None:
    """Eight letters before it at least, 120 in all: our own."""
    [found] = find(logbook, "teo")
    logbook.write(put("note", {"session": found.run.entity, "words": words}))
    hits = [hit for one in find(logbook, f"{asked} teo") for hit in one.hits if hit.kind == "note"]
    assert [hit.words for hit in hits] == [shown]


@pytest.mark.parametrize("asked", ["tyres = K9", 'tyres = "K9"', "rear set = K9", "k9"])
def test_a_set_on_the_rear_axle_alone_is_found(logbook: Logbook, asked: str) -> None:
    assert told(logbook, asked) == []
    [run, *_] = [line for line in logbook.session_lines() if line.driver == "Ida Kestrup"]
    logbook.write(patch("session", run.entity, {"rear_set": "K9"}))
    assert told(logbook, asked) == ["rear set K9"]
