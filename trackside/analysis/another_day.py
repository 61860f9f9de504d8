"""What another day asks for: cold pressures for the hot target from what this car gained, the
charge at today's temperature, the air's density, the body temperature to expect.

How warm a tyre, or a damper's body, becomes is predicted from the runs of the car. Half of the
air's difference is taken to come through, 0 to all of it (our own, no source); the scatter between
runs starts from 8 K, worth two runs (our own, no source): one run gives a wide interval. Wet and
dry runs are not mixed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import sqrt

from trackside.analysis.air import density
from trackside.corner.tyres import ATMOSPHERE, ZERO_C, cold_pressure
from trackside.damper.gas import pressure_at
from trackside.errors import BadNumber
from trackside.records import Session

THROUGH, THROUGH_SD = 0.5, 0.5
"""How much of a warmer air comes through to tyre and body, and how far that may be off."""
SCATTER, WORTH = 8.0, 2.0
"""K between runs of one day, before any was seen, and how many runs that is worth."""
COVERS = 0.90
"""Of the interval."""


@dataclass(frozen=True)
class Expected:
    """A value with its 90 % interval, and how many runs it is from."""

    at: float
    low: float
    high: float
    runs: int


def expected_heat(then: Sequence[tuple[float, float]], air: float) -> Expected | None:
    """How warm it becomes (°C) in air of that temperature (°C), from pairs of (heat, air) of runs;
    None without any. Predictive t of a normal with a scaled inverse χ² prior."""
    if not then:
        return None
    from scipy.special import stdtrit

    count = len(then)
    moved = [heat + THROUGH * (air - was) for heat, was in then]
    mean = sum(moved) / count
    free = WORTH + count - 1
    spread = (WORTH * SCATTER**2 + sum((one - mean) ** 2 for one in moved)) / free
    off = THROUGH_SD * (air - sum(was for _, was in then) / count)
    half = float(stdtrit(free, 0.5 + COVERS / 2)) * sqrt(spread * (1 + 1 / count) + off**2)
    return Expected(mean, mean - half, mean + half, count)


def cold_for_target(runs: Sequence[Session], now: Session, corner: str) -> Expected | None:
    """The gauge pressure (Pa) to set cold in today's air for the hot target of that corner; None
    where air or target is unknown, or no run of that surface tells how warm the tyre becomes."""
    air, target = now.si("air_temperature"), now.corner(corner).si("hot_target")
    if air is None or target is None:
        return None
    heat = expected_heat([*_tyre_heat(runs, now, corner)], air)
    here = now.si("air_pressure") or ATMOSPHERE
    if heat is None or heat.low <= -ZERO_C:
        return None
    try:
        # the warmer the tyre becomes, the less goes in
        low, at, high = (
            float(cold_pressure(target, warm, air, here, here))
            for warm in (heat.high, heat.at, heat.low)
        )
    except BadNumber:
        return None
    return Expected(at, low, high, heat.runs)


def _tyre_heat(runs: Sequence[Session], now: Session, corner: str) -> Iterator[tuple[float, float]]:
    """What the gas of that tyre came to (°C), and the air it was set in: p/T constant."""
    for run in _alike(runs, now):
        sheet = run.corner(corner)
        cold, hot, air = (
            sheet.si("cold_pressure"), sheet.si("hot_pressure"), run.si("air_temperature"),
        )  # fmt: skip
        if cold is None or hot is None or air is None or hot <= cold:
            continue
        there = run.si("air_pressure") or ATMOSPHERE
        yield (air + ZERO_C) * (hot + there) / (cold + there) - ZERO_C, air


def body_heat(runs: Sequence[Session], now: Session, corner: str) -> Expected | None:
    """The body temperature (°C) to expect of that corner's damper after a run in today's air: that
    of its oil for want of another."""
    air, damper = now.si("air_temperature"), (now.corner(corner).damper or "").casefold()
    if air is None:
        return None
    read = [
        (body, was)
        for run in _alike(runs, now)
        if (run.corner(corner).damper or "").casefold() == damper
        and (body := run.corner(corner).si("body_temperature")) is not None
        and (was := run.si("air_temperature")) is not None
    ]
    return expected_heat(read, air)


def _alike(runs: Sequence[Session], now: Session) -> list[Session]:
    """Those runs that were as wet, or as dry, as today."""
    return [run for run in runs if _is_wet(run) == _is_wet(now)]


def _is_wet(run: Session) -> bool:
    return bool(run.surface) and (run.surface or "").casefold() != "dry"


def charge_today(then: Session, now: Session, corner: str) -> tuple[float, float] | None:
    """The gauge pressure (Pa) to set a damper to in today's air (°C, with it) for the charge that
    it had `then`, of nitrogen at constant volume; None where a figure is unknown."""
    sheet, air = then.corner(corner), now.si("air_temperature")
    pressure, read_at = sheet.si("gas_pressure"), sheet.si("gas_temperature")
    if pressure is None or read_at is None or air is None:
        return None
    try:
        return float(pressure_at(pressure, read_at, air)), air
    except BadNumber:
        return None


def denser(then: Session, now: Session) -> float | None:
    """How much denser today's air is, as a share of that day's; None where one is unknown."""
    before, here = density(then), density(now)
    return None if before is None or here is None else here / before - 1.0
