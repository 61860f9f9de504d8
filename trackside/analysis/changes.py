"""What changed between two sessions: what was set, in clicks and in force; what was only read.

Facts only; `reports.change_words` puts them in words.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trackside.analysis.estimate import DIRECTIONS, Setting, Speeds, as_reason, setting
from trackside.analysis.estimate_cache import EstimateCache
from trackside.analysis.gauges import charges, cold_pressures
from trackside.analysis.shed import Shed
from trackside.analysis.swaps import is_swapped, swap
from trackside.analysis.value_change import (
    ClickChange,
    End,
    PressureChange,
    Value,
    ValueChange,
)
from trackside.analysis.worth import ForceStep, step_from
from trackside.corner.wheel import wheel_force
from trackside.damper.clicks import harder_by
from trackside.errors import TracksideError
from trackside.records import Build, Reading, Session, same
from trackside.records.fields import (
    ADJUSTERS,
    CORNER_FIELDS,
    CORNERS,
    SESSION_FIELDS,
    Field,
)

AXLES = {"front": ("FL", "FR"), "rear": ("RL", "RR")}
_WEATHER = ("surface", "air_temperature", "track_temperature", "humidity", "air_pressure")
_GAUGES = ("gas_pressure", "gas_temperature", "cold_pressure")
"""Read from a gauge: compared by what is in there, not by the number."""
_RUN = ("tyre_set", "rear_set", "tyre_age", "fuel", "driver")


@dataclass(frozen=True)
class ForceChange:
    """What the change is worth in one direction at one corner. `wheel` is the force change at the
    wheel (N) at the same rod speeds; None when the motion ratio is unknown."""

    corner: str
    direction: str
    before: Setting
    after: Setting
    step: ForceStep
    wheel: NDArray[np.float64] | None

    @property
    def shares(self) -> NDArray[np.float64]:
        """How many times its own half band the change is, at each rod speed, (n,)."""
        half, change = (self.step.high - self.step.low) / 2, np.abs(self.step.change)
        certain = np.where(change > 0, np.inf, 0.0)
        return np.divide(change, half, out=certain, where=half > 0)

    @property
    def is_known(self) -> bool:
        """Whether change and band are numbers at every rod speed."""
        step = self.step
        return bool(np.all(np.isfinite([step.change, step.low, step.high])))

    @property
    def clearest(self) -> int:
        """Index of the rod speed at which the change is the largest share of its band."""
        return int(np.argmax(self.shares))

    @property
    def share(self) -> float:
        """The share at that rod speed."""
        return float(self.shares[self.clearest])

    def clearest_in(self, slow: bool, split: float) -> int | None:
        """The same among the rod speeds up to `split` (m/s), or above it; None when no reference
        speed is there."""
        there = (self.step.speed <= split) == slow
        if not np.any(there):
            return None
        return int(np.argmax(np.where(there, self.shares, -1.0)))

    @property
    def sense(self) -> int:
        """1 where the change is harder at every rod speed that the band can tell, −1 softer; 0
        where it is harder at some and softer at others, or nowhere known."""
        signs = {int(np.sign(c)) for c in self.step.change[~self.step.in_noise]}
        return signs.pop() if len(signs) == 1 else 0

    @property
    def in_noise(self) -> bool:
        """Whether the band holds zero at every rod speed."""
        return bool(np.all(self.step.in_noise))


@dataclass(frozen=True)
class NotKnown:
    """One direction of a corner where something that moves the force was changed, and why the
    change in force is not known, as an error says it; "" where no figure comes out at the rod
    speeds."""

    corner: str
    direction: str
    why: str


@dataclass(frozen=True)
class Changes:
    """All that differs between two sessions of a car."""

    values: tuple[ValueChange, ...]
    """What was set differently, in run-sheet order."""
    conditions: tuple[ValueChange, ...]
    """Weather, tyres, fuel."""
    readings: tuple[PressureChange, ...]
    """Gauge readings that differ though nothing was changed: the day's temperature explains them,
    or they cannot be compared."""
    forces: tuple[ForceChange, ...]
    """What that is worth, the clearest first: the largest share of its own band."""
    unknown: tuple[NotKnown, ...]
    """Where a changed corner has no estimate, and why."""
    swapped: tuple[str, ...]
    """The corners with another damper, or another build of the same one."""


def changes(
    before: Session,
    after: Session,
    shed: Shed,
    speeds: Speeds,
    known: EstimateCache | None = None,
) -> Changes:
    """What changed from `before` to `after`, and what it is worth at these rod speeds (m/s).
    `known` has the curves of that shed at those speeds that were calculated already."""
    known = EstimateCache(shed, speeds) if known is None else known
    values = tuple(_setup_changes(before, after, shed))
    gauges = tuple(_gauge_changes(before, after))
    forces, unknown = [], []
    for corner in CORNERS:
        for direction in DIRECTIONS:
            try:
                change = force_change(before, after, corner, direction, shed, speeds, known)
            except TracksideError as error:
                if any(v.corner == corner and _moves_force(v) for v in values):
                    unknown.append(NotKnown(corner, direction, str(as_reason(error))))
                continue
            if change is None:
                continue
            if change.is_known:
                forces.append(change)
            else:
                unknown.append(NotKnown(corner, direction, ""))
    forces.sort(key=lambda change: -change.share)
    return Changes(
        (*values, *(gauge for gauge in gauges if gauge.is_set)),
        tuple(_session_changes(before, after, (*_RUN, *_WEATHER))),
        tuple(gauge for gauge in gauges if not gauge.is_set),
        tuple(forces),
        tuple(unknown),
        tuple(corner for corner in CORNERS if is_swapped(before, after, corner, shed)),
    )


def force_change(
    before: Session,
    after: Session,
    corner: str,
    direction: str,
    shed: Shed,
    speeds: Speeds,
    known: EstimateCache | None = None,
) -> ForceChange | None:
    """The force change of one direction of a corner; None when nothing moved it. `known` as in
    `changes`."""
    was, now = (setting(s, corner, direction, shed) for s in (before, after))
    if (was.build, was.from_hard, was.preload_from_hard) == (
        now.build,
        now.from_hard,
        now.preload_from_hard,
    ):
        return None
    start = (EstimateCache(shed, speeds) if known is None else known).at(was)
    step = step_from(start, now, shed)
    ratio = shed.car_corner(after, corner).motion_ratio
    wheel = None if ratio is None else np.asarray(wheel_force(step.change, ratio))
    return ForceChange(corner, direction, was, now, step, wheel)


def _moves_force(change: ValueChange) -> bool:
    return change.name in ADJUSTERS or change.name in ("damper", "build")


def _setup_changes(before: Session, after: Session, shed: Shed) -> Iterator[ValueChange]:
    swaps = {corner: swap(before, after, corner, shed) for corner in CORNERS}
    for name, field in CORNER_FIELDS.items():
        if not field.carried or name in _GAUGES:
            continue
        for corner in CORNERS:
            path = f"{corner}.{name}"
            was, now = before.value(path), after.value(path)
            if path in swaps[corner]:
                yield swaps[corner][path]
            elif same(was, now, field.quantity) or _named_alike(name, was, now):
                continue
            elif name in ADJUSTERS:
                yield _click_change(path, was, now, shed.build_at(after, corner))
            else:
                yield ValueChange(path, was, now, _sense(was, now, field))
    for name in dict.fromkeys((*before.items, *after.items)):
        was, now = (session.items.get(name) or None for session in (before, after))
        if before.items.get(name) != after.items.get(name):
            yield ValueChange(f"items.{name}", was, now)


def _named_alike(name: str, was: object, now: object) -> bool:
    """Whether a damper, or a build, is the same one in other letters."""
    return name in ("damper", "build") and str(was).casefold() == str(now).casefold()


def _session_changes(
    before: Session, after: Session, names: Sequence[str]
) -> Iterator[ValueChange]:
    for name in names:
        was, now, field = before.value(name), after.value(name), SESSION_FIELDS[name]
        if not same(was, now, field.quantity) and now is not None:
            yield ValueChange(name, was, now, _sense(was, now, field))


def _gauge_changes(before: Session, after: Session) -> Iterator[PressureChange]:
    """Each pressure that reads differently, and whether it was set."""
    gauges = (("gas_pressure", charges), ("cold_pressure", cold_pressures))
    for name, compared in gauges:
        for found in compared(before, after):
            path = f"{found.corner}.{name}"
            is_set = found.verdict == "set"
            yield PressureChange(
                path,
                before.value(path),
                after.value(path),
                int(np.sign(found.after - found.before)) if is_set else 0,
                pressures=(found.before, found.after),
                verdict=found.verdict,
                why=found.why,
            )


def _click_change(path: str, was: Value, now: Value, build: Build | None) -> ClickChange:
    """A knob turned in one build; `build` None where it is not known."""
    adjuster = build.adjuster(path.partition(".")[2]) if build else None
    if adjuster is None:
        end: End = "no knob" if build else "unknown"
        return ClickChange(path, was, now, ends=(end, end))
    ends = adjuster.counted_from, adjuster.counted_from
    a, b = (value.si if isinstance(value, Reading) else None for value in (was, now))
    if a is None or b is None:
        return ClickChange(path, was, now, ends=ends)
    if adjuster.problem(a) or adjuster.problem(b):
        return ClickChange(path, was, now, ends=ends, beyond=True)
    harder = float(harder_by(a, b, adjuster.clicks, adjuster.counted_from))
    return ClickChange(path, was, now, int(np.sign(harder)), ends=ends, harder=harder)


def _sense(was: Value, now: Value, field: Field) -> int:
    """Which way the number went; 0 for words, and for two that cannot be compared."""
    if not (isinstance(was, Reading) and isinstance(now, Reading) and field.quantity):
        return 0
    if was.si is None or now.si is None or was.base(field.quantity) != now.base(field.quantity):
        return 0
    return int(np.sign(now.si - was.si))
