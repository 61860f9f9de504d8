"""The weather along the day, in words."""

from __future__ import annotations

from typing import Any

import pytest

from trackside.analysis.weather import WITHIN, WeatherRead, nearest
from trackside.preferences import Preferences
from trackside.records import Weather
from trackside.reports.weather_words import (
    value_at,
    weather_lines,
    weather_row,
    weather_words,
    within_words,
)

METRIC, IMPERIAL = Preferences(), Preferences(preset="imperial")


def read(**more: Any) -> WeatherRead:
    """Air 17 °C at ten past two."""
    air = {"typed": "17", "unit": "°C", "si": 17.0}
    body = {"event": "e", "at": "2026-05-09 14:10", "air_temperature": air, **more}
    return WeatherRead("w", Weather.checked(body))


@pytest.mark.parametrize(
    ("start", "words"),
    [
        ("2026-05-09 14:20", "read 14:10, 10 min before the start: air 17 °C"),
        ("2026-05-09 14:10", "read 14:10, at the start: air 17 °C"),
        ("2026-05-09 13:50", "read 14:10, 20 min after the start: air 17 °C"),
    ],
)
def test_how_far_from_the_start_it_was_read(start: str, words: str) -> None:
    assert weather_words(read(), start, METRIC) == words


def test_an_hour_of_one_figure_is_a_time_too() -> None:
    """As another program, or a hand in the file, wrote it."""
    early = read(at="2026-05-09 9:05")
    assert nearest([early], "2026-05-09 9:15") == early
    told = weather_words(early, "2026-05-09 9:15", METRIC)
    assert told == "read 9:05, 10 min before the start: air 17 °C"


def test_all_of_it_in_the_crews_units() -> None:
    whole = read(
        surface="dry",
        track_temperature={"typed": "25", "unit": "°C", "si": 25.0},
        humidity={"typed": "55", "unit": "%", "si": 0.55},
        air_pressure={"typed": "1004", "unit": "hPa", "si": 100400.0},
        wind="light, NW",
        words="clouds come",
    )
    assert list(weather_lines([whole], whole, METRIC)) == [
        "read 2026-05-09 14:10",
        "dry, air 17 °C, track 25 °C, humidity 55 %, baro 1004 hPa, wind light, NW",
        "clouds come",
    ]
    assert weather_row(whole, IMPERIAL)[:4] == ("2026-05-09 14:10", "dry", "63 °F", "77 °F")
    assert weather_row(read(), METRIC)[1:] == ("–", "17 °C", "–", "–", "–", "–")


def test_a_value_has_its_time_beside_it() -> None:
    assert value_at(read(), "air_temperature", METRIC) == "17 °C at 14:10"
    assert value_at(read(), "track_temperature", METRIC) == ""
    assert value_at(read(surface="wet"), "surface", METRIC) == "wet at 14:10"


def test_nothing_read_is_said() -> None:
    empty = WeatherRead("w", Weather(event="e", at=""))
    assert list(weather_lines([empty], empty, METRIC)) == [
        "read at an unknown time",
        "nothing read",
    ]


def test_the_limit_is_told_as_it_is() -> None:
    assert within_words() == "60 min"
    assert WITHIN.total_seconds() == 3600
