"""A strip-down job in words: its line, its steps with what was read, its card, and what is odd."""

from __future__ import annotations

from typing import Any

import pytest

from trackside.crew.strip_downs import STEPS, StripDownJob
from trackside.preferences import Preferences
from trackside.records import StripDown
from trackside.reports import cautions
from trackside.reports.strip_down_words import (
    VALUES,
    about,
    cautions_at,
    doubts,
    job_line,
    step_line,
    taken_over_words,
)


def _job(**values: Any) -> StripDownJob:
    body: dict[str, Any] = {
        "damper": "TW-2241",
        "steps": dict(STEPS),
        "places": {name: float(n) for n, name in enumerate(STEPS)},
        **values,
    }
    return StripDownJob("0199-abcdef", StripDown.checked(body), body)


def _typed(typed: str, unit: str, si: float) -> dict[str, Any]:
    return {"typed": typed, "unit": unit, "si": si}


def test_its_line_says_how_far_it_is_and_what_is_next() -> None:
    assert job_line(_job()) == "TW-2241: planned, 0 of 9 steps done · next: Gas read and released"
    job = _job(done={"gas_out": "yes"}, reseal="yes")
    told = "TW-2241: on the bench, 1 of 9 steps done · reseal · next: Taken apart, parts looked at"
    assert job_line(job) == told
    done = dict.fromkeys(STEPS, "yes")
    assert job_line(_job(done=done, build="B")) == "TW-2241: fitted, 9 of 9 steps done · build B"
    assert job_line(_job(closed="yes")) == "TW-2241: done, 0 of 9 steps done, closed"


def test_a_step_says_what_was_read_there() -> None:
    gas = {"gas_found": _typed("13.6", "bar", 13.6e5), "gas_found_at": _typed("24", "°C", 24.0)}
    metric = Preferences()
    assert step_line(_job(**gas, done={"gas_out": "yes"}), "gas_out", metric) == (
        "☑ Gas read and released: gas found 13.6 bar, at 24 °C"
    )
    assert step_line(_job(found="disc 3 bent"), "opened", metric) == (
        "□ Taken apart, parts looked at: disc 3 bent"
    )
    assert step_line(_job(), "labelled", metric) == "□ Label on"


def test_a_charge_is_shown_at_20_degrees_in_the_crews_units() -> None:
    """267.42 psi at 80 °C is 218 psi at 20 °C, as `gas.pressure_at` has it worked out."""
    hot = _typed("267.42 psi", "psi", 267.42 * 6894.757293168361)
    job = _job(charge=hot, charge_at=_typed("176 °F", "°F", 80.0))
    told = step_line(job, "charged", Preferences(preset="imperial"))
    assert told == "□ Gas charged: charged to 267.42 psi, at 176 °F, 218.0 psi at 68 °F"


def test_each_step_has_its_caution_where_the_hand_acts() -> None:
    assert set(cautions.STEPS) == set(STEPS)
    assert set(VALUES) <= set(STEPS)
    assert cautions_at("gas_out") == (cautions.OPEN,)
    assert cautions_at("charged") == (cautions.CHARGE, cautions.BOTTLE)
    assert cautions_at("benched") == (cautions.BENCH,)
    assert cautions_at("fitted") == (cautions.SPRING, cautions.STANDS, cautions.HOT)
    assert cautions_at("one of the shop's own") == (cautions.OPEN,)


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"torque": _typed("900", "N·m", 900.0)},
         "Torque: 900.0 N·m is outside 1.0 to 150.0 N·m: right unit, right field?"),
        ({"oil_volume": _typed("9 L", "L", 9e-3)},
         "Volume: 9.000 L is outside 0.010 to 2.000 L: right unit, right field?"),
        ({"charge": _typed("14", "bar", 14e5)},
         "the charge has no temperature: nobody can compare it"),
        ({"gas_found": _typed("13", "bar", 13e5)},
         "the gas that was found has no temperature: nobody can compare it"),
        ({"done": {"charged": "yes"}},
         "“Gas charged” is ticked, and “Gas read and released” before it is not"),
    ],
)  # fmt: skip
def test_what_cannot_be_right_is_said_and_stays_as_typed(values: dict[str, Any], told: str) -> None:
    assert doubts(_job(**values), Preferences()) == [told]


def test_a_job_in_order_has_nothing_to_be_looked_at() -> None:
    gas = {"charge": _typed("14", "bar", 14e5), "charge_at": _typed("22", "°C", 22.0)}
    assert doubts(_job(**gas, done={"gas_out": "yes", "opened": "yes"}), Preferences()) == []


def test_what_the_job_is() -> None:
    record = _job(why="a\nb", reseal="yes", date="2026-05-01", who="Jo").record
    assert list(about(record)) == [
        "a b",
        "new seals, the valving as it was: the dyno sheet stays",
        "planned for 2026-05-01 by Jo",
    ]
    assert list(about(_job(who="Jo").record)) == ["by Jo"]
    assert list(about(_job().record)) == []


def test_parts_to_take_over_are_named_once() -> None:
    values = {"bump_parts.clamp": 1, "bump_parts.seat": 2, "needle": "1.8°"}
    assert taken_over_words(values, "B") == (
        "the build before has bump parts, needle, and build B has not"
    )
    assert taken_over_words({}, "B") == ""
