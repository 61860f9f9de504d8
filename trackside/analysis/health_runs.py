"""What the runs and strip-downs on record say of dampers: when each was opened, what ran since, its
charge and its warmth. Read a column of the logbook at a time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from trackside.analysis.drift import REACH, student
from trackside.analysis.hours import RunTime, run_time
from trackside.analysis.lap_figures import LapFigure, laps_driven
from trackside.analysis.plausible_ranges import value_mark
from trackside.analysis.shed import Shed
from trackside.damper.gas import charge_lost, pressure_at_20
from trackside.errors import BadNumber
from trackside.records import Damper, Reading, StripDown
from trackside.records.laps import lap_of

if TYPE_CHECKING:
    from trackside.logbook import Logbook
    from trackside.logbook.driven import Driven
    from trackside.logbook.run_columns import Value

LATEST: Final = 60
"""So many of a damper's newest readings are looked at, and runs of a pair: ten seasons have
thousands. Our own, no source."""
TWIN_RUNS: Final = 5
"""So many runs with both temperatures are asked for: our own, no source."""
TWIN_LEAST: Final = 3.0
"""K: two hands with one thermometer differ by less. Our own, no source."""
TWIN_SURE: Final = 0.99
TWIN: Final = {"FL": "FR", "FR": "FL", "RL": "RR", "RR": "RL"}


class ChargeRead(NamedTuple):
    """The charge at one moment: as it reads at 20 °C (gauge Pa), and the standard deviation by
    which a reading misses. `filled` is one taken as the damper was charged on the bench."""

    when: str
    at_20: float
    deviation: float
    filled: bool = False
    build: str = ""


@dataclass(frozen=True)
class TwinHeat:
    """How much warmer (K) the damper was than the other of its axle after the runs of both; `band`
    is what the pair's own scatter allows that mean."""

    twin: str
    runs: int
    warmer: float
    band: float

    @property
    def lasts(self) -> bool:
        """Whether it is warmer beyond the pair's own scatter, and beyond what a thermometer is."""
        return self.runs >= TWIN_RUNS and self.warmer > max(self.band, TWIN_LEAST)


class Ran(NamedTuple):
    """A damper at one corner of one run; `run` None where the run is only planned."""

    when: str
    build: str
    run: Driven | None
    session: str
    corner: str


class Opened(NamedTuple):
    """When a damper was last opened: the day, "" where nobody knows; its present build, the day of
    that, and whether it is the only one."""

    since: str
    reseal: bool
    build: str
    built: str
    is_only: bool

    def has(self, one: Ran) -> bool | None:
        """Whether that was since; None where nobody can say which build ran."""
        if one.build:
            ours = one.build == self.build
        elif self.is_only:
            ours = True
        elif self.built and one.when[:1].isdigit():
            ours = one.when[:10] >= self.built
        else:
            return None
        return ours and (not self.reseal or one.when[:10] >= self.since)


def opened_last(shed: Shed, jobs: Sequence[StripDown], damper: Damper) -> Opened:
    """When that damper was last opened, by its builds and by the jobs that resealed it."""
    builds = shed.builds_of(damper.serial)
    built = builds[-1].date if builds else ""
    resealed = max(
        (
            job.date
            for job in jobs
            if job.damper.casefold() == damper.serial.casefold() and job.reseal and _is_done(job)
        ),
        default="",
    )
    name = builds[-1].version.casefold() if builds else ""
    is_reseal = bool(resealed) and resealed >= built
    return Opened(
        resealed if is_reseal else built, is_reseal, name, day_of(built), len(builds) <= 1
    )


def _is_done(job: StripDown) -> bool:
    """Whether the damper is closed up again: nothing but its fitting is open."""
    left = [name for name in job.open_steps if name != "fitted"]
    return bool(job.done) and (job.closed is not None or not left)


class RunColumns:
    """What the runs say of dampers, a column of the logbook at a time: never a run by itself."""

    def __init__(self, logbook: Logbook, shed: Shed) -> None:
        self._logbook = logbook
        driven = {one.entity: one for car in (*shed.cars, "") for one in logbook.driven(car)}
        runs, _, _ = logbook.run_table()
        self._entity = {run.number_in_file: run.entity for run in runs}
        self._when = {
            run.number_in_file: driven[run.entity].begun if run.entity in driven else run.date
            for run in runs
        }
        self._gas = self._column("gas_pressure")
        self._gas_C = self._column("gas_temperature")
        self._body = self._column("body_temperature")
        builds = self._column("build")
        self._serial: dict[tuple[int, str], str] = {}
        self.ran: dict[str, list[Ran]] = {}
        self._at: dict[str, list[tuple[int, str]]] = {}
        self._work: dict[str, tuple[RunTime | None, LapFigure | None]] = {}
        for place, value in self._column("damper").items():
            number, corner = place
            serial, entity = value.typed.casefold(), self._entity[number]
            run = driven.get(entity)
            build = builds[place].typed.casefold() if place in builds else ""
            self._serial[place] = serial
            self._at.setdefault(serial, []).append(place)
            self.ran.setdefault(serial, []).append(
                Ran(self._when[number], build, run if run and run.ran else None, entity, corner)
            )

    def _column(self, field: str) -> dict[tuple[int, str], Value]:
        return {
            (one.number_in_file, one.corner): one for one in self._logbook.run_column(field, True)
        }

    def _number(self, value: Value, field: str) -> float | None:
        """What was read there; None where it cannot be read, or cannot be right."""
        true = self._logbook.run_value(self._entity[value.number_in_file], value)
        if true is None or true[2] is None:
            return None
        reading = Reading(typed=true[0], unit=true[1] or "", si=true[2])
        return true[2] if value_mark(f"FL.{field}", reading) is None else None

    def work(self, run: Driven) -> tuple[RunTime | None, LapFigure | None]:
        """How long that run ran and how many laps it did: calculated once, for all its dampers."""
        if run.entity not in self._work:
            laps = [lap_of(lap) for lap in run.lap_times]
            self._work[run.entity] = run_time(run, laps), laps_driven(run, laps)
        return self._work[run.entity]

    def charges(self, serial: str) -> tuple[list[ChargeRead], int]:
        """The readings of its charge, and how many more say nothing at 20 °C."""
        found, unread = [], 0
        both = zip(self._at.get(serial, ()), self.ran.get(serial, ()), strict=True)
        read = sorted(
            ((place, ran) for place, ran in both if place in self._gas), key=lambda one: one[1].when
        )
        for place, ran in read[-LATEST:]:
            warm = self._gas_C.get(place)
            pressure = self._number(self._gas[place], "gas_pressure")
            at_C = self._number(warm, "gas_temperature") if warm else None
            one = charge_read(ran.when, pressure, at_C, build=ran.build)
            if one is None:
                unread += 1
            else:
                found.append(one)
        return found, unread

    def heats(self, opened: Mapping[str, Opened]) -> dict[str, TwinHeat]:
        """Each damper that was warmer than the other of its axle since both were last opened, in
        its newest pair."""
        pairs: dict[tuple[str, str], list[tuple[str, int, str]]] = {}
        for number, corner in self._body:
            other = number, TWIN[corner]
            if corner not in ("FL", "RL") or other not in self._body:
                continue
            both = self._serial.get((number, corner), ""), self._serial.get(other, "")
            if both[0] not in opened or both[1] not in opened:
                continue
            pairs.setdefault(both, []).append((self._when[number], number, corner))
        newest: dict[str, tuple[str, TwinHeat]] = {}
        for both, read in pairs.items():
            since = max(opened[one].since for one in both)
            last = sorted(one for one in read if not since or one[0][:10] >= since)[-LATEST:]
            warmths = [(when, self._warmth(number, at)) for when, number, at in last]
            there = [(when, apart) for when, apart in warmths if apart is not None]
            if len(there) < 2:
                continue
            apart = np.array([d for _, d in there])
            mean = float(apart.mean())
            band = student(apart.size - 1, TWIN_SURE) * float(apart.std(ddof=1)) / apart.size**0.5
            warm, cool = both if mean >= 0 else both[::-1]
            when = max(w for w, _ in there)
            if when >= newest.get(warm, ("",))[0]:
                newest[warm] = when, TwinHeat(cool, apart.size, abs(mean), band)
        return {serial: heat for serial, (_, heat) in newest.items()}

    def _warmth(self, number: int, corner: str) -> float | None:
        left, right = (
            self._number(self._body[number, one], "body_temperature")
            for one in (corner, TWIN[corner])
        )
        return None if left is None or right is None else left - right


def charge_read(
    when: str, pressure: float | None, at_C: float | None, *, filled: bool = False, build: str = ""
) -> ChargeRead | None:
    """That reading (gauge Pa, °C) as it is at 20 °C; None where it says nothing there."""
    if pressure is None or at_C is None:
        return None
    try:
        at_20 = float(pressure_at_20(pressure, at_C))
        doubt = charge_lost(pressure, at_C, pressure, at_C).doubt
    except BadNumber:
        return None
    return ChargeRead(when, at_20, doubt / 2**0.5 / REACH, filled, build)


def day_of(text: str) -> str:
    """The day that a date or time starts with; "" when it is none."""
    with suppress(ValueError):
        return date.fromisoformat(text[:10]).isoformat()
    return ""
