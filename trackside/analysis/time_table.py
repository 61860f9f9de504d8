"""The time-table of a day: when each session begins, when it is over, and what is at the same time.

A session is the runs of an event with one kind and number, whatever the car; it begins with the
first of them, and its length, from there on, is the one typed on any of them: the longest.
A run that was got ready before its session (it has not run, and says no length, and one before it
or of another car does, and begins later) does not begin it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from typing import Any, Final, NamedTuple, TypeAlias

from trackside.logbook import Logbook, SessionLine

LONGEST: Final = 26 * 3600.0
"""Seconds; a session that is longer is a typo, and marked (our own)."""

_Run: TypeAlias = tuple[datetime, timedelta | None, SessionLine]
"""When it begins, the length that is typed on it, and its line."""


class Slot(NamedTuple):
    """A session in the time-table; `ends` is None where nobody typed its length. `lines` are its
    runs, the first to begin first. `opened`: nobody typed when it begins; it was opened then, and
    its end is not known."""

    event: str
    name: str
    begins: datetime
    ends: datetime | None
    lines: tuple[SessionLine, ...]
    opened: bool

    def overlaps(self, other: Slot) -> bool:
        """Whether both are on at one time, at one event."""
        first, second = sorted((self, other), key=lambda slot: slot.begins)
        ends = first.ends or first.begins + timedelta(minutes=1)
        return self.event == other.event and second.begins < ends


def time_table(logbook: Logbook, day: str) -> list[Slot]:
    """The sessions that begin on that day (YYYY-MM-DD), in their order."""
    try:
        date.fromisoformat(day)
    except ValueError:  # no day is said, or one that no calendar has
        return []
    runs: dict[tuple[str, str], list[_Run]] = {}
    for line in logbook.timed_on(day):
        begins = datetime.fromisoformat(f"{day} {line.start[-5:]}")
        length = _length(logbook.state(line.entity) or {})
        runs.setdefault((line.event, line.session), []).append((begins, length, line))
    slots = [_slot(event, name, found) for (event, name), found in runs.items()]
    return sorted(slots, key=lambda slot: (slot.begins, slot.name))


class TimeTables:
    """The time-table of the day asked for last, read again when the logbook has grown."""

    def __init__(self, logbook: Logbook) -> None:
        self._logbook = logbook
        self._of: tuple[object, str] = (None, "")
        self._slots: list[Slot] = []

    def of(self, day: str) -> list[Slot]:
        """The sessions that begin on that day (YYYY-MM-DD)."""
        asked = (self._logbook.extent(), day)
        if asked != self._of:
            self._of, self._slots = asked, time_table(self._logbook, day)
        return self._slots


def day_of(line: SessionLine) -> str:
    """The day (YYYY-MM-DD) on which a run begins; empty where none is said."""
    day = line.sort_key[11:21]
    return day if day[:1].isdigit() else ""


def _slot(event: str, name: str, found: Iterable[_Run]) -> Slot:
    runs = sorted(found, key=lambda run: (run[0], run[2].entity))
    said = [run for run in runs if not run[2].opened]
    begins = next(run[0] for run in said or runs if not _got_ready(run, said or runs))
    length = max((length for _, length, _ in runs if length is not None), default=None)
    ends = begins + length if length is not None and said else None
    return Slot(event, name, begins, ends, tuple(run[2] for run in runs), not said)


def _got_ready(run: _Run, runs: Iterable[_Run]) -> bool:
    begins, length, line = run
    if length is not None or line.ran:
        return False
    return any(
        told is not None and later > begins and (other.car != line.car or _after(line, other))
        for later, told, other in runs
    )


def _after(line: SessionLine, other: SessionLine) -> bool:
    numbers = [int(one.run) if one.run.isdecimal() else 0 for one in (line, other)]
    return numbers[0] > numbers[1]


def _length(body: Mapping[str, Any]) -> timedelta | None:
    typed = body.get("duration")
    seconds = typed.get("si") if isinstance(typed, dict) else None
    if isinstance(seconds, bool) or not isinstance(seconds, (int, float)):
        return None
    return timedelta(seconds=seconds) if 0 < seconds <= LONGEST else None


def slot_of(slots: Iterable[Slot], session: str) -> Slot | None:
    """The slot to which that run belongs; None where it has none."""
    return next((s for s in slots if any(line.entity == session for line in s.lines)), None)


def beside(slots: Iterable[Slot], slot: Slot) -> list[Slot]:
    """The other sessions of its event that are on at the same time."""
    return [other for other in slots if other is not slot and other.overlaps(slot)]


def running(slots: Iterable[Slot], now: datetime) -> list[Slot]:
    """Those that are on now and whose length is known, the first to be over first."""
    found = [(slot.ends, slot) for slot in slots if slot.ends and slot.begins <= now < slot.ends]
    return [slot for _, slot in sorted(found, key=lambda pair: pair[0])]
