"""What a plan would do, against the run that it starts from: force, damping, limits, height.

Facts only, corner by corner; `reports.plan_words` puts them in words.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from trackside.analysis.cavitation import Cavitation, cavitation
from trackside.analysis.changes import force_change
from trackside.analysis.estimate import DIRECTIONS, Estimate, as_reason, setting
from trackside.analysis.estimate_cache import EstimateCache
from trackside.analysis.shed import Shed
from trackside.analysis.stops import AtStop, at_stop
from trackside.analysis.wheel import AtWheel, at_wheel, spring_at
from trackside.analysis.worth import ForceStep
from trackside.damper.clicks import from_full_hard
from trackside.damper.gas import rod_force
from trackside.errors import NoEstimate, TracksideError
from trackside.records import Adjuster, Session
from trackside.records.fields import CORNERS
from trackside.units import GRAVITY


@dataclass(frozen=True)
class PlannedForce:
    """One direction of a corner under a plan, at the reference speeds. `change` is the force step
    from the run that it starts from: None where nothing moved the force, or where `why` says why
    the step is not known. `wheel` has the damping ratio, with what it lacks."""

    direction: str
    estimate: Estimate
    change: ForceStep | None
    wheel: AtWheel
    why: str = ""

    @property
    def moved(self) -> bool:
        """Whether the force differs from that of the run."""
        return self.change is not None or bool(self.why)


@dataclass(frozen=True)
class Left:
    """How far a knob is from both ends: steps of clicks to full hard and to full soft."""

    adjuster: Adjuster
    position: float
    to_hard: float
    to_soft: float


@dataclass(frozen=True)
class Height:
    """How the plan moves the ride height at the wheel (m, up above zero), by the spring's own
    squeeze and by the gas on the rod; None where `lacks` says what is not known. `perch_moved`:
    what the perch does is not in it, for nobody wrote down which way it is measured."""

    spring: float | None
    gas: float | None
    lacks: tuple[str, ...] = ()
    perch_moved: bool = False

    @property
    def change(self) -> float | None:
        """Both together; None where one is not known."""
        if self.spring is None or self.gas is None:
            return None
        return self.spring + self.gas


@dataclass(frozen=True)
class PlannedCorner:
    """All that is known of a corner under a plan; an error in a place of a fact is the reason why
    it is not known. `gap` is None where no bump stop is entered."""

    corner: str
    forces: dict[str, PlannedForce | NoEstimate]
    left: tuple[Left | NoEstimate, ...]
    gas: Cavitation | NoEstimate
    gap: AtStop | NoEstimate | None
    height: Height


def plan_facts(
    run: Session, planned: Session, shed: Shed, known: EstimateCache, peak: float
) -> dict[str, PlannedCorner]:
    """Each corner of `planned`, which is `run` with the cells of a plan. `known` is at the
    reference speeds; `peak` (m/s) is the rod speed of the cavitation margin."""
    return {corner: plan_corner(run, planned, corner, shed, known, peak) for corner in CORNERS}


def plan_corner(
    run: Session, planned: Session, corner: str, shed: Shed, known: EstimateCache, peak: float
) -> PlannedCorner:
    """One corner of it: what a key that steps a cell there makes new."""
    return PlannedCorner(
        corner,
        {way: _force(run, planned, corner, way, shed, known) for way in DIRECTIONS},
        tuple(_left(planned, corner, shed)),
        _known(cavitation, planned, corner, shed, peak),
        _known(at_stop, planned, corner, shed),
        _height(run, planned, corner, shed),
    )


def _known(fact: Any, *asked: Any) -> Any:
    """The fact, or the reason why it is not known."""
    try:
        return fact(*asked)
    except TracksideError as error:
        return as_reason(error)


def _force(
    run: Session, planned: Session, corner: str, way: str, shed: Shed, known: EstimateCache
) -> PlannedForce | NoEstimate:
    try:
        found = known.at(setting(planned, corner, way, shed))
    except TracksideError as error:
        return as_reason(error)
    step, why = None, ""
    try:
        moved = force_change(run, planned, corner, way, shed, known.speeds, known)
        step = moved.step if moved else None
    except TracksideError as error:
        why = str(as_reason(error))
    return PlannedForce(way, found, step, at_wheel(found, planned, shed), why)


def _left(planned: Session, corner: str, shed: Shed) -> Iterator[Left | NoEstimate]:
    build = shed.build_at(planned, corner)
    for knob in build.in_order() if build else ():
        stands = planned.corner(corner).si(knob.acts_on)
        if stands is None:
            yield NoEstimate(
                f"the {knob.words} position at {corner} is not entered", "type it on the run sheet"
            )
        elif problem := knob.problem(stands):
            yield NoEstimate(problem, "correct the position")
        else:
            hard = float(from_full_hard(stands, knob.clicks, knob.counted_from))
            yield Left(knob, stands, hard, knob.clicks - hard)


def _height(run: Session, planned: Session, corner: str, shed: Shed) -> Height:
    """The spring carries m·g/MR at the rod less the gas force; both act through it (derived):
    the rod moves by F/k, the wheel by that over MR."""
    car = shed.car_corner(planned, corner)
    was, now = run.corner(corner), planned.corner(corner)
    springs = [spring_at(one, corner, car) for one in (run, planned)]
    ratio = car.spring_ratio or car.motion_ratio
    sprung = None
    if car.mass is not None and car.unsprung_mass is not None and car.mass > car.unsprung_mass:
        sprung = car.mass - car.unsprung_mass
    lacks: list[str] = []
    same_spring = springs[0] == springs[1]
    by_spring: float | None = 0.0 if same_spring else None
    if not same_spring:
        missing = [
            name
            for name, figure in (
                ("motion ratio", ratio), ("sprung mass", sprung),
                ("spring rate", springs[0] and springs[1]),
            )
            if not figure
        ]  # fmt: skip
        if missing or not (ratio and sprung and springs[0] and springs[1]):
            lacks += missing
        else:
            load = sprung * GRAVITY / ratio - _on_gas(run, corner, shed)
            by_spring = (load / springs[0] - load / springs[1]) / ratio
    charges = was.si("gas_pressure"), now.si("gas_pressure")
    same_gas = charges[0] == charges[1]
    by_gas: float | None = 0.0 if same_gas else None
    if not same_gas:
        build = shed.build_at(planned, corner)
        rod, spring, lever = build.rod_diameter if build else None, springs[1], car.motion_ratio
        if charges[0] is None or charges[1] is None or not (rod and spring and lever):
            named: tuple[tuple[str, object], ...] = (
                ("charge", charges[0] and charges[1]), ("rod diameter", rod),
                ("spring rate", spring), ("motion ratio", lever),
            )  # fmt: skip
            lacks += [name for name, figure in named if not figure]
        else:
            more = float(rod_force(charges[1], rod) - rod_force(charges[0], rod))
            # at the wheel: ΔF·MR on the wheel rate k·MR²
            by_gas = more * lever / (spring * (car.spring_ratio or lever) ** 2)
    perch = was.si("perch") != now.si("perch")
    return Height(by_spring, by_gas, tuple(dict.fromkeys(lacks)), perch)


def _on_gas(run: Session, corner: str, shed: Shed) -> float:
    """What of the corner's load the gas on the rod carries in place of the spring (N), where charge
    and rod are known; the spring is then taken to be on the damper."""
    build, charge = shed.build_at(run, corner), run.corner(corner).si("gas_pressure")
    on_damper = shed.car_corner(run, corner).spring_ratio is None
    rod = build.rod_diameter if build else None
    return float(rod_force(charge, rod)) if rod and charge is not None and on_damper else 0.0


def least_margin(facts: Sequence[PlannedCorner]) -> float:
    """The smallest cavitation margin that is known; nan without any."""
    margins = [one.gas.least for one in facts if isinstance(one.gas, Cavitation)]
    return min(margins, default=float(np.nan))
