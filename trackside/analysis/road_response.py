"""What a road does to a car as it was set, and what another set-up changes: facts, with bands.

A band runs the ends of the damper's force band through the same figures; of a change, only what the
two curves do not share. The method's own miss against a drive is not in it (`corner.quarter_car`).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from trackside.analysis.estimate import as_reason
from trackside.analysis.road_inputs import (
    COMBINATIONS,
    CornerInputs,
    RoadTables,
    at_wheel_both,
    corner_inputs,
)
from trackside.corner.axle import Wheel, wheels_of
from trackside.corner.quarter_car import DamperAtWheel, OnRoad, on_road
from trackside.corner.road import Road
from trackside.corner.turn_in import turn_in
from trackside.damper.basis import Basis
from trackside.damper.flow import Floats
from trackside.errors import NoEstimate, TracksideError
from trackside.records import Session
from trackside.records.fields import CORNERS

TURN_SPEED = 0.05
"""Wheel speed (m/s) at which a rolling body's damping is taken: our own, no source."""
REACH = 3.0
"""So many times the rms is as far as it goes now and then: of a Gaussian 0.3 % is beyond."""
NAMES = ("body", "tyre", "travel", "pump_down")


@dataclass(frozen=True)
class RoadFigure:
    """A figure with the ends that the damper's band gives it."""

    value: float
    low: float
    high: float

    @property
    def is_clear(self) -> bool:
        """Of a change: whether zero is outside its band."""
        return self.low > 0.0 or self.high < 0.0


@dataclass(frozen=True)
class RoadFigures:
    """rms of body acceleration (m/s²), of tyre load about its mean (N) and of wheel travel (m);
    pump-down (m at the wheel, below zero up)."""

    body: RoadFigure
    tyre: RoadFigure
    travel: RoadFigure
    pump_down: RoadFigure


@dataclass(frozen=True)
class CornerOnRoad:
    """A corner on the road. `static` is what its tyre carries at rest (N); `stop` the wheel travel
    (m) at which the bump stop starts, None where none is known."""

    inputs: CornerInputs
    figures: RoadFigures

    @property
    def basis(self) -> Basis:
        """The weaker of both directions."""
        return self.inputs.basis

    @property
    def static(self) -> float:
        """N."""
        return self.inputs.car.static

    @property
    def stop(self) -> float | None:
        """m."""
        stop = self.inputs.stop
        return None if stop is None else float(stop.travel[0])

    @property
    def lifts(self) -> bool:
        """Whether the tyre leaves the ground now and then, which these figures leave out."""
        return REACH * self.figures.tyre.value > self.static

    @property
    def stops(self) -> bool:
        """Whether the bump stop works now and then, which these figures leave out."""
        reach = REACH * self.figures.travel.value + self.figures.pump_down.value
        return self.stop is not None and reach > self.stop


@dataclass(frozen=True)
class RoadCorner:
    """A corner as it is, as it would be in the other set-up, and the change from one to the other;
    `why` where one of them has no figures."""

    corner: str
    now: CornerOnRoad | None = None
    then: CornerOnRoad | None = None
    change: RoadFigures | None = None
    why: NoEstimate | None = None


@dataclass(frozen=True)
class TurnInFacts:
    """Front share of roll damping less that of roll stiffness, now and in the other set-up, and the
    change; `bars` are the items that look like anti-roll bars, whose rates are not on record."""

    now: RoadFigure | None = None
    then: RoadFigure | None = None
    change: RoadFigure | None = None
    bars: tuple[str, ...] = ()
    why: NoEstimate | None = None


@dataclass(frozen=True)
class RoadStory:
    """FL, FR, RL, RR on a road, and the turn-in figure; two set-ups where `compared`."""

    road: Road
    corners: tuple[RoadCorner, ...]
    turn: TurnInFacts
    compared: bool


@dataclass(frozen=True)
class _Changed:
    """Both set-ups of a corner and the forces (9, n) of the other: its own row for each of
    COMBINATIONS of the first set-up with the change as told, then the first as told with the ends
    of the change; None where another build ran, which shares no error."""

    now: CornerInputs
    then: CornerInputs
    forces: Floats | None


def road_figures(
    base: Session, changed: Session | None, road: Road, tables: RoadTables
) -> RoadStory:
    """Both set-ups of one car on one road. Of a corner or figure without an estimate: the reason.

    Keep `tables` from call to call: a changed click then costs a few ms.
    """
    pairs: list[_Changed | None] = []
    corners = []
    for corner in CORNERS:
        try:
            now = corner_inputs(base, corner, tables)
            then = now if changed is None else corner_inputs(changed, corner, tables)
            pair = _Changed(now, then, _shared(now, then, tables) if changed else None)
            corners.append(_corner(pair, road, changed is not None))
            pairs.append(pair)
        except TracksideError as error:
            corners.append(RoadCorner(corner, why=as_reason(error)))
            pairs.append(None)
    turn = _turn(base, changed, [one for one in pairs if one is not None], tables)
    return RoadStory(road, tuple(corners), turn, changed is not None)


def _shared(now: CornerInputs, then: CornerInputs, tables: RoadTables) -> Floats | None:
    builds = [
        (a.build.damper, a.build.version) == (b.build.damper, b.build.version)
        for a, b in zip(now.settings, then.settings, strict=True)
    ]
    if not all(builds) or now.motion_ratio != then.motion_ratio:
        return None
    steps = [tables.difference(a, b) for a, b in zip(now.settings, then.settings, strict=True)]
    ends = [{0: one.change, -1: one.low, 1: one.high} for one in steps]
    rest = now.speeds.size // 2
    bump, rebound = -now.forces[:, rest - 1 :: -1], now.forces[:, rest + 1 :]
    rows = [(bump[n], rebound[n], 0, 0) for n in range(len(COMBINATIONS))]
    rows += [(bump[0], rebound[0], *ends_at) for ends_at in COMBINATIONS[1:]]
    ratio = now.motion_ratio
    return at_wheel_both(
        np.array([down / ratio + ends[0][at] for down, _, at, _ in rows]),
        np.array([up / ratio + ends[1][at] for _, up, _, at in rows]),
        ratio,
    )


def _corner(pair: _Changed, road: Road, compared: bool) -> RoadCorner:
    now, then = pair.now, pair.then
    if not compared:
        return RoadCorner(now.corner, _on_road(now, _run(now, now.forces, road)))
    shared = pair.forces
    rows = then.forces if shared is None else np.concatenate((then.forces, shared))
    if now.car == then.car and now.motion_ratio == then.motion_ratio:
        whole = _run(now, np.concatenate((now.forces, rows)), road)
        before, after = _rows(whole, slice(0, 5)), _rows(whole, slice(5, None))
    else:
        before, after = _run(now, now.forces, road), _run(then, rows, road)
    change = RoadFigures(*(_change(before[name], after[name]) for name in NAMES))
    own = _rows(after, slice(0, 5))
    return RoadCorner(now.corner, _on_road(now, before), _on_road(then, own), change)


_Rows = dict[str, Floats]
_OTHER_END = (0, 2, 1, 4, 3, 6, 5, 8, 7)


def _run(inputs: CornerInputs, forces: Floats, road: Road) -> _Rows:
    found: OnRoad = on_road(inputs.car, DamperAtWheel(inputs.speeds, forces), road)
    return {name: getattr(found, name) for name in NAMES}


def _rows(found: _Rows, which: slice) -> _Rows:
    return {name: values[which] for name, values in found.items()}


def _on_road(inputs: CornerInputs, found: _Rows) -> CornerOnRoad:
    return CornerOnRoad(inputs, RoadFigures(*(_banded(found[name]) for name in NAMES)))


def _banded(rows: Floats) -> RoadFigure:
    """The first row as told, all rows as its band."""
    return RoadFigure(float(rows[0]), float(rows.min()), float(rows.max()))


def _change(before: Floats, after: Floats) -> RoadFigure:
    """Rows of the first set-up (5,) and of the other: its own (5,), and with what both share (9,)
    where they share something; else both bands' half-widths add as squares."""
    value = float(after[0] - before[0])
    if after.size > 5:
        bundle = np.concatenate(([value], after[5:10] - before, after[10:] - before[0]))
        return RoadFigure(value, float(bundle.min()), float(bundle.max()))
    first, other = _banded(before), _banded(after[:5])
    return RoadFigure(
        value,
        value - float(np.hypot(first.high - first.value, other.value - other.low)),
        value + float(np.hypot(first.value - first.low, other.high - other.value)),
    )


def _turn(
    base: Session, changed: Session | None, pairs: list[_Changed], tables: RoadTables
) -> TurnInFacts:
    car = tables.shed.cars.get(base.car)
    bars = tuple(name for name in base.items if "bar" in name.casefold().split())
    if len(pairs) < len(CORNERS):
        return TurnInFacts(
            bars=bars, why=NoEstimate("a corner has no figures", "enter what it lacks")
        )
    if car is None or not (car.wheelbase and car.track_front and car.track_rear):
        why = NoEstimate("wheelbase or tracks are not recorded", "enter them with the car")
        return TurnInFacts(bars=bars, why=why)
    size = car.wheelbase, (car.track_front, car.track_rear)
    before = _balances([pair.now for pair in pairs], [pair.now.forces for pair in pairs], size)
    if changed is None:
        return TurnInFacts(_banded(before), bars=bars)
    then = [pair.then for pair in pairs]
    after = _balances(then, [pair.then.forces for pair in pairs], size)
    shared = [pair.forces for pair in pairs if pair.forces is not None]
    if len(shared) == len(pairs):
        after = np.concatenate((after, _balances(then, shared, size)))
    return TurnInFacts(_banded(before), _banded(after[:5]), _change(before, after), bars)


def _balances(
    inputs: list[CornerInputs], forces: list[Floats], size: tuple[float, tuple[float, float]]
) -> Floats:
    """The turn-in figure for each row of the corners' forces, their ends against each other: the
    front's low with the rear's high."""
    rows = forces[0].shape[0]
    found = []
    for n in range(rows):
        at = [n, n, _OTHER_END[n], _OTHER_END[n]]
        found.append(float(turn_in(list(_wheels(inputs, forces, at, size))).balance))
    return np.array(found)


def _wheels(
    inputs: list[CornerInputs],
    forces: list[Floats],
    rows: list[int],
    size: tuple[float, tuple[float, float]],
) -> Iterable[Wheel]:
    dampings = []
    for one, force, row in zip(inputs, forces, rows, strict=True):
        up, down = np.interp([TURN_SPEED, -TURN_SPEED], one.speeds, force[row])
        dampings.append((up - down) / 2.0 / TURN_SPEED)
    cars = [one.car for one in inputs]
    return wheels_of([car.sprung for car in cars], *size, [car.rate for car in cars], dampings)
