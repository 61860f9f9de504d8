"""The walk round the car in words."""

from __future__ import annotations

from trackside.crew import walk_round
from trackside.preferences import Preferences
from trackside.records import Reading, Session
from trackside.reports.walk_words import passed_said, sign, walked, where

EVERYTHING = Preferences(walk_parts=("gas", "inner", "hot", "body"))
"""An order of the crew's own: what is at the dampers comes last all the same."""


def _read(*paths: str) -> Session:
    session = Session()
    for path in paths:
        session = session.with_value(path, Reading.of_text("20", "temperature", "°C"))
    return session


def test_dampers_come_in_a_second_lap() -> None:
    assert walk_round.paths(EVERYTHING)[:4] == (
        *("FL.tread_inner", "FL.hot_pressure", "FR.tread_inner", "FR.hot_pressure"),
    )
    assert walk_round.paths(EVERYTHING)[8:11] == (
        *("FL.gas_pressure", "FL.body_temperature", "FR.gas_pressure"),
    )


def test_what_is_empty_is_named_corner_by_corner() -> None:
    walk = walk_round.paths(EVERYTHING)
    rear = [path for path in walk if path[0] == "R"]
    session = _read(*rear, "FL.tread_inner", "FL.body_temperature")
    assert walked(session, walk) == (
        "walk-round over: 10 of 16 values read, still empty: FL hot, gas; FR all"
    )
    assert walked(_read(*walk), walk) == "walk-round over: all 16 values read"
    only = walk_round.paths(Preferences(walk_parts=("hot",)))
    assert walked(_read(*only[:3]), only) == (
        "walk-round over: 3 of 4 values read, still empty: RL hot"
    )


def test_what_was_filled_is_said_to_be_passed() -> None:
    assert passed_said(()) == ""
    said = passed_said(("FL.tread_inner", "FL.hot_pressure", "RR.gas_temperature"))
    assert said == "passed, filled already: FL inner, hot; RR gas at"


def test_the_sign_is_short_and_the_line_says_it_at_length() -> None:
    walk = walk_round.paths(EVERYTHING)
    assert sign("RL.body_temperature") == "RL BODY"
    told = where("FR.gas_pressure", _read("FL.tread_inner"), walk)
    assert told == "front right, gas pressure · 11 of 16 · 1 read"
