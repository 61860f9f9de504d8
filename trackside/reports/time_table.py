"""The time-table of the day in words."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from trackside.analysis.time_table import Slot, beside, day_of, running, slot_of, time_table

if TYPE_CHECKING:
    from trackside.logbook import Logbook, SessionLine


def next_said(line: SessionLine | None, now: datetime) -> str:
    """`next: qualifying 1 at 14:20, in 25 min`; empty where nothing is planned for today."""
    if line is None:
        return ""
    at = line.start[-5:]
    begins = datetime.combine(now.date(), datetime.strptime(at, "%H:%M").time())
    minutes = _minutes(now, begins)
    return f"next: {line.title} at {at}, {f'in {_wait(minutes)}' if minutes else 'now'}"


def running_said(slots: Sequence[Slot], now: datetime) -> str:
    """`practice 1 until 10:40, 12 min left`; empty where no session is on whose length is known."""
    told = [
        f"{slot.name} until {slot.ends:%H:%M}, {_wait(_minutes(now, slot.ends))} left"
        for slot in running(slots, now)
        if slot.ends
    ]
    return " · ".join(told[:2])


def _minutes(now: datetime, then: datetime) -> int:
    return round((then - now.replace(second=0, microsecond=0)).total_seconds() / 60)


def _wait(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest:02} min" if hours else f"{rest} min"


def slot_words(slot: Slot) -> str:
    """`10:00 to 10:40`; its start alone where its length is not known; `opened 9:12` where nobody
    typed its start."""
    told = f"{slot.begins:%H:%M}" + (f" to {slot.ends:%H:%M}" if slot.ends else "")
    return f"opened {told}" if slot.opened else told


def beside_words(slots: Sequence[Slot], slot: Slot) -> str:
    """`at the same time as qualifying 1 (10:30 to 10:50)`; empty where nothing is."""
    found = [f"{other.name} ({slot_words(other)})" for other in beside(slots, slot)]
    return f"at the same time as {', '.join(found)}" if found else ""


def slot_said(slots: Sequence[Slot], session: str) -> str:
    """From when to when the session of that run is on, and what is on beside it; empty where it
    has no length and nothing is."""
    slot = slot_of(slots, session)
    if slot is None:
        return ""
    parts = (slot_words(slot) if slot.ends else "", beside_words(slots, slot))
    return ", ".join(part for part in parts if part)


def slot_said_of(logbook: Logbook, line: SessionLine) -> str:
    """The same, of the time-table of its day."""
    return slot_said(time_table(logbook, day_of(line)), line.entity)
