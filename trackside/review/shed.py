"""The team's cars, dampers, builds and dyno sheets, with each sheet fitted once."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Self

import numpy as np

from trackside.damper.clicks import from_full_hard
from trackside.damper.fit import SheetFit, SheetRows, fit_sheet
from trackside.damper.gas import rod_force
from trackside.errors import NoEstimate, TracksideError
from trackside.records import Build, Car, CarCorner, Damper, DynoSheet, Session
from trackside.records.fields import CORNERS
from trackside.review.slips import refuse_slips

if TYPE_CHECKING:
    from trackside.logbook import Logbook


@dataclass(frozen=True)
class Shed:
    """A snapshot. Builds and sheets stand oldest first; the last of a damper is the present one."""

    dampers: tuple[Damper, ...] = ()
    builds: tuple[Build, ...] = ()
    sheets: tuple[DynoSheet, ...] = ()
    cars: dict[str, Car] = field(default_factory=dict)

    @classmethod
    def of(cls, logbook: Logbook) -> Self:
        """The shed as the logbook has it now."""

        def every(kind: str, model: Any) -> Iterable[Any]:
            return (model.checked(body) for _, body in logbook.all(kind))

        return cls(
            dampers=tuple(sorted(every("damper", Damper), key=lambda d: d.serial)),
            builds=tuple(sorted(every("build", Build), key=lambda b: (b.date, b.version))),
            sheets=tuple(sorted(every("sheet", DynoSheet), key=lambda s: s.date)),
            cars={e: Car.checked(body) for e, body in logbook.all("car")},
        )

    def damper(self, serial: str) -> Damper | None:
        """The damper of that serial, however its letters are cased."""
        wanted = serial.casefold()
        return next((d for d in self.dampers if d.serial.casefold() == wanted), None)

    def builds_of(self, serial: str) -> tuple[Build, ...]:
        """Its builds, oldest first."""
        wanted = serial.casefold()
        return tuple(b for b in self.builds if b.damper.casefold() == wanted)

    def build(self, serial: str, version: str | None = None) -> Build | None:
        """That build of the damper, or its present one."""
        builds = self.builds_of(serial)
        if version is None:
            return builds[-1] if builds else None
        return next((b for b in builds if b.version.casefold() == version.casefold()), None)

    def build_at(self, session: Session, corner: str) -> Build | None:
        """What was inside the damper at that corner in that session."""
        sheet = session.corner(corner)
        return self.build(sheet.damper, sheet.build) if sheet.damper else None

    def sheets_of(self, build: Build) -> tuple[DynoSheet, ...]:
        """The dyno sheets of that build, oldest first."""
        return tuple(
            s
            for s in self.sheets
            if s.damper.casefold() == build.damper.casefold()
            and s.build.casefold() == build.version.casefold()
        )

    def sheet(self, build: Build) -> DynoSheet | None:
        """The newest dyno sheet of that build."""
        sheets = self.sheets_of(build)
        return sheets[-1] if sheets else None

    def car_corner(self, session: Session, corner: str) -> CarCorner:
        """The car's figures at that corner; all unknown when the car is not recorded."""
        car = self.cars.get(session.car)
        return car.corner(corner) if car else CarCorner()


def rows_of(sheet: DynoSheet, build: Build | None = None) -> SheetRows:
    """The sheet's rows as arrays, positions counted from full hard.

    The sheet's own convention wins over the adjuster's; without either, from full hard. Without
    an adjuster, the highest position of the sheet stands for full soft.
    """
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
    oils = [row.oil_C for row in rows if row.oil_C is not None]
    return SheetRows(
        position_from_hard=np.array([hard(row.position, row.direction) for row in rows]),
        direction=np.array([row.direction for row in rows]),
        speed=np.array([row.speed for row in rows]),
        force=np.array([row.force for row in rows]),
        oil_C=float(np.mean(oils)) if oils else None,
        preload_from_hard=preload_column if varied else None,
    )


@lru_cache(maxsize=256)
def fit_of(sheet: DynoSheet, build: Build | None = None) -> SheetFit:
    """The fit of a sheet, made once. BadSheet says what cannot be fitted."""
    refuse_slips(sheet)
    gas = None
    if sheet.gas_in and sheet.gas_pressure and build and build.rod_diameter:
        gas = float(rod_force(sheet.gas_pressure, build.rod_diameter))
    return fit_sheet(
        rows_of(sheet, build), gas_force=gas, gas_in=sheet.gas_in, friction_in=sheet.friction_in
    )


def warm(shed: Shed, body: dict[str, Any] | None) -> None:
    """Fit the sheets of the dampers that a session's body names, so that its screens need not
    wait. A sheet that cannot be fitted says so when its curve is asked for."""
    if body is None:
        return
    session = Session.checked(body)
    for corner in CORNERS:
        build = shed.build_at(session, corner)
        sheet = shed.sheet(build) if build else None
        if sheet is not None:
            with suppress(TracksideError):
                fit_of(sheet, build)


def build_or_reason(session: Session, corner: str, shed: Shed) -> Build:
    """The build at that corner; NoEstimate says which entry is missing."""
    entered = session.corner(corner)
    if not entered.damper:
        raise NoEstimate(f"no damper is entered at {corner}", "enter its serial")
    build = shed.build(entered.damper, entered.build)
    if build is None:
        which = f"build {entered.build} of {entered.damper}" if entered.build else entered.damper
        raise NoEstimate(f"{which} is not in the damper shed", "enter the damper and its build")
    return build
