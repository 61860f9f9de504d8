"""Moments as the logbook writes them: UTC, ISO 8601, milliseconds, so that they sort as text."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Final

from trackside.errors import BadInput

STEP: Final = timedelta(minutes=2)
"""A clock that is put right by a network steps back by less: our own, no source."""


def now() -> datetime:
    """The present moment."""
    return datetime.now(UTC)


def stamp(moment: datetime) -> str:
    """`moment` as 2026-05-09T10:20:00.000Z; one without a time zone is taken as UTC."""
    aware = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
    return aware.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def stamp_of(text: str) -> str:
    """The moment in `text`, any ISO 8601 spelling, as `stamp` writes it; BadInput if it is none."""
    try:
        return stamp(datetime.fromisoformat(text))
    except (ValueError, OverflowError) as error:
        raise BadInput(
            f"“{text}” is not a date and time", "write it like 2026-05-09 10:20"
        ) from error


def milliseconds(stamped: str) -> int:
    """Milliseconds since 1970 of what `stamp` wrote; 0 of what it did not."""
    try:
        return round(datetime.fromisoformat(stamped).timestamp() * 1000)
    except (ValueError, OverflowError):
        return 0
