"""What changed between two sessions: what was set, in clicks and in force; what was only read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trackside.analysis.estimate import DIRECTIONS, Setting, Speeds, as_reason, setting
from trackside.analysis.gauges import GaugeChange, charges, cold_pressures
from trackside.analysis.shed import Shed
from trackside.analysis.swaps import is_swapped, swap
from trackside.analysis.value_change import ValueChange
from trackside.analysis.worth import ForceStep, step_between
from trackside.corner.wheel import wheel_force
from trackside.damper.clicks import harder_by
from trackside.errors import TracksideError
from trackside.preferences import Preferences
from trackside.records import Build, Reading, Session, in_words, same
from trackside.records.fields import (
    ADJUSTER_WORDS,
    ADJUSTERS,
    CORNER_FIELDS,
    CORNERS,
    SESSION_FIELDS,
    Field,
)
from trackside.units import show

AXLES = {"front": ("FL", "FR"), "rear": ("RL", "RR")}
_WEATHER = ("surface", "air_temperature", "track_temperature", "humidity", "air_pressure")
_GAUGES = ("gas_pressure", "gas_temperature", "cold_pressure")
"""Read from a gauge: compared by what is in there, not by the number."""
_RUN = ("tyre_set", "tyre_age", "fuel", "driver")


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
    change in force is not known."""

    corner: str
    direction: str
    why: str

    @property
    def sentence(self) -> str:
        """`FL bump: no estimate, the bump position at FL is not entered: type it …`."""
        return f"{self.corner} {self.direction}: no estimate, {self.why}"


@dataclass(frozen=True)
class Changes:
    """All that differs between two sessions of a car."""

    values: tuple[ValueChange, ...]
    """What was set differently, in run-sheet order."""
    conditions: tuple[ValueChange, ...]
    """Weather, tyres, fuel."""
    readings: tuple[ValueChange, ...]
    """Gauge readings that differ though nothing was changed: the day's temperature explains them,
    or they cannot be compared."""
    forces: tuple[ForceChange, ...]
    """What that is worth, the clearest first: the largest share of its own band."""
    unknown: tuple[NotKnown, ...]
    """Where a changed corner has no estimate, and why."""
    swapped: tuple[str, ...]
    """The corners with another damper, or another build of the same one."""


def changes(before: Session, after: Session, shed: Shed, preferences: Preferences) -> Changes:
    """What changed from `before` to `after`, and what it is worth at the reference speeds."""
    values = tuple(_setup_changes(before, after, shed, preferences))
    gauges = tuple(_gauge_changes(before, after, preferences))
    forces, unknown = [], []
    for corner in CORNERS:
        for direction in DIRECTIONS:
            try:
                change = force_change(
                    before, after, corner, direction, shed, preferences.reference_speeds
                )
            except TracksideError as error:
                if any(v.corner == corner and _moves_force(v) for v in values):
                    unknown.append(NotKnown(corner, direction, str(as_reason(error))))
                continue
            if change is None:
                continue
            if change.is_known:
                forces.append(change)
            else:
                unknown.append(NotKnown(corner, direction, "no figure comes out at these speeds."))
    forces.sort(key=lambda change: -change.share)
    return Changes(
        (*values, *(value for value, is_set in gauges if is_set)),
        tuple(_session_changes(before, after, (*_RUN, *_WEATHER), preferences)),
        tuple(value for value, is_set in gauges if not is_set),
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
) -> ForceChange | None:
    """The force change of one direction of a corner; None when nothing moved it."""
    was, now = (setting(s, corner, direction, shed) for s in (before, after))
    if (was.build, was.from_hard, was.preload_from_hard) == (
        now.build,
        now.from_hard,
        now.preload_from_hard,
    ):
        return None
    step = step_between(was, now, shed, speeds)
    ratio = shed.car_corner(after, corner).motion_ratio
    wheel = None if ratio is None else np.asarray(wheel_force(step.change, ratio))
    return ForceChange(corner, direction, was, now, step, wheel)


def _moves_force(change: ValueChange) -> bool:
    name = change.path.partition(".")[2]
    return name in ADJUSTERS or name in ("damper", "build")


def _setup_changes(
    before: Session, after: Session, shed: Shed, preferences: Preferences
) -> Iterator[ValueChange]:
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
                yield _click_change(path, name, was, now, shed.build_at(after, corner))
            else:
                yield _plain_change(path, field, was, now, preferences)
    for name in dict.fromkeys((*before.items, *after.items)):
        item_was, item_now = before.items.get(name), after.items.get(name)
        if item_was != item_now:
            a, b = item_was or "unknown", item_now or "unknown"
            yield ValueChange(f"items.{name}", name, a, b, f"{a} to {b}")


def _named_alike(name: str, was: object, now: object) -> bool:
    """Whether a damper, or a build, is the same one in other letters."""
    return name in ("damper", "build") and str(was).casefold() == str(now).casefold()


def _session_changes(
    before: Session, after: Session, names: Sequence[str], preferences: Preferences
) -> Iterator[ValueChange]:
    for name in names:
        was, now, field = before.value(name), after.value(name), SESSION_FIELDS[name]
        if not same(was, now, field.quantity) and now is not None:
            yield _plain_change(name, field, was, now, preferences)


def _gauge_changes(
    before: Session, after: Session, preferences: Preferences
) -> Iterator[tuple[ValueChange, bool]]:
    """Each pressure that reads differently, and whether it was set."""
    unit = preferences.unit("pressure")

    def told(found: GaugeChange, name: str, what: str, same_as: str) -> tuple[ValueChange, bool]:
        path = f"{found.corner}.{name}"
        values = [session.value(path) for session in (before, after)]
        typed = [_told(value, "pressure", unit) for value in values]
        if typed[0] == typed[1]:  # the crew's unit is too coarse for it: as it was typed
            typed = [_told(value, "pressure") for value in values]
        pressures, is_set = (found.before, found.after), found.verdict == "set"
        if name == "gas_pressure" and is_set:
            typed = [show(p, "pressure", unit, with_unit=True) for p in pressures]
            at = show(20.0, "temperature", preferences.unit("temperature"), with_unit=True)
            what = f"{what} at {at}"
        notes = {"set": "", "same": same_as, "unknown": f"not comparable: {found.why}"}
        how = ", ".join(
            part for part in (f"{typed[0]} to {typed[1]}", notes[found.verdict]) if part
        )
        sense = int(np.sign(found.after - found.before)) if is_set else 0
        return ValueChange(path, what, typed[0], typed[1], how, sense), is_set

    for gas in charges(before, after):
        yield told(gas, "gas_pressure", "gas", "the same filling at another temperature")
    for cold in cold_pressures(before, after):
        yield told(
            cold, "cold_pressure", "cold", "for the same target, or by the day's temperature"
        )


def _click_change(
    path: str,
    name: str,
    was: Reading | str | None,
    now: Reading | str | None,
    build: Build | None,
) -> ValueChange:
    before, after = _told(was, "clicks"), _told(now, "clicks")
    adjuster = build.adjuster(name) if build else None
    what = ADJUSTER_WORDS[name]
    a, b = (v.si if isinstance(v, Reading) else None for v in (was, now))
    if adjuster is None or a is None or b is None:
        return ValueChange(path, what, before, after, f"{before} to {after}")
    harder = harder_by(a, b, adjuster.clicks, adjuster.counted_from)
    size = f"{abs(harder):g} click{'' if abs(harder) == 1 else 's'}"
    sense = "harder" if harder > 0 else "softer"
    if adjuster.problem(a) or adjuster.problem(b):
        return ValueChange(path, what, before, after, f"{before} to {after}, beyond its clicks")
    how = f"{size} {sense} ({before} to {after} from full {adjuster.counted_from})"
    return ValueChange(path, what, before, after, how, int(np.sign(harder)))


def _plain_change(
    path: str,
    field: Field,
    was: Reading | str | None,
    now: Reading | str | None,
    preferences: Preferences,
) -> ValueChange:
    unit = preferences.unit(field.quantity) if field.quantity else ""
    before, after = (_told(v, field.quantity, unit) for v in (was, now))
    if before == after:  # the crew's unit is too coarse for it: as it was typed
        before, after = (_told(v, field.quantity) for v in (was, now))
    how = f"{before} to {after}"
    return ValueChange(path, field.label.lower(), before, after, how, _sense(was, now, field))


def _sense(was: Reading | str | None, now: Reading | str | None, field: Field) -> int:
    """Which way the number went; 0 for words, and for two that cannot be compared."""
    if not (isinstance(was, Reading) and isinstance(now, Reading) and field.quantity):
        return 0
    if was.si is None or now.si is None or was.base(field.quantity) != now.base(field.quantity):
        return 0
    return int(np.sign(now.si - was.si))


def _told(value: Reading | str | None, quantity: str | None, unit: str = "") -> str:
    return "unknown" if value is None else in_words(value, quantity, unit)
