"""Marks: one sentence where a value cannot be right; the limits are our own, no source."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from tests.analysis import garage
from tests.analysis.garage import corner
from trackside.preferences import Preferences
from trackside.records import CornerSheet, Damper, Reading, Session
from trackside.records.fields import CORNERS
from trackside.reports.mark_words import problem_at, problems

METRIC = Preferences()
OWN = {place: f"HARD-{place}" for place in CORNERS}
SHED = replace(
    garage.SHED,
    dampers=(*garage.SHED.dampers, *(Damper(serial=own) for own in OWN.values())),
    builds=(
        *garage.SHED.builds,
        *(garage.SHED.builds[0].model_copy(update={"damper": own}) for own in OWN.values()),
    ),
)
"""The garage's, with a damper like HARD for each corner."""


def session(all_four: CornerSheet | None = None, **more: Any) -> Session:
    """A session of the garage, each corner with a damper of its own."""
    made = garage.session(all_four, **more)
    own = {
        place: made.corner(place).model_copy(update={"damper": serial})
        for place, serial in OWN.items()
        if made.corner(place).damper == "HARD"
    }
    return made.model_copy(update=own)


def typed(text: str, quantity: str) -> Reading | None:
    return Reading.of_text(text, quantity)


def test_a_sound_session_has_no_marks() -> None:
    sound = corner(
        cold_pressure=typed("1,45", "pressure"), hot_pressure=typed("27.5 psi", "pressure"),
        tread_inner=typed("85", "temperature"), tread_middle=typed("181F", "temperature"),
        tread_outer=typed("78", "temperature"), camber=typed("-2°30'", "angle"),
    )  # fmt: skip
    assert problems(session(sound), SHED, METRIC) == {}


@pytest.mark.parametrize(
    ("name", "text", "quantity", "told"),
    [
        ("cold_pressure", "145", "pressure", "outside"),
        ("cold_pressure", "1.4 mm", "pressure", "not a unit"),
        ("camber", "3 0", "angle", "not"),
        ("spring_rate", "1200", "spring rate", "outside"),
        ("gas_pressure", "1.5", "pressure", "outside"),
        ("tread_inner", "200", "temperature", "outside"),
        ("bump_bleed", "21", "clicks", "beyond"),
        ("rebound_bleed", "7.5", "clicks", "steps by"),
        ("bump_preload", "3", "clicks", "no bump prel. adjuster"),
    ],
)
def test_what_cannot_be_right_is_said_in_one_sentence(
    name: str, text: str, quantity: str, told: str
) -> None:
    marked = session(FL=corner().model_copy(update={name: typed(text, quantity)}))
    found = problems(marked, SHED, METRIC)
    assert set(found) == {f"FL.{name}"}
    assert told in found[f"FL.{name}"]
    assert "\n" not in found[f"FL.{name}"]


def test_cold_above_hot_is_marked_on_both() -> None:
    swapped = corner(cold_pressure=typed("2.0", "pressure"), hot_pressure=typed("1.5", "pressure"))
    found = problems(session(RL=swapped), SHED, METRIC)
    assert set(found) == {"RL.cold_pressure", "RL.hot_pressure"}


def test_an_unknown_damper_is_marked_and_kept() -> None:
    odd = session(FL=corner("HRAD"))
    assert "not in the damper shed" in problem_at("FL.damper", odd, SHED, METRIC)
    assert odd.corner("FL").damper == "HRAD"


def test_one_damper_is_at_one_corner() -> None:
    twice = session(RL=corner(OWN["FL"].lower()))
    found = problems(twice, SHED, METRIC)
    assert set(found) == {"FL.damper", "RL.damper"}
    assert "at RL too" in found["FL.damper"]
    assert "at FL too" in found["RL.damper"]


def test_unknown_values_are_never_marked() -> None:
    assert problems(session(CornerSheet()), SHED, METRIC) == {}
    assert problem_at("items.Front bar", session(items={"Front bar": "?"}), SHED, METRIC) == ""


def test_words_beside_the_choices_are_kept_and_marked() -> None:
    odd = session(status="finished", surface="Drying", kind="Race")
    found = problems(odd, SHED, METRIC)
    assert set(found) == {"status", "surface"}
    assert found["surface"] == "“Drying” is none of dry, damp, wet: saved as typed"
    assert odd.surface == "Drying"


def test_session_values_are_checked_too() -> None:
    odd = session(
        air_temperature=typed("75", "temperature"), best_lap=typed("5", "lap time"),
        humidity=typed("140", "share"),
    )  # fmt: skip
    assert set(problems(odd, SHED, METRIC)) == {"air_temperature", "best_lap", "humidity"}


@pytest.mark.parametrize(("preset", "spread"), [("metric", "45 °C"), ("imperial", "81 °F")])
def test_a_spread_across_a_tread_is_told_in_the_crews_unit(preset: str, spread: str) -> None:
    """A difference of 45 K is one of 81 °F, by the definition of the scale."""
    treads = {"tread_inner": "120", "tread_middle": "90", "tread_outer": "70"}
    odd = session(corner(**{name: typed(text, "temperature") for name, text in treads.items()}))
    marks = problems(odd, SHED, Preferences(preset=preset))
    assert [spread in why for why in marks.values()] == [True] * 12  # three treads, four corners
