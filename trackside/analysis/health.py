"""Which dampers need a look: charge, force, running time and warmth of each since it was opened."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from trackside.analysis.drift import REACH, ChartPoint, Line, chart, line_through
from trackside.analysis.health_runs import (
    ChargeRead,
    Opened,
    RunColumns,
    TwinHeat,
    charge_read,
    day_of,
    opened_last,
)
from trackside.analysis.shed import Shed, fit_of
from trackside.analysis.sheet_change import sheet_changes
from trackside.damper.wear import SEAL
from trackside.errors import NoEstimate, TracksideError
from trackside.records import Build, Counter, Damper, DynoSheet, StripDown

if TYPE_CHECKING:
    from trackside.damper.sheet_fit import DirectionFit, SheetFit
    from trackside.logbook import Logbook
    from trackside.logbook.driven import Driven

Kind = Literal[
    "charge below",
    "force off",
    "friction off",
    "hours over",
    "charge falling",
    "warmer than twin",
]
ORDER: Final[tuple[Kind, ...]] = (
    "charge below",
    "force off",
    "friction off",
    "hours over",
    "charge falling",
    "warmer than twin",
)
"""What needs a look, the most urgent first: our own order, no source."""
Reached = Literal["hours", "laps", "runs"]


@dataclass(frozen=True)
class ChargeHealth:
    """The charge of a damper: the readings since it was last filled, oldest first, and those
    before; the line through the former; how many were looked at; `unread` have no temperature, or
    cannot be right. `least` (gauge Pa at 20 °C) is the maker's, None without one."""

    readings: tuple[ChargeRead, ...]
    total: int
    unread: int
    line: Line | None
    least: float | None
    before: tuple[ChargeRead, ...] = ()

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
class FrictionChart:
    """The friction of the seals (N) that the fit of each sheet of the present build found: the
    first sheet's, then each of `dates` on the chart, as a difference from it in N."""

    direction: str
    first: float
    dates: tuple[str, ...]
    points: tuple[ChartPoint, ...]

    @property
    def is_off(self) -> bool:
        """Whether the newest sheet is beyond the limits."""
        return bool(self.points) and self.points[-1].is_out


@dataclass(frozen=True)
class Driving:
    """What a damper did since it was last opened, or resealed: time in s. `short` runs have no
    whole time, `lapless` no laps, and of `unsure` ones nobody can say which build ran. `limit` (s),
    `most_runs` and `most_laps` are the shop's, None without one."""

    since: str
    reseal: bool
    runs: int
    laps: float
    seconds: float
    short: int
    lapless: int
    unsure: int
    limit: float | None
    most_runs: float | None = None
    most_laps: float | None = None

    @property
    def over(self) -> tuple[Reached, ...]:
        """Which of the shop's limits it came to, or went beyond."""
        reached: Mapping[Reached, tuple[float, float | None]] = {
            "hours": (self.seconds, self.limit),
            "laps": (self.laps, self.most_laps),
            "runs": (self.runs, self.most_runs),
        }
        return tuple(k for k, (has, most) in reached.items() if most is not None and has >= most)

    @property
    def is_limited(self) -> bool:
        """Whether the shop has a limit for it."""
        return any(one is not None for one in (self.limit, self.most_runs, self.most_laps))


@dataclass(frozen=True)
class Health:
    """One damper, and what of it needs a look, the most urgent first."""

    serial: str
    build: str
    charge: ChargeHealth
    force: tuple[ForceChart, ...]
    friction: tuple[FrictionChart, ...]
    driving: Driving
    twin: TwinHeat | None

    @property
    def needs(self) -> tuple[Kind, ...]:
        """What needs a look."""
        asked: Mapping[Kind, bool] = {
            "charge below": self.charge.is_below,
            "force off": any(one.is_off for one in self.force),
            "friction off": any(one.is_off for one in self.friction),
            "hours over": bool(self.driving.over),
            "charge falling": self.charge.line is not None and self.charge.line.falls,
            "warmer than twin": self.twin is not None and self.twin.lasts,
        }
        return tuple(kind for kind in ORDER if asked[kind])


def healths(
    logbook: Logbook, shed: Shed, *, least: float | None = None, limit: float | None = None
) -> list[Health]:
    """Every damper of the shed, those that need a look first and the most urgent at the top.
    `least` is a charge (gauge Pa at 20 °C) and `limit` a running time (s), for all: without them
    the damper's own count, and after its own running time that of the hours book, where this has a
    unit with its serial."""
    columns = RunColumns(logbook, shed)
    jobs = [one for _, one in logbook.records(StripDown, "strip_down")]
    booked = {
        one.serial.casefold(): one.limit
        for _, one in logbook.records(Counter, "counter")
        if one.serial and one.limit is not None
    }
    opened = {damper.serial.casefold(): opened_last(shed, jobs, damper) for damper in shed.dampers}
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
                _charge(
                    columns.charges(name),
                    mine,
                    opened[name],
                    damper.least_charge if least is None else least,
                ),
                _force(shed, build) if build else (),
                tuple(_friction(shed, build)) if build else (),
                _driving(
                    columns, damper, opened[name], limit or damper.service_time or booked.get(name)
                ),
                replace(heats[name], twin=serials[heats[name].twin]) if name in heats else None,
            )
        )
    last = len(ORDER)
    return sorted(found, key=lambda one: (ORDER.index(one.needs[0]) if one.needs else last,
                                          -len(one.needs), one.serial))  # fmt: skip


def _charge(
    read: tuple[list[ChargeRead], int],
    jobs: Sequence[StripDown],
    opened: Opened,
    least: float | None,
) -> ChargeHealth:
    of_runs, unread = read
    of_jobs = [one for job in jobs for one in _of_job(job)]
    dated = [one for one in (*of_jobs, *of_runs) if one.when[:1].isdigit()]
    every = sorted(dated, key=lambda one: (one.when, one.filled))
    start = _last_filled(every, opened)
    last = tuple(every[start:])
    line = line_through(
        [_days(one.when) for one in last],
        [one.at_20 for one in last],
        float(np.median([one.deviation for one in last])) if last else 0.0,
    )
    undated = len(of_runs) + len(of_jobs) - len(dated)
    return ChargeHealth(last, len(every), unread + undated, line, least, tuple(every[:start]))


def _of_job(job: StripDown) -> Iterator[ChargeRead]:
    """What a strip-down read: what was in it as it came, and what it was filled to."""
    day = day_of(job.date)
    for one in (
        charge_read(f"{day} 00:00", job.gas_found, job.gas_found_at),
        charge_read(f"{day} 00:00", job.charge, job.charge_at, filled=True),
    ):
        if one is not None and day:
            yield one


def _last_filled(every: Sequence[ChargeRead], opened: Opened) -> int:
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
    since = day_of(opened.since)
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


def _friction(shed: Shed, build: Build) -> Iterator[FrictionChart]:
    """What each sheet's fit found beside the oil and the gas, with the band that it gives it; one
    that was run without friction in its forces says nothing of it."""
    fits = [
        (sheet.date, fit)
        for sheet in shed.sheets_of(build)
        if not sheet.waits and sheet.friction_in and (fit := _fit_of(sheet, build))
    ]
    for direction in ("bump", "rebound"):
        read = [(day, _rub(side)) for day, fit in fits if (side := getattr(fit, direction))]
        if len(read) < 2:
            continue
        (_, (first, miss)), *later = read
        points = chart(
            [rub - first for _, (rub, _) in later],
            [float(np.hypot(miss, own)) / 2**0.5 for _, (_, own) in later],
        )
        yield FrictionChart(direction, first, tuple(day for day, _ in later), points)


def _fit_of(sheet: DynoSheet, build: Build) -> SheetFit | None:
    with suppress(TracksideError):
        return fit_of(sheet, build)
    return None


def _rub(side: DirectionFit) -> tuple[float, float]:
    """The friction in the forces of a sheet (N), and the standard deviation by which it misses."""
    [found] = [one for one in side.parameters if one.name == "friction"]
    return found.value, float(np.hypot((found.high - found.value) / REACH, SEAL))


def _driving(columns: RunColumns, damper: Damper, opened: Opened, limit: float | None) -> Driving:
    mine: dict[str, Driven] = {}
    unsure = set()
    for one in columns.ran.get(damper.serial.casefold(), ()):
        if one.run is None:
            continue
        is_since = opened.has(one)
        if is_since is None:
            unsure.add(one.session)
        elif is_since:
            mine[one.session] = one.run
    work = [columns.work(run) for run in mine.values()]
    return Driving(
        opened.since,
        opened.reseal,
        len(mine),
        sum(laps.number for _, laps in work if laps),
        sum(time.seconds for time, _ in work if time),
        sum(1 for time, _ in work if time is None or not time.is_whole),
        sum(1 for _, laps in work if laps is None),
        len(unsure),
        limit,
        damper.service_runs,
        damper.service_laps,
    )


_BEGIN: Final = datetime(2000, 1, 1)


def _days(when: str) -> float:
    """A moment in days; one without a time is the noon of its day."""
    with suppress(ValueError):
        return (datetime.fromisoformat(when) - _BEGIN) / timedelta(days=1)
    return (datetime.fromisoformat(when[:10]) - _BEGIN) / timedelta(days=1) + 0.5


def _date(days: float) -> date:
    return (_BEGIN + timedelta(days=days)).date()
