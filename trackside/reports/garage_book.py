"""The garage book: what is written down beside the runs, part by part, as lists and in words."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from trackside.analysis.hours import hours_run
from trackside.analysis.tyre_sets import set_uses
from trackside.analysis.weather import weather_at
from trackside.analysis.weighing import weighings
from trackside.logbook import Logbook
from trackside.preferences import Preferences
from trackside.reports import hours_words, tyre_words, weather_words, weighing_words


@dataclass(frozen=True)
class BookPart:
    """One list of the book. `of` is what its records belong to: a car, or an event. `read` gives
    its facts, the first one first, each with the name of its record as `entity`; `row` puts one in
    the columns of `heads`, `lines` says all about one of them."""

    kind: str
    title: str
    of: str
    heads: tuple[str, ...]
    whole: tuple[str, ...]
    """The columns that are never cut."""
    empty: str
    read: Callable[[Logbook, str], Sequence[Any]]
    row: Callable[[Any, Preferences], tuple[str, ...]]
    lines: Callable[[Sequence[Any], Any, Preferences], Iterator[str]]


WEIGHTS = BookPart(
    "weighing",
    "Corner weights",
    "car",
    weighing_words.HEADS,
    weighing_words.HEADS,
    "This car was not weighed yet.",
    weighings,
    weighing_words.weighing_row,
    weighing_words.weighing_lines,
)
TYRES = BookPart(
    "tyre_set",
    "Tyre sets",
    "car",
    tyre_words.HEADS,
    ("Laps", "Heat cycles"),
    "This car has no tyre set yet.",
    set_uses,
    tyre_words.set_row,
    tyre_words.set_lines,
)
WEATHER = BookPart(
    "weather",
    "Weather",
    "event",
    weather_words.HEADS,
    ("When",),
    "No weather was read at this event yet.",
    weather_at,
    weather_words.weather_row,
    weather_words.weather_lines,
)
HOURS = BookPart(
    "counter",
    "Hours",
    "car",
    hours_words.HEADS,
    ("Has", "Limit", "Left"),
    "No engine or gearbox hours are kept for this car yet.",
    hours_run,
    hours_words.hours_row,
    hours_words.hours_lines,
)
PARTS: tuple[BookPart, ...] = (TYRES, WEIGHTS, HOURS, WEATHER)
