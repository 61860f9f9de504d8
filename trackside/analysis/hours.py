"""Running hours of engine, gearbox and the like, summed from the runs of the car."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final, NamedTuple

from trackside.records import Counter, Session
from trackside.records.laps import Lap, lap_of
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.logbook import Logbook, SessionLine
    from trackside.logbook.driven import Driven

LONGEST_EVENT: Final = timedelta(days=60)
"""An event that began longer ago has no run from then on: our own, no source."""


class RunTime(NamedTuple):
    """How long a run ran (s). `is_whole` is False where a lap has no time, or more laps were
    counted than are in the list: it ran longer."""

    seconds: float
    is_whole: bool


@dataclass(frozen=True)
class HoursRun:
    """One unit and what it has behind it, in s; the runs from `record.since` until another of the
    same part was in the car (`until`, "" for none)."""

    entity: str
    record: Counter
    until: str
    driven: float
    runs: int
    short: int
    """Runs of which the time is not known, or not wholly: there is more than that."""

    @property
    def seconds(self) -> float | None:
        """What it has by now; None where nobody knows what it had."""
        return None if self.record.start is None else self.record.start + self.driven

    @property
    def left(self) -> float | None:
        """Until the shop's limit, below zero beyond it; None without one."""
        if self.record.limit is None or self.seconds is None:
            return None
        return self.record.limit - self.seconds


def run_time(session: Session | Driven, read: Sequence[Lap] | None = None) -> RunTime | None:
    """As typed, else the sum of the lap times, in-laps and out-laps too; None when unknown. `read`
    are its laps, where they are at hand.

    >>> run_time(Session(lap_times=("2:10 out", 95.0, 96.0, "in")))
    RunTime(seconds=321.0, is_whole=False)
    """
    typed = session.si("run_time")
    if typed is not None:
        return RunTime(typed, True)
    laps = [lap_of(lap) for lap in session.lap_times] if read is None else read
    times = [lap.seconds for lap in laps if lap.seconds is not None]
    counted = session.si("laps")
    is_whole = len(times) == len(laps) and (counted is None or counted <= len(laps))
    return RunTime(sum(times), is_whole) if times else None


def hours_run(logbook: Logbook, car: str, before: SessionLine | None = None) -> list[HoursRun]:
    """Every unit of that car that has a count, the one that went in last first; with `before`,
    those that had gone in as that run began, and the runs before it."""
    units = _units(logbook, car, before)
    return _counted(logbook, car, units, before)


def in_the_car(logbook: Logbook, car: str, before: SessionLine | None = None) -> list[HoursRun]:
    """The same, but only the units that no other of their part has taken the place of: what ran
    before they went in is not read."""
    units = _units(logbook, car, before)
    return _counted(logbook, car, [one for one in units if not one.until], before)


def is_beyond(run: HoursRun) -> bool:
    """Whether it has what the shop allows it, or more."""
    return run.left is not None and run.left <= 0


class _Unit(NamedTuple):
    entity: str
    record: Counter
    until: str


def _units(logbook: Logbook, car: str, before: SessionLine | None) -> list[_Unit]:
    aside = logbook.doubles("counter")
    found = [
        (entity, one)
        for entity, one in logbook.records(Counter, "counter")
        if one.car == car and entity not in aside and (before is None or one.since <= before.begun)
    ]
    newest_first = sorted(found, key=lambda one: (one[1].since, one[0]), reverse=True)
    went_in: dict[str, list[str]] = {}
    for _, one in found:
        went_in.setdefault(_name(one.part), []).append(one.since)
    return [
        _Unit(entity, one, min((s for s in went_in[_name(one.part)] if s > one.since), default=""))
        for entity, one in newest_first
    ]


def _counted(
    logbook: Logbook, car: str, units: Sequence[_Unit], before: SessionLine | None
) -> list[HoursRun]:
    if not units:
        return []
    ran = _runs_since(logbook, car, min(one.record.since for one in units), before)
    return [_hours(one, ran) for one in units]


def _hours(unit: _Unit, ran: Sequence[tuple[str, Driven]]) -> HoursRun:
    entity, record, until = unit
    mine = [run for begun, run in ran if record.since <= begun and (not until or begun < until)]
    times = [run_time(run) for run in mine]
    return HoursRun(
        entity,
        record,
        until,
        sum(time.seconds for time in times if time),
        len(mine),
        sum(1 for time in times if time is None or not time.is_whole),
    )


def _runs_since(
    logbook: Logbook, car: str, since: str, before: SessionLine | None
) -> list[tuple[str, Driven]]:
    """The runs that ran, each with when it began, from then on and before that one. Of those that
    begin at one moment, or have no start, the order of the list says which was before."""
    ran = ((run.begun, run) for run in logbook.driven(car, _days_before(since)) if run.ran)
    return [
        (begun, run)
        for begun, run in ran
        if begun >= since and (before is None or _order(run) < _order(before))
    ]


def _order(run: SessionLine | Driven) -> tuple[str, str, str]:
    return run.begun, run.sort_key, run.entity


def _days_before(since: str) -> str:
    """The first day of the longest event that may have a run from then on: runs are listed by
    their event. "" where it is no day."""
    with suppress(ValueError):
        return (date.fromisoformat(since[:10]) - LONGEST_EVENT).isoformat()
    return ""


def _name(part: str) -> str:
    return one_line(part).casefold()
