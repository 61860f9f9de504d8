"""What changed between two sessions: in sentences, in clicks, and in force."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

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
from trackside.review.estimate import DIRECTIONS, Setting, Speeds, as_reason, setting
from trackside.review.shed import Shed
from trackside.review.worth import ForceStep, step_between
from trackside.units import show

AXLES = {"front": ("FL", "FR"), "rear": ("RL", "RR")}
_WEATHER = ("surface", "air_temperature", "track_temperature", "humidity", "air_pressure")
_RUN = ("tyre_set", "tyre_age", "fuel", "driver")


@dataclass(frozen=True)
class ValueChange:
    """One value that differs. `path` is `FL.camber`; `what` the label in words; `how` the change
    in words, the same for both sides of an axle when the same was done."""

    path: str
    what: str
    before: str
    after: str
    how: str

    @property
    def corner(self) -> str:
        """FL, FR, RL, RR; empty for what belongs to the whole car."""
        head = self.path.partition(".")[0]
        return head if head in CORNERS else ""

    @property
    def sentence(self) -> str:
        """`FL rebound: 2 clicks harder (8 to 6 from full hard)`."""
        return f"{self.corner} {self.what}: {self.how}".strip()


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
    def largest(self) -> int:
        """Index of the rod speed at which the force changes most."""
        return int(np.argmax(np.abs(self.step.change)))

    @property
    def size(self) -> float:
        """The change in N at that rod speed, without its sign."""
        return abs(float(self.step.change[self.largest]))

    @property
    def in_noise(self) -> bool:
        """Whether the band holds zero at every rod speed."""
        return bool(np.all(self.step.in_noise))

    def sentence(self, preferences: Preferences) -> str:
        """The change at the rod speed where it is largest, with band and standing."""
        i = self.largest
        step, unit = self.step, preferences.unit("force")

        def newton(value: float) -> str:
            text = show(value, "force", unit, with_unit=True)
            return text.replace("-", "−") if value < 0 else f"+{text}"

        speed = show(step.speed[i], "speed", preferences.unit("speed"), with_unit=True)
        head = f"{self.corner} {self.direction}: "
        band = f"95 % band {newton(step.low[i])} to {newton(step.high[i])}, {step.standing}"
        if self.in_noise:
            return f"{head}no change that stands out of the noise at {speed} ({band})"
        percent = f"{step.percent[i]:+.0f} %".replace("-", "−")
        text = f"{head}{newton(step.change[i])} ({percent}) at {speed} ({band})"
        if self.wheel is not None:
            text += f"; {newton(self.wheel[i])} at the wheel"
        return text


@dataclass(frozen=True)
class Changes:
    """All that differs between two sessions of a car."""

    values: tuple[ValueChange, ...]
    """What was set differently, in run-sheet order."""
    conditions: tuple[ValueChange, ...]
    """Weather, tyres, fuel."""
    forces: tuple[ForceChange, ...]
    """What that is worth, the largest first."""
    unknown: tuple[str, ...]
    """Where a changed corner has no estimate, and why."""

    def sentences(self) -> list[str]:
        """The set-up changes, both sides of an axle in one sentence where the same was done."""
        return list(paired(self.values))


def changes(before: Session, after: Session, shed: Shed, preferences: Preferences) -> Changes:
    """What changed from `before` to `after`, and what it is worth at the reference speeds."""
    values = tuple(_setup_changes(before, after, shed, preferences))
    forces, unknown = [], []
    for corner in CORNERS:
        for direction in DIRECTIONS:
            try:
                change = force_change(
                    before, after, corner, direction, shed, preferences.reference_speeds
                )
            except TracksideError as error:
                if any(v.corner == corner and _moves_force(v) for v in values):
                    unknown.append(f"{corner} {direction}: no estimate, {as_reason(error)}")
                continue
            if change is not None:
                forces.append(change)
    forces.sort(key=lambda change: -change.size)
    return Changes(
        values,
        tuple(_session_changes(before, after, (*_RUN, *_WEATHER), preferences)),
        tuple(forces),
        tuple(unknown),
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
    for name, field in CORNER_FIELDS.items():
        if not field.carried:
            continue
        for corner in CORNERS:
            path = f"{corner}.{name}"
            was, now = before.value(path), after.value(path)
            if same(was, now, field.quantity):
                continue
            build = shed.build_at(after, corner)
            if name in ADJUSTERS and build == shed.build_at(before, corner):
                yield _click_change(path, name, was, now, build)
            else:
                yield _plain_change(path, field, was, now, preferences)
    for name in dict.fromkeys((*before.items, *after.items)):
        item_was, item_now = before.items.get(name), after.items.get(name)
        if item_was != item_now:
            a, b = item_was or "unknown", item_now or "unknown"
            yield ValueChange(f"items.{name}", name, a, b, f"{a} to {b}")


def _session_changes(
    before: Session, after: Session, names: Sequence[str], preferences: Preferences
) -> Iterator[ValueChange]:
    for name in names:
        was, now, field = before.value(name), after.value(name), SESSION_FIELDS[name]
        if not same(was, now, field.quantity) and now is not None:
            yield _plain_change(name, field, was, now, preferences)


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
    return ValueChange(path, what, before, after, how)


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
    return ValueChange(path, field.label.lower(), before, after, f"{before} to {after}")


def _told(value: Reading | str | None, quantity: str | None, unit: str = "") -> str:
    return "unknown" if value is None else in_words(value, quantity, unit)


def paired(values: Sequence[ValueChange]) -> Iterator[str]:
    """Sentences; the same change on both sides of an axle, or all round, said once."""
    told: set[str] = set()
    by_path = {value.path: value for value in values}
    for value in values:
        if value.path in told:
            continue
        if not value.corner:
            yield value.sentence
            continue
        name = value.path.partition(".")[2]
        alike = [
            c
            for c in CORNERS
            if (v := by_path.get(f"{c}.{name}")) is not None
            and v.how == value.how
            and v.path not in told
        ]
        where: str = value.corner
        covered: tuple[str, ...] = (value.corner,)
        if len(alike) == 4:
            where, covered = "all four", CORNERS
        else:
            for axle, pair in AXLES.items():
                if value.corner in pair and set(pair) <= set(alike):
                    where, covered = axle, pair
        told |= {f"{corner}.{name}" for corner in covered}
        yield f"{where} {value.what}: {value.how}"
