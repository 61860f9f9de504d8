"""Which dampers need a look: charge, force, running time and warmth of each since it was opened."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

import numpy as np

from trackside.analysis.drift import REACH, ChartPoint, Line, chart, line_through, student
from trackside.analysis.hours import run_time
from trackside.analysis.lap_figures import laps_driven
from trackside.analysis.plausible_ranges import value_mark
from trackside.analysis.shed import Shed
from trackside.analysis.sheet_change import sheet_changes
from trackside.damper.gas import charge_lost, pressure_at_20
from trackside.errors import BadNumber, NoEstimate
from trackside.records import Build, Counter, Damper, Reading, StripDown

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

Kind = Literal["charge below", "force off", "hours over", "charge falling", "warmer than twin"]
ORDER: Final[tuple[Kind, ...]] = (
    "charge below",
    "force off",
    "hours over",
    "charge falling",
    "warmer than twin",
)
"""What needs a look, the most urgent first: our own order, no source."""


class ChargeRead(NamedTuple):
    """The charge at one moment: as it reads at 20 °C (gauge Pa), and the standard deviation by
    which a reading misses. `filled` is one taken as the damper was charged on the bench."""

    when: str
    at_20: float
    deviation: float
    filled: bool = False
    build: str = ""


@dataclass(frozen=True)
class ChargeHealth:
    """The charge of a damper: the readings since it was last filled, oldest first, the line
    through them, and how many of the newest were looked at; `unread` have no temperature, or
    cannot be right. `least` (gauge Pa at 20 °C) is the shop's, None without one."""

    readings: tuple[ChargeRead, ...]
    total: int
    unread: int
    line: Line | None
    least: float | None

    @property
    def is_below(self) -> bool:
        """Whether the newest reading is below the least."""
        return (
            bool(self.readings) and self.least is not None and self.readings[-1].at_20 < self.least
        )

    @property
    def below_on(self) -> tuple[date, date] | None:
        """The day on which it falls below the least, and the earliest that the band allows; None
        where it does not fall, has no least, or is below it."""
        if self.line is None or self.least is None or self.is_below:
            return None
        days = self.line.reaches(self.least)
        if days is None:
            return None
        with suppress(OverflowError, ValueError):
            return _date(days[0]), _date(days[1])
        return None


@dataclass(frozen=True)
class ForceChart:
    """The sheets of the present build in one direction, each against the first one; `dates` of
    those on the chart. `left_out` are those that could not be compared."""

    direction: str
    dates: tuple[str, ...]
    points: tuple[ChartPoint, ...]
    left_out: int

    @property
    def is_off(self) -> bool:
        """Whether the newest sheet is beyond the limits."""
        return bool(self.points) and self.points[-1].is_out


@dataclass(frozen=True)
class Driving:
    """What a damper did since it was last opened, or resealed: time in s. `short` runs have no
    whole time, `lapless` no laps, and of `unsure` ones nobody can say which build ran. `limit` (s)
    is the shop's, None without one."""

    since: str
    reseal: bool
    runs: int
    laps: float
    seconds: float
    short: int
    lapless: int
    unsure: int
    limit: float | None

    @property
    def is_over(self) -> bool:
        """Whether it ran as long as the shop allows, or longer."""
        return self.limit is not None and self.seconds >= self.limit


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


@dataclass(frozen=True)
class Health:
    """One damper, and what of it needs a look, the most urgent first."""

    serial: str
    build: str
    charge: ChargeHealth
    force: tuple[ForceChart, ...]
    driving: Driving
    twin: TwinHeat | None

    @property
    def needs(self) -> tuple[Kind, ...]:
        """What needs a look."""
        asked: Mapping[Kind, bool] = {
            "charge below": self.charge.is_below,
            "force off": any(one.is_off for one in self.force),
            "hours over": self.driving.is_over,
            "charge falling": self.charge.line is not None and self.charge.line.falls,
            "warmer than twin": self.twin is not None and self.twin.lasts,
        }
        return tuple(kind for kind in ORDER if asked[kind])


class _Ran(NamedTuple):
    """A damper at one corner of one run; `run` None where the run is only planned."""

    when: str
    build: str
    run: Driven | None
    session: str
    corner: str


def healths(
    logbook: Logbook, shed: Shed, *, least: float | None = None, limit: float | None = None
) -> list[Health]:
    """Every damper of the shed, those that need a look first and the most urgent at the top. The
    shop's `least` charge is gauge Pa at 20 °C; its service `limit` (s) is that of the hours book
    where this has a unit with the damper's serial."""
    columns = _Columns(logbook, shed)
    jobs = [one for _, one in logbook.records(StripDown, "strip_down")]
    limits = {
        one.serial.casefold(): one.limit
        for _, one in logbook.records(Counter, "counter")
        if one.serial and one.limit is not None
    }
    opened = {damper.serial.casefold(): _opened(shed, jobs, damper) for damper in shed.dampers}
    heats = columns.heats(opened)
    serials = {damper.serial.casefold(): damper.serial for damper in shed.dampers}
    found = []
    for damper in shed.dampers:
        name = damper.serial.casefold()
        build = shed.build(name)
        mine = [one for one in jobs if one.damper.casefold() == name]
        found.append(
            Health(
                damper.serial,
                build.version if build else "",
                _charge(columns.charges(name), mine, opened[name], least),
                _force(shed, build) if build else (),
                _driving(columns.ran.get(name, ()), opened[name], limits.get(name, limit)),
                replace(heats[name], twin=serials[heats[name].twin]) if name in heats else None,
            )
        )
    last = len(ORDER)
    return sorted(found, key=lambda one: (ORDER.index(one.needs[0]) if one.needs else last,
                                          -len(one.needs), one.serial))  # fmt: skip


class _Opened(NamedTuple):
    """When a damper was last opened: the day, "" where nobody knows; its present build, the day of
    that, and whether it is the only one."""

    since: str
    reseal: bool
    build: str
    built: str
    is_only: bool

    def has(self, one: _Ran) -> bool | None:
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


def _opened(shed: Shed, jobs: Sequence[StripDown], damper: Damper) -> _Opened:
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
    return _Opened(resealed if is_reseal else built, is_reseal, name, _day(built), len(builds) <= 1)


def _is_done(job: StripDown) -> bool:
    """Whether the damper is closed up again: nothing but its fitting is open."""
    left = [name for name in job.open_steps if name != "fitted"]
    return bool(job.done) and (job.closed is not None or not left)


class _Columns:
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
        self.ran: dict[str, list[_Ran]] = {}
        self._at: dict[str, list[tuple[int, str]]] = {}
        for place, value in self._column("damper").items():
            number, corner = place
            serial, entity = value.typed.casefold(), self._entity[number]
            run = driven.get(entity)
            build = builds[place].typed.casefold() if place in builds else ""
            self._serial[place] = serial
            self._at.setdefault(serial, []).append(place)
            self.ran.setdefault(serial, []).append(
                _Ran(self._when[number], build, run if run and run.ran else None, entity, corner)
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
            one = _charge_read(ran.when, pressure, at_C, build=ran.build)
            if one is None:
                unread += 1
            else:
                found.append(one)
        return found, unread

    def heats(self, opened: Mapping[str, _Opened]) -> dict[str, TwinHeat]:
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


def _charge_read(
    when: str, pressure: float | None, at_C: float | None, *, filled: bool = False, build: str = ""
) -> ChargeRead | None:
    if pressure is None or at_C is None:
        return None
    try:
        at_20 = float(pressure_at_20(pressure, at_C))
        doubt = charge_lost(pressure, at_C, pressure, at_C).doubt
    except BadNumber:
        return None
    return ChargeRead(when, at_20, doubt / 2**0.5 / REACH, filled, build)


def _charge(
    read: tuple[list[ChargeRead], int],
    jobs: Sequence[StripDown],
    opened: _Opened,
    least: float | None,
) -> ChargeHealth:
    of_runs, unread = read
    of_jobs = [one for job in jobs for one in _of_job(job)]
    dated = [one for one in (*of_jobs, *of_runs) if one.when[:1].isdigit()]
    every = sorted(dated, key=lambda one: (one.when, one.filled))
    last = tuple(every[_last_filled(every, opened) :])
    line = line_through(
        [_days(one.when) for one in last],
        [one.at_20 for one in last],
        float(np.median([one.deviation for one in last])) if last else 0.0,
    )
    undated = len(of_runs) + len(of_jobs) - len(dated)
    return ChargeHealth(last, len(every), unread + undated, line, least)


def _of_job(job: StripDown) -> Iterator[ChargeRead]:
    """What a strip-down read: what was in it as it came, and what it was filled to."""
    day = _day(job.date)
    for one in (
        _charge_read(f"{day} 00:00", job.gas_found, job.gas_found_at),
        _charge_read(f"{day} 00:00", job.charge, job.charge_at, filled=True),
    ):
        if one is not None and day:
            yield one


def _last_filled(every: Sequence[ChargeRead], opened: _Opened) -> int:
    """The place of the first reading since the damper was last filled: on the bench, with a new
    build, or where a reading rose beyond what readings miss by."""
    start = 0
    for at in range(1, len(every)):
        was, now = every[at - 1], every[at]
        rise = now.at_20 - was.at_20
        if (
            now.filled
            or (was.build and now.build and was.build != now.build)
            or rise > REACH * np.hypot(was.deviation, now.deviation)
        ):
            start = at
    since = _day(opened.since)
    while since and start < len(every) and every[start].when[:10] < since:
        start += 1
    return start


def _force(shed: Shed, build: Build) -> tuple[ForceChart, ...]:
    sheets = [sheet for sheet in shed.sheets_of(build) if not sheet.waits]
    if len(sheets) < 2:
        return ()
    changes = [(sheet.date, sheet_changes(sheets[0], sheet, build)) for sheet in sheets[1:]]
    found = []
    for direction in ("bump", "rebound"):
        there = [(day, change[direction]) for day, change in changes if direction in change]
        told = [(day, one) for day, one in there if not isinstance(one, NoEstimate)]
        if not there:
            continue
        points = chart(
            [float(np.log1p(one.mean)) for _, one in told],
            [one.band / REACH / (1.0 + one.mean) / 2**0.5 for _, one in told],
        )
        days = tuple(day for day, _ in told)
        found.append(ForceChart(direction, days, points, len(there) - len(told)))
    return tuple(found)


def _driving(ran: Sequence[_Ran], opened: _Opened, limit: float | None) -> Driving:
    mine: dict[str, Driven] = {}
    unsure = set()
    for one in ran:
        if one.run is None:
            continue
        is_since = opened.has(one)
        if is_since is None:
            unsure.add(one.session)
        elif is_since:
            mine[one.session] = one.run
    times = [run_time(run) for run in mine.values()]
    laps = [laps_driven(run) for run in mine.values()]
    return Driving(
        opened.since,
        opened.reseal,
        len(mine),
        sum(one.number for one in laps if one),
        sum(time.seconds for time in times if time),
        sum(1 for time in times if time is None or not time.is_whole),
        sum(1 for one in laps if one is None),
        len(unsure),
        limit,
    )


def _day(text: str) -> str:
    """The day that a date or time starts with; "" when it is none."""
    with suppress(ValueError):
        return date.fromisoformat(text[:10]).isoformat()
    return ""


_BEGIN: Final = datetime(2000, 1, 1)


def _days(when: str) -> float:
    """A moment in days; one without a time is the noon of its day."""
    with suppress(ValueError):
        return (datetime.fromisoformat(when) - _BEGIN) / timedelta(days=1)
    return (datetime.fromisoformat(when[:10]) - _BEGIN) / timedelta(days=1) + 0.5


def _date(days: float) -> date:
    return (_BEGIN + timedelta(days=days)).date()
