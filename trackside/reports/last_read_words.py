"""What was last read of a value, with its day, in words."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from trackside.analysis.last_read import reading
from trackside.logbook.last_read import LastRead
from trackside.preferences import Preferences
from trackside.records import in_words as told
from trackside.records.fields import CORNER_FIELDS, Field


def last_read_words(
    found: LastRead, taken_at: LastRead | None, field: Field, preferences: Preferences, today: str
) -> Iterator[str]:
    """The reading with its temperature and day, then shorter and shorter: `last: 15.1 bar at 9 °C,
    18 Oct`. Without words that fit, a cell shows nothing of it."""
    value = told(reading(found), field.quantity, _unit(field, preferences))
    bare = (
        reading(found).shown(field.quantity, _unit(field, preferences))  # type: ignore[union-attr]
        if field.quantity
        else found.typed
    )
    day = day_in_words(found.day, today)
    if taken_at is not None:
        at = CORNER_FIELDS["gas_temperature"]
        warm = told(reading(taken_at), at.quantity, _unit(at, preferences))
        yield _joined(f"last: {value} at {warm}", day)
    yield _joined(f"last: {value}", day)
    yield _joined(f"last {bare}", day)
    yield f"last {bare}"


def _joined(words: str, day: str) -> str:
    return f"{words}, {day}" if day else words


def _unit(field: Field, preferences: Preferences) -> str:
    return preferences.unit(field.quantity) if field.quantity else ""


MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day_in_words(day: str, today: str) -> str:
    """`18 Oct`; with the year unless it is that of `today` (both YYYY-MM-DD); as it is where it is
    no date."""
    try:
        found = date.fromisoformat(day)
    except ValueError:
        return day
    words = f"{found.day} {MONTHS[found.month - 1]}"
    return words if today[:4] == day[:4] else f"{words} {day[:4]}"
