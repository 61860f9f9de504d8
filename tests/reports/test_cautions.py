"""Cautions: every value of every page has been decided, and each says what it must."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from trackside.crew.belonging import BELONGS
from trackside.crew.forms import FORMS, entries
from trackside.records import CornerSheet, Session
from trackside.records.fields import CORNER_FIELDS, CORNERS, SESSION_FIELDS
from trackside.reports import cautions
from trackside.reports.cautions import (
    ALL,
    BENCH,
    BOTTLE,
    CHARGE,
    FUEL,
    HOT,
    OPEN,
    RECORDS,
    RUN_SHEET,
    SCALES,
    SPRING,
    STANDS,
    TORQUE,
)

ROOT = Path(__file__).resolve().parents[2]
ENTRIES = [entry for form in FORMS for entry in entries(form).values()]


def test_every_value_of_the_run_sheet_has_been_decided() -> None:
    paths = [*(f"FL.{name}" for name in CORNER_FIELDS), *SESSION_FIELDS, *BELONGS, "lap_times",
             "items.Front bar"]  # fmt: skip
    asked = {path.partition(".")[0 if path.startswith("items") else 2] or path for path in paths}
    assert set(RUN_SHEET) == asked, "decided for no value that there is"
    assert set(CornerSheet.model_fields) <= set(RUN_SHEET)
    assert {"words", "based_on", "opened"} >= set(Session.model_fields) - set(RUN_SHEET) - set(
        CORNERS
    )


def test_every_value_of_every_record_has_been_decided() -> None:
    asked = set()
    for entry in ENTRIES:
        head, _, name = entry.path.partition(".")
        asked.add(f"{entry.kind}.{name if head in CORNERS else head}")
    assert set(RECORDS) == asked, "decided for no value that there is"


@pytest.mark.parametrize(
    ("act", "places"),
    [
        (CHARGE, ("gas_pressure",)),
        (BOTTLE, ("gas_pressure",)),
        (SPRING, ("damper", "spring_rate", "perch", "bump_stop", "packers")),
        (STANDS, ("damper", "rebound_bleed", "gas_pressure", "perch", "packers", "spring_rate",
                  "ride_height", "camber", "toe", "caster", "body_temperature")),
        (HOT, ("body_temperature", "hot_pressure", "tread_inner", "damper")),
        (OPEN, ("build",)),
        (TORQUE, ("build",)),
        (FUEL, ("fuel", "fuel_end")),
    ],
)  # fmt: skip
def test_the_caution_is_where_the_hand_acts(act: cautions.Caution, places: tuple[str, ...]) -> None:
    for name in places:
        path = f"RL.{name}" if name in CORNER_FIELDS else name
        assert act in cautions.on_run_sheet(path), name


def test_a_strip_down_and_a_charge_are_cautioned_on_the_record_too() -> None:
    for path in ("version", "work", "bump_stack", "piston"):
        assert {OPEN, TORQUE} <= set(cautions.on_record("build", path)), path
    assert {CHARGE, BOTTLE} <= set(cautions.on_record("build", "gas_pressure"))
    assert SPRING in cautions.on_record("car", "RR.spring_rate")
    assert {SCALES, STANDS} <= set(cautions.on_record("weighing", "RR.mass"))


@pytest.mark.parametrize(
    ("act", "words"),
    [
        (CHARGE, ("Eye protection on", "clear of rod and valve", "regulator and hose", "nitrogen",
                  "gas the maker names", "maker's maximum", "leaks")),
        (BOTTLE, ("trained or licensed", "local codes")),
        (OPEN, ("Eye protection on", "Release all gas", "rod pushes out", "Oil in an eye")),
        (TORQUE, ("maker's torque", "threadlocker")),
        (SPRING, ("compressor and procedure", "damper", "spring", "perch", "top mount")),
        (STANDS, ("stands", "hard, level ground", "never on the jack alone")),
        (HOT, ("damper body", "brakes", "exhaust")),
        (SCALES, ("wheels chocked", "nobody under", "at the brake", "lifting points")),
        (BENCH, ("pinned and locked", "guard shut", "hands out", "comes off hot")),
        (FUEL, ("engine off", "no sparks", "extinguisher", "the series' rules")),
    ],
)  # fmt: skip
def test_each_says_what_it_must(act: cautions.Caution, words: tuple[str, ...]) -> None:
    for word in words:
        assert word in act.text, word
    assert len(act.short) <= 50


def test_nobody_is_told_to_cover_the_eyes() -> None:
    """Covered eyes cannot see: searched in all that the package and its README say."""
    told = [ROOT / "README.md", *(ROOT / "trackside").rglob("*.md")]
    told += (ROOT / "trackside").rglob("*.py")
    for file in told:
        text = " ".join(file.read_text("utf-8").split())
        assert not re.search(r"\beyes?\W+(\w+\W+)?(covered|protected)\b", text, re.I), file


def test_the_handbook_and_the_readme_say_them_all() -> None:
    book = (ROOT / "trackside" / "handbook" / "7-cautions.md").read_text("utf-8")
    readme = (ROOT / "README.md").read_text("utf-8")
    for text in (" ".join(book.split()), " ".join(readme.split())):
        for words in ("Eye protection on", "trained or licensed people", "top mount", "exhaust",
                      "threadlocker", "Oil in an eye", "jack alone", "out-lap", "extinguisher",
                      "wheels chocked", "guard shut",
                      "invented"):  # fmt: skip
            assert words in text, words
    assert len({one.text for one in ALL}) == len(ALL) == 10
