"""What a run burnt, in words."""

from __future__ import annotations

import pytest

from tests.analysis.test_fuel import run
from trackside.analysis.plausible_ranges import mark_at
from trackside.analysis.shed import Shed
from trackside.preferences import Preferences
from trackside.reports.fuel_words import fuel_words
from trackside.reports.mark_words import mark_words

TIMES: tuple[float | str, ...] = ("2:10 out", 95.2, 95.0, "in")


@pytest.mark.parametrize(
    ("start", "end", "laps", "times", "told"),
    [
        ("45 L", "27 L", "8", (), "fuel used 18.0 L, 2.25 L a lap over 8 laps"),
        ("45 L", "43 L", "1", (), "fuel used 2.0 L, 2.00 L a lap over 1 lap"),
        ("30 kg", "18 kg", "6", (), "fuel used 12.0 kg, 2.00 kg a lap over 6 laps"),
        (
            "20 L", "12 L", "", TIMES,
            "fuel used 8.0 L, 2.00 L a lap over 4 laps in the lap times, in-laps and out-laps too",
        ),
        ("20 L", "12 L", "", (), "fuel used 8.0 L; type the laps to see how much a lap"),
        (
            "20 L", "12 kg", "8", (),
            "fuel used: not known, one reading is by volume and the other by weight",
        ),
        ("20 L", "30 L", "8", (), ""),
        ("20 L", "half", "8", (), ""),
    ],
)  # fmt: skip
def test_what_is_said_of_it(
    start: str, end: str, laps: str, times: tuple[float | str, ...], told: str
) -> None:
    assert fuel_words(run(start, end, laps, times), Preferences()) == told


def test_it_is_in_the_crews_unit_where_that_is_of_the_kind() -> None:
    american = Preferences(preset="imperial")
    said = fuel_words(run("45 L", "27 L", "8"), american)
    assert said == "fuel used 4.8 US gal, 0.59 US gal a lap over 8 laps"  # 18 L / 3.785411784
    assert fuel_words(run("30 kg", "18 kg", "6"), american).startswith("fuel used 12.0 kg")


def test_the_marks_say_what_to_look_at() -> None:
    gained = mark_at("fuel_end", run("20 L", "21 L", "8"), Shed())
    thirst = mark_at("fuel_end", run("60 L", "10 L", "2"), Shed())
    assert gained
    assert thirst
    assert mark_words(gained, Preferences()) == (
        "more fuel at the end than at the start: swapped, or filled up in between?"
    )
    assert mark_words(thirst, Preferences()) == (
        "25.00 L used a lap: right unit, right number of laps?"
    )
