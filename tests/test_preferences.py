"""The preferences file: what cannot be used is named, and a unit may be spelled in any way."""

from __future__ import annotations

from pathlib import Path

import pytest

from trackside.errors import BadPreference
from trackside.preferences import Preferences, load
from trackside.records import Reading


@pytest.mark.parametrize(
    ("line", "named"),
    [
        ('preset = ["metric"]', "preset"),
        ("preset = {metric = 1}", "preset"),
        ('theme = ["garage"]', "theme"),
        ("walk_round = 5", "walk_round"),
        ('walk_round = [1, "FR", "RR", "RL"]', "walk_round"),
        ('walk_round = ["FL", "FL", "FR", "RR"]', "walk_round"),
        ('walk_round = "FLFR"', "walk_round"),
        ('walk_by_itself = "yes"', "walk_by_itself"),
        ("walk_parts = []", "walk_parts"),
        ('walk_parts = ["inner", "inner"]', "walk_parts"),
        ('walk_parts = ["brakes"]', "walk_parts"),
        ('walk_parts = "inner"', "walk_parts"),
        ("walk_parts = [[1]]", "walk_parts"),
        ('units = "metric"', "units"),
        ("units = {pressure = 5}", "pressure"),
        ("units = {grip = 5}", "grip"),
        ("peak_speed = [1]", "peak_speed"),
        ("reference_speeds = 0.1", "reference_speeds"),
        ('speed_split = "fast"', "speed_split"),
        ("author = 7", "author"),
        ("colour = 1", "colour"),
        ('paper = "a3"', "paper"),
        ("paper = 4", "paper"),
    ],
)
def test_a_line_that_cannot_be_used_is_named(tmp_path: Path, line: str, named: str) -> None:
    file = tmp_path / "preferences.toml"
    file.write_text(line, "utf-8")
    with pytest.raises(BadPreference, match=named) as told:
        load(file)
    assert str(file) in str(told.value)


@pytest.mark.parametrize(
    ("quantity", "spelled", "symbol"),
    [("pressure", "PSI", "psi"), ("temperature", "degF", "°F"), ("spring rate", "lb/in", "lbf/in")],
)
def test_a_unit_is_its_symbol_however_it_is_spelled(
    quantity: str, spelled: str, symbol: str
) -> None:
    preferences = Preferences.checked(units={quantity: spelled})
    assert preferences.unit(quantity) == symbol
    typed = Reading.of_text("20", quantity, preferences.unit(quantity))
    assert typed is not None
    assert typed.shown(quantity, preferences.unit(quantity)) == "20"
