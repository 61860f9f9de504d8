"""The team's cars, dampers, builds and dyno sheets, with each sheet fitted once."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property, lru_cache
from operator import attrgetter, itemgetter
from typing import TYPE_CHECKING, Any, Self, TypeVar

import numpy as np

from trackside.analysis import kept_fits
from trackside.analysis.build_oil import oil_of
from trackside.analysis.reseals import reseals
from trackside.analysis.row_checks import refuse_slips, refuse_strange_run
from trackside.analysis.sheet_gas import zero_doubt
from trackside.damper.clicks import ForceSteps, from_full_hard
from trackside.damper.gas import rod_force
from trackside.damper.oil import OilData
from trackside.damper.sheet_fit import DirectionFit, SheetFit, SheetRows
from trackside.damper.warming import fit_warmed
from trackside.errors import BadNumber, BadSheet, NoEstimate, TracksideError
from trackside.logbook import dampers
from trackside.records import Build, Car, CarCorner, Damper, DynoSheet, Record, Session
from trackside.records.fields import CORNERS

if TYPE_CHECKING:
    from trackside.logbook import Logbook
    from trackside.logbook.unread import Unread

R = TypeVar("R", bound=Record)
NamedSheet = tuple[str, DynoSheet]

_BESIDE_THE_FIGURES = {"source": "", "warnings": (), "seen_by": "", "words": ""}
"""What may differ between two sheets that are one: where the file was, and what was said of it."""


def _name_of(build: Build) -> tuple[str, str]:
    return build.damper.casefold(), build.version.casefold()


def _each_once(sheets: list[NamedSheet], chosen: Container[str | None]) -> list[NamedSheet]:
    """The sheets, each with its name, and of those that say the same only one: two laptops loaded
    one file. It is the one that was `chosen`, else one that counts, else that of the smallest
    name, so that laptops that met take the same."""
    kept: dict[str, NamedSheet] = {}
    for name, sheet in sorted(sheets, key=lambda s: (s[0] not in chosen, s[1].waits, s[0])):
        said = sheet.model_copy(update=_BESIDE_THE_FIGURES)
        kept.setdefault(said.model_dump_json(), (name, sheet))
    return sorted(kept.values(), key=itemgetter(0))


@dataclass(frozen=True)
class EnteredTwice:
    """A record that was entered again on another laptop: the entry that counts, and who wrote it;
    `author` is empty where nobody signed."""

    kind: str
    body: Mapping[str, Any]
    author: str


def _entered_twice(logbook: Logbook) -> Iterator[EnteredTwice]:
    for kind in dampers.KINDS:
        for first in dict.fromkeys(logbook.doubles(kind).values()):
            body, author = logbook.state(first) or {}, logbook.history(first)[-1].author
            yield EnteredTwice(kind, body, author)


@dataclass(frozen=True)
class Shed:
    """A snapshot. Builds and sheets stand oldest first; the last of a damper is the present one.
    `unread` names what is in the logbook and cannot be read, or not wholly."""

    dampers: tuple[Damper, ...] = ()
    builds: tuple[Build, ...] = ()
    sheets: tuple[DynoSheet, ...] = ()
    cars: dict[str, Car] = field(default_factory=dict)
    unread: tuple[Unread, ...] = ()
    entered_twice: tuple[EnteredTwice, ...] = ()
    """What of it two laptops entered for one thing, while nobody has decided which holds."""
    entities: tuple[str, ...] = ()
    """The sheets' names in the logbook, in the order of the sheets."""
    reseals: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Serial in small letters → the days on which new seals went in, the valving as it was."""
    undecided: frozenset[tuple[str, str]] = frozenset()
    """Builds (serial and name in small letters) that laptops entered twice, while nobody has
    decided which entry holds."""

    @classmethod
    def of(cls, logbook: Logbook) -> Self:
        """The shed as the logbook has it now, without what cannot be read."""

        def every(kind: str, model: type[R]) -> list[tuple[str, R]]:
            return logbook.records(model, kind)

        def sorted_by(key: str, kind: str, model: type[R]) -> tuple[R, ...]:
            aside = logbook.doubles(kind)
            found = (record for entity, record in every(kind, model) if entity not in aside)
            return tuple(sorted(found, key=attrgetter(*key.split())))

        builds = sorted_by("date version", "build", Build)
        aside = logbook.doubles("build")
        sheets = sorted(
            _each_once(every("sheet", DynoSheet), {build.sheet for build in builds}),
            key=lambda named: named[1].date,
        )
        return cls(
            dampers=sorted_by("serial", "damper", Damper),
            builds=builds,
            sheets=tuple(sheet for _, sheet in sheets),
            cars=dict(every("car", Car)),
            unread=logbook.unread.of(*dampers.KINDS),
            entered_twice=tuple(_entered_twice(logbook)),
            entities=tuple(entity for entity, _ in sheets),
            reseals=reseals(logbook),
            undecided=frozenset(
                _name_of(build) for entity, build in every("build", Build) if entity in aside
            ),
        )

    def damper(self, serial: str) -> Damper | None:
        """The damper of that serial, however its letters are cased."""
        wanted = serial.casefold()
        return next((d for d in self.dampers if d.serial.casefold() == wanted), None)

    def is_undecided(self, build: Build) -> bool:
        """Whether the build was entered twice, while nobody has decided which entry holds."""
        return _name_of(build) in self.undecided

    def builds_of(self, serial: str) -> tuple[Build, ...]:
        """Its builds, oldest first."""
        return self._builds.get(serial.casefold(), ())

    @cached_property
    def _builds(self) -> dict[str, tuple[Build, ...]]:
        found: dict[str, tuple[Build, ...]] = {}
        for build in self.builds:
            serial = build.damper.casefold()
            found[serial] = (*found.get(serial, ()), build)
        return found

    def build(self, serial: str, version: str | None = None) -> Build | None:
        """That build of the damper, or its present one."""
        builds = self.builds_of(serial)
        if version is None:
            return builds[-1] if builds else None
        return next((b for b in builds if b.version.casefold() == version.casefold()), None)

    def build_at(self, session: Session, corner: str) -> Build | None:
        """What was inside the damper at that corner in that session.

        Where the run sheet names no build: the newest one made by the session's day, else the
        only one on record; None when it cannot be known.
        """
        sheet = session.corner(corner)
        if not sheet.damper:
            return None
        if sheet.build:
            return self.build(sheet.damper, sheet.build)
        builds, day = self.builds_of(sheet.damper), _day(session.start)
        if len(builds) == 1:
            return builds[0]
        dated = [b for b in builds if day and _day(b.date) and _day(b.date) <= day]
        return dated[-1] if dated else None

    def sheets_of(self, build: Build) -> tuple[DynoSheet, ...]:
        """The dyno sheets of that build, oldest first."""
        return tuple(sheet for _, sheet in self.named_sheets(build))

    def named_sheets(self, build: Build) -> tuple[tuple[str, DynoSheet], ...]:
        """The same, each with its name in the logbook; empty for a sheet outside of it."""
        names = self.entities or ("",) * len(self.sheets)
        return tuple(
            (name, sheet)
            for name, sheet in zip(names, self.sheets, strict=True)
            if sheet.damper.casefold() == build.damper.casefold()
            and sheet.build.casefold() == build.version.casefold()
        )

    def sheet(self, build: Build) -> DynoSheet | None:
        """The sheet of that build that counts: the one that the crew chose, else the newest. One
        whose serious warnings nobody has seen does not count."""
        sheets = [(name, sheet) for name, sheet in self.named_sheets(build) if not sheet.waits]
        chosen = (sheet for name, sheet in sheets if build.sheet and name == build.sheet)
        return next(chosen, sheets[-1][1] if sheets else None)

    def resealed(self, build: Build, sheet: DynoSheet) -> tuple[str, ...]:
        """The days on which that build got new seals after that sheet was run, oldest first; none
        where nobody knows the day of the sheet."""
        run, builds = _day(sheet.date), self.builds_of(build.damper)
        later = builds[builds.index(build) + 1 :] if build in builds else ()
        until = next((_day(one.date) for one in later if _day(one.date)), "")
        days = self.reseals.get(build.damper.casefold(), ()) if run else ()
        return tuple(day for day in days if day > run and (not until or day < until))

    def measured_beside(self, build: Build) -> tuple[Build, ...]:
        """The other builds of that damper with a dyno sheet that counts, the nearest strip-down
        first, the earlier ones before the later ones."""
        builds = self.builds_of(build.damper)
        at = builds.index(build) if build in builds else len(builds)
        others = (*reversed(builds[:at]), *builds[at + 1 :])
        return tuple(other for other in others if self.sheet(other))

    def refuse_stranger(self, sheet: DynoSheet) -> None:
        """BadSheet when the sheet's file carries the serial of another damper of the shed."""
        name = sheet.source.casefold()
        for damper in self.dampers:
            serial = damper.serial.casefold()
            if serial != sheet.damper.casefold() and serial in name:
                raise BadSheet(
                    f"{sheet.source} is named for damper {damper.serial}, not {sheet.damper}",
                    "add it to that one, or rename the file if its name is wrong",
                )

    def car_corner(self, session: Session, corner: str) -> CarCorner:
        """The car's figures at that corner; all unknown when the car is not recorded."""
        car = self.cars.get(session.car)
        return car.corner(corner) if car else CarCorner()


def day_of_run(session: Session) -> str:
    """The day of a run, YYYY-MM-DD; empty where its start does not say it."""
    return _day(session.start)


def _day(text: str) -> str:
    """The day that a date or time starts with, YYYY-MM-DD; empty when it is none."""
    try:
        return date.fromisoformat(text[:10]).isoformat()
    except ValueError:
        return ""


def rows_of(sheet: DynoSheet, build: Build | None = None) -> SheetRows:
    """The sheet's rows as arrays, positions counted from full hard.

    The sheet's own convention wins over the adjuster's; without either, from full hard. Without
    an adjuster, the highest position of the sheet stands for full soft. BadSheet for a position
    that the build's knob does not have, and for preload positions without a preload knob.
    """
    if build:
        _refuse_other_knobs(sheet, build)
    rows = sheet.rows
    adjusters = {d: build.bleed_adjuster(d) if build else None for d in ("bump", "rebound")}
    preloads = {d: build.adjuster(f"{d}_preload") if build else None for d in adjusters}
    highest = {d: max(sheet.positions(d), default=0.0) for d in adjusters}

    def hard(row_position: float, direction: str) -> float:
        adjuster = adjusters[direction]
        counted = sheet.counted_from or (adjuster.counted_from if adjuster else "hard")
        clicks = adjuster.clicks if adjuster else highest[direction]
        return float(from_full_hard(row_position, clicks, counted))

    def preload(row_position: float | None, direction: str) -> float:
        adjuster = preloads[direction]
        if adjuster is None:
            return 0.0
        if row_position is None:
            return np.nan
        return float(from_full_hard(row_position, adjuster.clicks, adjuster.counted_from))

    varied = any(row.preload_position is not None for row in rows)
    preload_column = np.array([preload(r.preload_position, r.direction) for r in rows])
    return SheetRows(
        position_from_hard=np.array([hard(row.position, row.direction) for row in rows]),
        direction=np.array([row.direction for row in rows]),
        speed=np.array([row.speed for row in rows]),
        force=np.array([row.force for row in rows]),
        oil_C=np.array([np.nan if row.oil_C is None else row.oil_C for row in rows]),
        preload_from_hard=preload_column if varied else None,
    )


def _refuse_other_knobs(sheet: DynoSheet, build: Build) -> None:
    for direction in ("bump", "rebound"):
        rows = sheet.of_direction(direction)
        rings = {row.preload_position for row in rows if row.preload_position is not None}
        knob, ring = build.bleed_adjuster(direction), build.adjuster(f"{direction}_preload")
        if len(rings) > 1 and ring is None:
            raise BadSheet(
                f"{direction} was run at several preload positions, and {build.damper} build "
                f"{build.version} has no {direction} preload adjuster on record",
                "enter the adjuster with the build",
            )
        for adjuster, counts in ((knob, sheet.positions(direction)), (ring, rings)):
            for count in counts:
                if adjuster and not 0 <= count <= adjuster.clicks:
                    raise BadSheet(
                        adjuster.problem(count), "correct the sheet, or the knob in the shed"
                    )


@lru_cache(maxsize=256)
def fit_of(sheet: DynoSheet, build: Build | None = None) -> SheetFit:
    """The fit of a sheet, made once. BadSheet says what cannot be fitted."""
    found = kept_fits.kept(sheet, build)
    if found is None:
        found = _searched(sheet, build)
        kept_fits.keep(sheet, build, found)
    return found


def _searched(sheet: DynoSheet, build: Build | None) -> SheetFit:
    """The fit of a sheet, searched for."""
    refuse_slips(sheet)
    gas = gas_force(sheet, build)
    fit = fit_warmed(
        rows_of(sheet, build),
        _oil(build),
        gas_force=gas,
        gas_in=bool(sheet.gas_in),
        friction_in=sheet.friction_in,
    )
    return replace(
        fit, bump=_sound(fit.bump, sheet, build), rebound=_sound(fit.rebound, sheet, build)
    )


def _oil(build: Build | None) -> OilData | None:
    """The oil's data; None where there are none, or where they contradict themselves (the shed says
    so beside the build)."""
    try:
        return oil_of(build) if build else None
    except BadNumber:
        return None


def _sound(fit: DirectionFit | None, sheet: DynoSheet, build: Build | None) -> DirectionFit | None:
    """The fit, if its runs belong together; of one position it is carried by the shop's rule."""
    if fit is None:
        return None
    refuse_strange_run(fit, sheet)
    law = _click_law(build, fit.direction) if build and len(fit.positions) == 1 else None
    return replace(fit, click_law=law, zero=zero_doubt(sheet))


def _click_law(build: Build, direction: str) -> ForceSteps | None:
    """What a click takes by the shop's rule; None where its share or its speed is unknown."""
    rule = next((r for r in build.shop_rules if r.direction == direction), None)
    knob = build.bleed_adjuster(direction)
    share = (rule and rule.share_per_click) or (knob.share_per_click if knob else None)
    return ForceSteps(share, rule.reference_speed) if rule and share else None


def gas_force(sheet: DynoSheet, build: Build | None) -> float | None:
    """The gas force (N) still in the sheet's forces, added in bump and lacking in rebound: 0 when
    there is none, None when charge or rod are not on record."""
    if not sheet.gas_in:
        return 0.0
    if sheet.gas_force is not None:
        return sheet.gas_force
    if sheet.gas_pressure is None or build is None or build.rod_diameter is None:
        return None
    return float(rod_force(sheet.gas_pressure, build.rod_diameter))


def warm(shed: Shed, session: Session) -> None:
    """Fit the sheets of the dampers that a session names, so that its screens need not
    wait. A sheet that cannot be fitted says so when its curve is asked for."""
    for corner in CORNERS:
        build = shed.build_at(session, corner)
        known = (build, *shed.measured_beside(build)) if build else ()
        measured = next((b for b in known if shed.sheet(b)), None)
        sheet = shed.sheet(measured) if measured else None
        if sheet is not None:
            with suppress(TracksideError):
                fit_of(sheet, measured)


def build_or_reason(session: Session, corner: str, shed: Shed) -> Build:
    """The build at that corner; NoEstimate says which entry is missing."""
    entered = session.corner(corner)
    if not entered.damper:
        raise NoEstimate(f"no damper is entered at {corner}", "enter its serial")
    build = shed.build_at(session, corner)
    if build is None and not entered.build and shed.builds_of(entered.damper):
        raise NoEstimate(
            f"which build of {entered.damper} ran at {corner} is not entered, and it has several",
            "type the build on the run sheet",
        )
    if build is None:
        which = f"build {entered.build} of {entered.damper}" if entered.build else entered.damper
        raise NoEstimate(f"{which} is not in the damper shed", "enter the damper and its build")
    return build
