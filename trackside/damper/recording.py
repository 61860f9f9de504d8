"""A raw bench recording: time, displacement, force, as a dyno's sine run gives them.

Displacement (m) grows as the damper closes; force (N) is positive in bump. The stroke and the
frequency are found by fitting a sine, so the speed is the sine's own and no derivative is taken
of noise. Peak speed is π·stroke·frequency.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trackside.damper.flow import Floats
from trackside.errors import BadSheet

_WINDOW = 0.3  # rad either side of the greatest speed
_NOT_A_SINE = 0.05  # rms left over, as a share of the amplitude


@dataclass(frozen=True)
class Sine:
    """displacement = centre + stroke/2·sin(2π·frequency·t + phase); m, Hz, rad.

    left_over: rms of what the sine does not explain, as a share of its amplitude.
    """

    stroke: float
    frequency: float
    phase: float
    centre: float
    left_over: float

    @property
    def peak_speed(self) -> float:
        """m/s."""
        return np.pi * self.stroke * self.frequency

    def angle(self, time: Floats) -> Floats:
        """Angle (rad) at each time; speed goes with its cosine."""
        return 2.0 * np.pi * self.frequency * time + self.phase

    def speed(self, time: Floats) -> Floats:
        """Rod speed (m/s), positive in bump."""
        return self.peak_speed * np.cos(self.angle(time))


@dataclass(frozen=True)
class PeakForces:
    """Force magnitudes (N) at the greatest speed: mean over strokes, and their scatter."""

    speed: float
    bump: float
    rebound: float
    bump_scatter: float
    rebound_scatter: float
    strokes: int


@dataclass(frozen=True)
class SlowRun:
    """A run so slow that oil does not count: gas force at mid stroke, its rate, seal friction."""

    gas_force: float
    gas_rate: float
    friction: float


@dataclass(frozen=True)
class Recording:
    """n samples; raises BadSheet if they cannot be a sine run."""

    time: Floats
    displacement: Floats
    force: Floats
    sine: Sine

    @classmethod
    def read(cls, time: ArrayLike, displacement: ArrayLike, force: ArrayLike) -> Recording:
        """Check the columns (s, m, N) and find the sine; at least two whole cycles."""
        t, x, f = (np.asarray(column, float) for column in (time, displacement, force))
        if not (t.ndim == 1 and t.shape == x.shape == f.shape and t.size >= 20):
            raise BadSheet(
                "the recording's columns differ in length or are too short", "export it again"
            )
        for name, column in (("time", t), ("displacement", x), ("force", f)):
            bad = np.flatnonzero(~np.isfinite(column))
            if bad.size:
                raise BadSheet(f"sample {bad[0] + 1} has no {name}", "leave the sample out")
        if not np.all(np.diff(t) > 0.0):
            raise BadSheet("the recording's time does not run forward", "check the time column")
        return cls(t, x, f, find_sine(t, x))

    def peak_forces(self) -> PeakForces:
        """Force at the greatest speed of every stroke, gas force still in it: see `slow_run`."""
        angle = self.sine.angle(self.time)
        stroke = np.round(angle / np.pi).astype(np.int64)  # even: bump, odd: rebound
        near = np.abs(angle - stroke * np.pi) < _WINDOW
        stroke = stroke[near] - stroke[near][0]
        first_is_bump = np.cos(angle[near][0]) > 0.0
        count = np.bincount(stroke)
        # weights that leave the middle of a parabola as it is: the mean of 1 is 1, of u² nothing
        u = (angle[near] - np.round(angle[near] / np.pi) * np.pi) / _WINDOW
        weight = 3.0 - 5.0 * u**2
        with np.errstate(invalid="ignore", divide="ignore"):
            mean = np.bincount(stroke, weight * self.force[near]) / np.bincount(stroke, weight)
        whole = count > 0.5 * np.median(count[count > 0])
        even = np.arange(count.size) % 2 == 0
        bump = mean[whole & (even if first_is_bump else ~even)]
        rebound = -mean[whole & (~even if first_is_bump else even)]
        if min(bump.size, rebound.size) < 1:
            raise BadSheet(
                "the recording has no whole stroke each way", "record two cycles or more"
            )
        return PeakForces(
            self.sine.peak_speed,
            float(bump.mean()),
            float(rebound.mean()),
            float(bump.std(ddof=1)) if bump.size > 1 else 0.0,
            float(rebound.std(ddof=1)) if rebound.size > 1 else 0.0,
            int(bump.size + rebound.size),
        )

    def energy_per_cycle(self) -> float:
        """Energy (J) that one cycle takes: the area of the force-displacement loop."""
        cycles = np.floor((self.time[-1] - self.time[0]) * self.sine.frequency)
        last = np.searchsorted(self.time, self.time[0] + cycles / self.sine.frequency)
        force, x = self.force[: last + 1], self.displacement[: last + 1]
        return float(np.sum(0.5 * (force[1:] + force[:-1]) * np.diff(x)) / cycles)

    def slow_run(self) -> SlowRun:
        """Gas and friction of a quasi-static run: F = gas + rate·(x − centre) ± friction."""
        speed = self.sine.speed(self.time)
        moving = np.abs(speed) > 0.3 * self.sine.peak_speed
        columns = np.column_stack(
            [
                np.ones(moving.sum()),
                (self.displacement[moving] - self.sine.centre) / self.sine.stroke,
                np.sign(speed[moving]),
            ]
        )
        gas, rate, friction = np.linalg.lstsq(columns, self.force[moving], rcond=None)[0]
        return SlowRun(float(gas), float(rate / self.sine.stroke), float(friction))


def find_sine(time: Floats, displacement: Floats) -> Sine:
    """The sine of a run: frequency from crossings of the middle, then least squares.

    Raises BadSheet if there are not two cycles, or if it is not a sine.
    """
    start, x = time[0], displacement - 0.5 * (displacement.max() + displacement.min())
    t = time - start
    amplitude = 0.5 * np.ptp(x)
    # a crossing counts only after the rod has been well on the other side: noise makes none
    side = np.where(x > 0.5 * amplitude, 1, np.where(x < -0.5 * amplitude, -1, 0))
    known = np.flatnonzero(side)
    turns = known[1:][np.diff(side[known]) != 0]
    if amplitude <= 0.0 or turns.size < 4:
        raise BadSheet("the recording has fewer than two cycles", "record more of them")
    omega = np.pi * (turns.size - 1) / (t[turns[-1]] - t[turns[0]])
    # a few of its many samples settle the frequency; all of them the rest
    few = slice(None, None, max(t.size // 20_000, 1))
    for _ in range(12):
        sin, cos = np.sin(omega * t[few]), np.cos(omega * t[few])
        level, a, b = _linear((np.ones_like(sin), sin, cos), x[few])
        *_, change = _linear((np.ones_like(sin), sin, cos, t[few] * (a * cos - b * sin)), x[few])
        omega += change
        if abs(change) < 1e-13 * omega:
            break
    sin, cos = np.sin(omega * t), np.cos(omega * t)
    level, a, b = _linear((np.ones_like(sin), sin, cos), x)
    size = float(np.hypot(a, b))
    left = float(np.sqrt(np.mean((level + a * sin + b * cos - x) ** 2)) / size)
    if left > _NOT_A_SINE:
        raise BadSheet(
            f"the displacement is not a sine: {left:.0%} of it is something else",
            "record one speed at a time, after the machine has settled",
        )
    middle = 0.5 * float(displacement.max() + displacement.min()) + float(level)
    return Sine(
        2.0 * size,
        float(omega / (2.0 * np.pi)),
        float(np.arctan2(b, a) - omega * start),
        middle,
        left,
    )


def _linear(columns: tuple[Floats, ...], target: Floats) -> Floats:
    """Least squares by normal equations, columns scaled: few columns, many rows."""
    scale = np.array([np.sqrt(column @ column) for column in columns])
    matrix = np.array([[a @ b for b in columns] for a in columns]) / np.outer(scale, scale)
    return np.linalg.solve(matrix, np.array([c @ target for c in columns]) / scale) / scale
