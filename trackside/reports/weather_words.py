"""The weather along the day, in words and in the crew's units."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from trackside.analysis.weather import READ, WITHIN, WeatherRead, from_start
from trackside.preferences import Preferences
from trackside.records import Reading, Weather
from trackside.records.fields import SESSION_FIELDS
from trackside.reports import formatting

HEADS = ("When", "Surface", "Air", "Track", "Humid.", "Baro", "Wind")


def weather_row(read: WeatherRead, preferences: Preferences) -> tuple[str, ...]:
    """One reading in a line, as `HEADS` has the columns."""
    weather = read.weather
    values = (value_words(weather, name, preferences) or "–" for name in READ)
    return (weather.at or "–", *values, weather.wind or "–")


def weather_lines(
    found: Sequence[WeatherRead], read: WeatherRead, preferences: Preferences
) -> Iterator[str]:
    """All of one reading."""
    weather = read.weather
    yield f"read {weather.at or 'at an unknown time'}"
    yield _values(weather, preferences)
    if weather.words:
        yield weather.words


def weather_words(read: WeatherRead, start: str, preferences: Preferences) -> str:
    """`read 14:10, 10 min before the start: dry, air 17 °C, …`."""
    weather = read.weather
    return f"read {weather.at[11:16]}, {_apart(read, start)}: {_values(weather, preferences)}"


def value_at(read: WeatherRead, name: str, preferences: Preferences) -> str:
    """`17 °C at 14:10`: what stands beside an empty cell of a run; empty where it was not read."""
    words = value_words(read.weather, name, preferences)
    return f"{words} at {read.weather.at[11:16]}" if words else ""


def value_words(weather: Weather, name: str, preferences: Preferences) -> str:
    """One value of a reading with its unit; empty where it was not read."""
    value: Reading | str | None = getattr(weather, name)
    return formatting.value(value, SESSION_FIELDS[name].quantity, preferences) if value else ""


def _values(weather: Weather, preferences: Preferences) -> str:
    told = [
        f"{SESSION_FIELDS[name].label.lower()} {words}" if name != "surface" else words
        for name in READ
        if (words := value_words(weather, name, preferences))
    ]
    told += [f"wind {weather.wind}"] if weather.wind else []
    return ", ".join(told) or "nothing read"


def _apart(read: WeatherRead, start: str) -> str:
    apart = from_start(read, start)
    minutes = round(apart.total_seconds() / 60) if apart else 0
    if not minutes:
        return "at the start"
    return f"{abs(minutes)} min {'before' if minutes < 0 else 'after'} the start"


def within_words() -> str:
    """How far a reading may be from a run."""
    return f"{WITHIN.total_seconds() / 60:g} min"
