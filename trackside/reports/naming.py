"""In words: which record is meant, which place in it, which value, and when."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING, Any

from trackside.errors import BadRecord
from trackside.logbook.pitboard import title_of
from trackside.logbook.unread import NAMED_BY
from trackside.reports.when_words import when_words
from trackside.units import one_line, show_lap

if TYPE_CHECKING:
    from trackside.analysis.shed import EnteredTwice, Shed
    from trackside.logbook import Logbook, SessionLine
    from trackside.preferences import Preferences


_LINKS = {"event": "event", "car": "car", "session": "session", "based_on": "session"}
"""Places that name another record, with its kind."""
_OF_BOOK = {
    "tyre_set": "tyre set",
    "counter": "hours of",
    "weather": "weather reading",
    "strip_down": "strip-down of",
    "box_part": "in the disc box:",
}
"""Kinds of record in the garage book, as it calls them."""
_KIND_WORDS = {
    **_OF_BOOK,
    "change": "reason",
    "kept": "entry on the shelf",
    "tyre_set": "tyre set",
    "weather": "weather reading",
    "sheet": "dyno sheet",
    "twin": "decision on what was entered twice",
}
"""Kinds of record that the crew calls otherwise."""


def session_in_words(line: SessionLine) -> str:
    """`Practice 2 · Harrow Fen · 2026-05-09 10:20 · Car 7`."""
    title = line.title.capitalize() or "Session"
    parts = (title, line.venue, when_words(line) or line.event_date, line.car_name)
    return " · ".join(part for part in parts if part)


def record_in_words(logbook: Logbook, entity: str, kind: str = "") -> str:
    """Which record that is: its kind, and what names it; its code when nothing does."""
    kind = kind or logbook.kind_of(entity) or "record"
    body = logbook.state(entity)
    if body is None:
        return f"{kind} …{entity[-6:]}, taken off the logbook"
    if kind == "session":
        return session_in_words(logbook.session_line(entity))
    return _named(kind, body) or f"{_OF_BOOK.get(kind, kind)} …{entity[-6:]}"


def _named(kind: str, body: Mapping[str, Any]) -> str:
    """The kind and what names the record; empty when nothing does."""
    named = [one_line(str(body[name])) for name in NAMED_BY.get(kind, ()) if body.get(name)]
    return f"{_OF_BOOK.get(kind, kind)} {' · '.join(named)}" if named else ""


def twice_said(entry: EnteredTwice) -> str:
    """That two laptops entered it for one thing, and whose entry counts."""
    name = _named(entry.kind, entry.body) or entry.kind
    author = one_line(entry.author) or "the first laptop"
    return (
        f"{name} was entered on two laptops: what {author} entered counts until it is decided on "
        "the page of conflicts"
    )


def doubts_of_shed(shed: Shed) -> tuple[str, ...]:
    """What of the damper shed cannot be read or is undecided, a sentence each."""
    return (
        *(one.sentence for one in shed.unread),
        *(twice_said(entry) for entry in shed.entered_twice),
    )


def body_in_words(logbook: Logbook, kind: str, body: Mapping[str, Any]) -> str:
    """The same of a record with that body, whether or not it is in the logbook now."""
    named: list[Any] = [body.get(name) for name in NAMED_BY.get(kind, ())]
    if kind == "session":
        event, car = (logbook.state(str(body.get(link) or "")) or {} for link in ("event", "car"))
        title = title_of(*(value_in_words(body.get(n) or "") for n in ("kind", "number", "run")))
        named = [title, event.get("venue"), body.get("start"), car.get("name")]
    told = " · ".join(one_line(str(name)) for name in named if name)
    return f"{_KIND_WORDS.get(kind, kind)} {told}".strip()


def place_in_words(path: str) -> str:
    """The field as spoken: `FL rebound`, `driver`; for the whole record, the question."""
    from trackside.records.fields import words_for

    return words_for(path) if path else "keep it, or take it off the logbook?"


def value_in_words(
    value: Any,
    path: str = "",
    preferences: Preferences | None = None,
    logbook: Logbook | None = None,
) -> str:
    """A value as it was typed, with its unit, and behind it in the crew's where that of the run
    sheet's `path` is another: `1.55 bar (22.5 psi)`. A dash when unknown. What names another record
    of that logbook is that record in words."""
    if logbook is not None and path in _LINKS and isinstance(value, str) and value:
        return record_in_words(logbook, value, _LINKS[path]).removeprefix(f"{_LINKS[path]} ")
    if isinstance(value, dict) and "typed" in value:
        return _reading_in_words(value, path, preferences)
    if isinstance(value, dict):
        at = f"{path}." if path else ""
        return ", ".join(
            f"{name} {value_in_words(inner, f'{at}{name}', preferences)}"
            for name, inner in value.items()
        )
    if path == "lap_times" and isinstance(value, list):
        from trackside.records.laps import show_laps

        return show_laps([one if isinstance(one, (float, str)) else str(one) for one in value])
    if isinstance(value, list):
        laps = all(isinstance(item, (int, float, str)) for item in value)
        return (" " if laps else "; ").join(
            show_lap(item) if isinstance(item, float) else value_in_words(item) for item in value
        )
    return "–" if value is None else str(value)


def _reading_in_words(body: dict[str, Any], path: str, preferences: Preferences | None) -> str:
    from trackside.records import Reading
    from trackside.records.fields import field_of
    from trackside.records.reading import has_unit

    typed, unit = (str(body.get(part) or "") for part in ("typed", "unit"))
    said = typed if has_unit(typed) else f"{typed} {unit}".strip() or "–"
    try:
        quantity, reading = field_of(path).quantity, Reading.checked(body)
    except (KeyError, BadRecord):
        return said
    if preferences is None or quantity is None or reading.si is None:
        return said
    told = reading.in_words(quantity, preferences.unit(quantity))
    return said if told == reading.in_words(quantity) else f"{said} ({told})"


def moment_in_words(stamp: str) -> str:
    """When something was recorded (a stamp in UTC), by this computer's clock and time zone."""
    try:
        return datetime.fromisoformat(stamp).astimezone().strftime("%Y-%m-%d %H:%M:%S")
    except (ValueError, OverflowError):
        return stamp


def who_in_words(author: str, device: str, here: str) -> str:
    """Who wrote it, and on which laptop; `here` is this one's name."""
    where = "this laptop" if device == here else f"laptop …{device[-6:]}" if device else ""
    return ", ".join(part for part in (one_line(author) or "unsigned", where) if part)
