"""The garage book of the samples: tyre sets, hours, scales, weather, jobs and a strip-down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from tests.samples.pages import ENGINEER, SUMMER_TIME, TECHNICIAN, Entry
from trackside.crew.strip_downs import STEPS
from trackside.records import (
    BoxPart,
    Counter,
    Job,
    Reading,
    Record,
    ScaleCorner,
    StripDown,
    TyreSet,
    Weather,
    Weighing,
)

HOUR = 3600.0
NORMAL, RAIN = "medium slick", "rain"

SETS = {
    "64": (
        TyreSet(name="D1", compound=NORMAL, size="265/660-18", state="used", laps=0, cycles=1,
                date="2026-05-09", words="Heated once before delivery, never run."),
        TyreSet(name="D2", compound=NORMAL, size="265/660-18", state="new", date="2026-05-09"),
        TyreSet(name="D6", compound=NORMAL, size="265/660-18", state="new", date="2026-10-17"),
        TyreSet(name="D7", compound=NORMAL, size="265/660-18", state="new", date="2026-10-17"),
    ),
    "27": (
        TyreSet(name="K1", compound=NORMAL, size="235/640-17", state="new", date="2026-05-09"),
        TyreSet(name="K2", compound=NORMAL, size="235/640-17", state="new", date="2026-05-09"),
        TyreSet(name="W1", compound=RAIN, size="235/640-17", state="new",
                date="2026-05-10", words="Two seasons old, kept in the dark."),
        TyreSet(name="K5", compound=NORMAL, size="235/640-17", state="new", date="2026-10-17"),
        TyreSet(name="K6", compound=NORMAL, size="235/640-17", state="new", date="2026-10-17"),
    ),
}  # fmt: skip

COUNTERS = {
    "64": (
        Counter(part="engine", serial="V6-118", since="2026-04-18", start=11.5 * HOUR,
                limit=30 * HOUR),
        Counter(part="gearbox", serial="S6-204", since="2026-04-18", start=20 * HOUR,
                limit=25 * HOUR, words="Dog rings looked at in April."),
    ),
    "27": (
        Counter(part="engine", serial="R4-031", since="2026-04-18", start=26 * HOUR,
                limit=28 * HOUR, words="Down on compression in cylinder 3 after May."),
        Counter(part="engine", serial="R4-035", since="2026-08-29", start=0.5 * HOUR,
                limit=28 * HOUR, words="Rebuilt over the summer, run in on the brake."),
    ),
}  # fmt: skip


def _scales(car: tuple[float, float, float, float]) -> dict[str, ScaleCorner]:
    return {
        corner: ScaleCorner(mass=mass)
        for corner, mass in zip(("FL", "FR", "RL", "RR"), car, strict=True)
    }


def _weighed(at: str, fuel: str, words: str, *masses: float) -> Weighing:
    front_left, front_right, rear_left, rear_right = masses
    return Weighing(
        at=at,
        driver="in",
        fuel=Reading.of_text(fuel, "fuel", "L"),
        where="own pads, workshop floor",
        words=words,
        **_scales((front_left, front_right, rear_left, rear_right)),
    )


WEIGHINGS = {
    "64": (
        _weighed("2026-05-08 17:30", "45", "", 312, 306, 341, 336),
        _weighed("2026-10-16 17:10", "45", "After FP-0619 went in at FR.", 311, 308, 343, 334),
    ),
    "27": (_weighed("2026-05-08 18:20", "40", "", 368, 362, 266, 261),),
}


def _read(
    at: str, surface: str, air: str, track: str, humidity: str, baro: str, wind: str
) -> Weather:
    return Weather.checked(
        {
            "at": at,
            "surface": surface,
            "air_temperature": Reading.of_text(air, "temperature"),
            "track_temperature": Reading.of_text(track, "temperature"),
            "humidity": Reading.of_text(humidity, "share"),
            "air_pressure": Reading.of_text(baro, "barometric pressure"),
            "wind": wind,
        }
    )


WEATHER = {
    "may": (
        _read("2026-05-09 09:00", "dry", "16", "24", "57", "1004", "light, from turn 3"),
        _read("2026-05-09 14:00", "dry", "22", "38", "50", "1003", "steady, from turn 3"),
        _read("2026-05-10 12:10", "wet", "14", "17", "95", "996", "gusts along the straight"),
        _read("2026-05-10 15:40", "dry", "19", "30", "60", "999", "light, from turn 3"),
    ),
    "october": (
        _read("2026-10-17 09:10", "dry", "7", "9", "80", "1016", "still"),
        _read("2026-10-18 13:40", "dry", "11", "16", "76", "1017", "calm"),
    ),
}


@dataclass(frozen=True)
class Wanted:
    """A job: written down for that run, at that time of the paddock's clock; `done`, when."""

    car: str
    outing: str
    at: str
    words: str
    who: str
    done: str = ""


JOBS = (
    Wanted("64", "64 may practice 3", "2026-05-09 12:10", "Free the rebound knob of FP-0611",
           "Olle", "2026-05-09 13:35"),
    Wanted("27", "27 may practice 2", "2026-05-09 11:05", "Look at the rear toe links: kerb at 4",
           "Olle", "2026-05-09 12:20"),
    Wanted("27", "27 october race", "2026-10-17 12:20", "New seal for SA-3108",
           "Olle"),
    Wanted("64", "64 october warm-up", "2026-10-17 15:50", "Both front rebound 2 clicks harder",
           "Sanna", "2026-10-18 08:35"),
    Wanted("27", "27 october race", "2026-10-18 12:25", "SA-3112 on the bench, five positions",
           "Olle"),
)  # fmt: skip

REVALVED = StripDown(
    damper="TW-2241",
    date="2026-08-29",
    why="Rear tyres hop over the kerbs of turn 4: less rebound stack, a little more bump.",
    who="Olle",
    build="B",
    steps=dict(STEPS),
    places={name: 10.0 * n for n, name in enumerate(STEPS, 1)},
    done=dict.fromkeys(STEPS, "yes"),
    gas_found=13.6e5,
    gas_found_at=21.0,
    found="Stack flat, oil grey, rod clean",
    goes_in="one 0.20 disc less in rebound, one 0.15 more in bump, new seals",
    torque=12.0,
    threadlocker="medium",
    oil="mineral 5 W",
    oil_volume=1.9e-4,
    piston_level=0.062,
    bleed_cycles=25,
    charge=14e5,
    charge_at=20.0,
    bench="five positions, no hysteresis to speak of",
    fitted_to="27, RL",
)


def utc(paddock: str) -> datetime:
    """A day, or day and time of the paddock's clock, in UTC; a day alone is six in the evening."""
    when = datetime.fromisoformat(paddock)
    return (when if len(paddock) > 10 else when.replace(hour=18)) - SUMMER_TIME


def _disc(outer: float, thick: float, count: int) -> BoxPart:
    return BoxPart(
        sort="disc", diameter=round(outer * 1e-3, 6), thickness=round(thick * 1e-3, 6), count=count
    )


BOX = (
    *(
        _disc(outer, thick, count)
        for outer, thick, count in (
            (27, 0.10, 4), (27, 0.15, 6), (27, 0.20, 4), (24, 0.10, 3), (24, 0.15, 4),
            (23, 0.10, 4), (23, 0.15, 2), (20, 0.15, 3), (18, 0.20, 4), (17, 0.20, 4),
            (32, 0.15, 4), (32, 0.20, 3), (28, 0.10, 2), (25, 0.20, 2),
        )
    ),
    BoxPart(sort="clamp disc", diameter=9.5e-3, count=2),
    BoxPart(sort="clamp disc", diameter=11e-3, count=2),
    BoxPart(sort="spacer", thickness=0.05e-3, count=6),
    BoxPart(sort="spacer", thickness=0.10e-3, count=6),
    BoxPart(sort="spacer", thickness=0.20e-3, count=4),
    BoxPart(sort="bleed disc", slot_count=4, slot_width=1.5e-3, thickness=0.15e-3, count=2),
    BoxPart(sort="bleed disc", slot_count=6, slot_width=1.0e-3, thickness=0.10e-3, count=1),
)  # fmt: skip
"""The shop's disc box, counted in April."""


def book_entries(entities: Mapping[str, str]) -> list[Entry]:
    """The garage book's entries; `entities` gives events, cars and sessions by key."""
    entries = [
        Entry(kind, f"{car} {getattr(record, name)}", _of(record, car=entities[car]),
              utc(getattr(record, when)) + timedelta(minutes=n), TECHNICIAN)
        for kind, records, name, when in (
            ("tyre_set", SETS, "name", "date"),
            ("counter", COUNTERS, "serial", "since"),
            ("weighing", WEIGHINGS, "at", "at"),
        )
        for car, of_car in records.items()
        for n, record in enumerate(of_car)
    ]  # fmt: skip
    for event, readings in WEATHER.items():
        for read in readings:
            entries.append(
                Entry("weather", read.at, _of(read, event=entities[event]), utc(read.at))
            )
    for job in JOBS:
        record = Job(
            car=entities[job.car],
            session=entities[job.outing],
            words=job.words,
            who=job.who,
            done="yes" if job.done else None,
        )
        ticked = utc(job.done or job.at)
        by = TECHNICIAN if job.who == "Olle" else ENGINEER
        entries.append(Entry("job", job.words, record, ticked, by, made=utc(job.at)))
    counted = utc("2026-04-18")
    entries += [
        Entry("box_part", f"{part.sort} {part.sizes}", part, counted, TECHNICIAN) for part in BOX
    ]
    planned, fitted = utc("2026-08-22"), utc("2026-10-16 15:00")
    entries.append(Entry("strip_down", "TW-2241 B", REVALVED, fitted, TECHNICIAN, made=planned))
    return entries


def _of(record: Record, **of: str) -> Record:
    return record.model_copy(update=of)
