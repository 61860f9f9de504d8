"""What a build is forecast to make before it was on a bench, and how that stood up to the bench."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from trackside.analysis.estimate import DIRECTIONS, Ground, as_reason, ground
from trackside.analysis.origin import Origin
from trackside.analysis.shed import Shed, fit_of
from trackside.damper.basis import Basis
from trackside.damper.clicks import as_counted, from_full_hard
from trackside.errors import NoEstimate, TracksideError
from trackside.records import Adjuster, Build
from trackside.records.strip_down import ForecastPoint, KeptForecast

POSITIONS = 5
"""How many positions of an adjuster are forecast; our own."""


@dataclass(frozen=True)
class Alone:
    """What the parts by themselves give at a point: force and band, N."""

    force: float
    low: float
    high: float


@dataclass(frozen=True)
class Forecast:
    """One direction: its points, the same from the parts alone where they are all on record, and
    what it rests on."""

    direction: str
    points: tuple[ForecastPoint, ...]
    alone: tuple[Alone | None, ...]
    origin: Origin
    basis: Basis


@dataclass(frozen=True)
class Checked:
    """A point of a forecast, and what the bench's sheet gives there, N."""

    point: ForecastPoint
    measured: float
    basis: Basis
    """How the sheet knows it: that position was run, or lies between those that were."""

    @property
    def inside(self) -> bool:
        """Whether it is inside the forecast's band."""
        return self.point.low <= self.measured <= self.point.high

    @property
    def miss(self) -> float:
        """Measured over forecast, less one."""
        return self.measured / self.point.force - 1.0 if self.point.force else 0.0


@dataclass(frozen=True)
class Proof:
    """A forecast against the bench: what it ran of the points, and how many it did not run."""

    checked: tuple[Checked, ...]
    not_run: int


@dataclass(frozen=True)
class TrackRecord:
    """How good the forecasts of a shop have been."""

    builds: int
    points: int
    inside: int
    miss: float
    """Mean of the misses' sizes, as a share."""
    off: float
    """Mean of the misses, as a share: above zero where the bench showed more."""


def forecast(build: Build, shed: Shed, speeds: Sequence[float]) -> dict[str, Forecast | NoEstimate]:
    """Both directions at positions over the adjuster's travel and rod speeds (m/s): those that the
    bench ran of the build it is carried from, else spread evenly."""
    found: dict[str, Forecast | NoEstimate] = {}
    for direction in DIRECTIONS:
        try:
            found[direction] = _of(build, direction, shed, speeds)
        except TracksideError as error:
            found[direction] = as_reason(error)
    return found


def _of(build: Build, direction: str, shed: Shed, speeds: Sequence[float]) -> Forecast:
    stands_on = ground(build, direction, shed)
    knob = build.bleed_adjuster(direction)
    v = np.asarray(speeds, float)
    points: list[ForecastPoint] = []
    alone: list[Alone | None] = []
    basis = Basis.MEASURED
    for position in _positions(stands_on, knob):
        hard = from_full_hard(position, knob.clicks, knob.counted_from) if knob else 0.0
        ring = 0.0 if stands_on.curve.takes_preload else None
        there = stands_on.curve.predict(hard, v, ring)
        by_parts = stands_on.parts.predict(hard, v, ring) if stands_on.parts else None
        basis = there.basis
        for n, speed in enumerate(speeds):
            points.append(
                ForecastPoint.checked({
                    "direction": direction,
                    "position": position if knob else None,
                    "from_hard": hard,
                    "speed": float(speed),
                    "force": float(there.force[n]),
                    "low": float(there.low[n]),
                    "high": float(there.high[n]),
                })
            )  # fmt: skip
            alone.append(
                Alone(*(float(x[n]) for x in (by_parts.force, by_parts.low, by_parts.high)))
                if by_parts
                else None
            )
    return Forecast(direction, tuple(points), tuple(alone), stands_on.origin, basis)


def _positions(stands_on: Ground, knob: Adjuster | None) -> tuple[float, ...]:
    """As the crew counts: those that the bench ran, else from one end to the other."""
    if knob is None:
        return (0.0,)
    ran = stands_on.bench.positions if stands_on.bench else ()
    if len(ran) > 1:
        chosen = [ran[round(n)] for n in np.linspace(0, len(ran) - 1, min(POSITIONS, len(ran)))]
        return tuple(as_counted(at, knob.clicks, knob.counted_from) for at in chosen)
    steps = np.linspace(0, knob.clicks / knob.step, POSITIONS)
    return tuple(dict.fromkeys(float(round(n)) * knob.step for n in steps))


def proof(kept: KeptForecast, build: Build, shed: Shed) -> Proof | None:
    """That forecast against the sheet of the build that counts; None while it has none, or where
    the sheet cannot be fitted."""
    sheet = shed.sheet(build)
    if sheet is None:
        return None
    try:
        fit = fit_of(sheet, build)
    except TracksideError:
        return None
    checked: list[Checked] = []
    for point in kept.points:
        side = {"bump": fit.bump, "rebound": fit.rebound}[point.direction]
        if side is None or not bool(side.ran([point.speed])[0]):
            continue
        ring = side.preloads[0] if side.takes_preload else None
        basis = side.basis(point.from_hard, ring)
        if basis in (Basis.MEASURED, Basis.BETWEEN):
            measured = float(side.predict(point.from_hard, [point.speed], ring).force[0])
            checked.append(Checked(point, measured, basis))
    return Proof(tuple(checked), len(kept.points) - len(checked))


def track_record(proofs: Iterable[Proof]) -> TrackRecord | None:
    """Of all forecasts that a bench has checked; None where there is none."""
    ran = [one for one in proofs if one.checked]
    checked = [point for one in ran for point in one.checked]
    if not checked:
        return None
    misses = np.array([point.miss for point in checked])
    return TrackRecord(
        len(ran),
        len(checked),
        sum(point.inside for point in checked),
        float(np.mean(np.abs(misses))),
        float(np.mean(misses)),
    )
