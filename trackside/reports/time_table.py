"""The time-table of the day in words."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trackside.logbook import SessionLine


def next_said(line: SessionLine | None, now: datetime) -> str:
    """`next: qualifying 1 at 14:20, in 25 min`; empty where nothing is planned for today."""
    if line is None:
        return ""
    at = line.start[-5:]
    begins = datetime.combine(now.date(), datetime.strptime(at, "%H:%M").time())
    minutes = round((begins - now.replace(second=0, microsecond=0)).total_seconds() / 60)
    hours, rest = divmod(minutes, 60)
    wait = f"{hours} h {rest:02} min" if hours else f"{rest} min"
    return f"next: {line.title} at {at}, {f'in {wait}' if minutes else 'now'}"
