"""A raw bench recording: time, displacement, force, as one run of a dyno gives them.

Displacement (m) grows as the damper closes; force (N) is positive in bump. Stroke, frequency and
shape are found by fit (`motion`), so the speed is that of the fit and no derivative is taken of
noise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trackside.damper.bench_motion import Sine, find_motion, least_squares
from trackside.damper.flow import Floats
from trackside.errors import BadSheet

_LEAST_RATE = 32  # samples a cycle: four of them either side of the greatest speed


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
    """A run so slow that oil does not count: gas force (N) at `centre` (m), its rate (N/m), and
    seal friction (N)."""

    gas_force: float
    gas_rate: float
    friction: float
    centre: float

    def gas_at(self, displacement: float) -> float:
        """Gas force (N) with the rod at that displacement (m)."""
        return self.gas_force + self.gas_rate * (displacement - self.centre)


@dataclass(frozen=True)
class Recording:
    """n samples of one steady run, and the motion found in them."""

    time: Floats
    displacement: Floats
    force: Floats
    motion: Sine

    @classmethod
    def read(cls, time: ArrayLike, displacement: ArrayLike, force: ArrayLike) -> Recording:
        """Check the columns (s, m, N) and find the motion; at least two whole cycles.

        Raises BadSheet if they cannot be a run, or if the loop gives energy back.
        """
        t, x, f = (np.asarray(column, float) for column in (time, displacement, force))
        if not (t.ndim == 1 and t.shape == x.shape == f.shape and t.size >= 20):
            raise BadSheet(
                "the recording's columns differ in length or are too short", "export it again"
            )
        for name, column in (("time", t), ("displacement", x), ("force", f)):
            bad = np.flatnonzero(~np.isfinite(column))
            if bad.size:
                raise BadSheet(f"sample {bad[0] + 1} has no {name}", "leave the sample out")
        step = np.diff(t)
        if not np.all(step > 0.0):
            still = int(np.argmin(step > 0.0))
            if step[still] == 0.0:
                raise BadSheet(
                    f"samples {still + 1} and {still + 2} have one time",
                    "export the time with more decimals",
                )
            raise BadSheet(
                f"the recording's time does not run forward at sample {still + 2}",
                "check the time column, or number the runs in a column named run",
            )
        run = cls(t, x, f, find_motion(t, x))
        if run.rate < _LEAST_RATE:
            raise BadSheet(
                f"the recording has only {run.rate:.0f} samples a cycle",
                f"record with {_LEAST_RATE * run.motion.frequency:.0f} Hz or faster",
            )
        if not np.ptp(f) > 0.0:
            raise BadSheet("the force never changes", "is this the load cell's column?")
        if run.energy_per_cycle() < 0.0:
            raise BadSheet(
                "the loop runs the wrong way round, as if the damper gave energy out",
                "displacement grows as the damper closes and force is positive in bump: turn the "
                "sign of one of them, or swap the two columns",
            )
        return run

    @property
    def rate(self) -> float:
        """Samples a cycle."""
        cycles = (self.time[-1] - self.time[0]) * self.motion.frequency
        return float((self.time.size - 1) / cycles)

    def peak_forces(self) -> PeakForces:
        """Force at the greatest speed of every stroke, gas force still in it: see `slow_run`."""
        angle = self.motion.angle(self.time)
        stroke = np.round(angle / np.pi)  # even: bump, odd: rebound
        window = max(self.motion.window, 8.0 * np.pi / self.rate)
        u = (angle - stroke * np.pi) / window
        near = np.abs(u) < 1.0
        number = stroke[near].astype(np.int64)
        first = int(number[0])
        number, weight = number - first, self.motion.weight(u[near])
        count = np.bincount(number)
        with np.errstate(invalid="ignore", divide="ignore"):
            mean = np.bincount(number, weight * self.force[near]) / np.bincount(number, weight)
        whole = count > 0.8 * np.median(count[count > 0])
        even = (np.arange(count.size) + first) % 2 == 0
        bump, rebound = mean[whole & even], -mean[whole & ~even]
        if min(bump.size, rebound.size) < 1:
            raise BadSheet(
                "the recording has no whole stroke each way", "record two cycles or more"
            )
        return PeakForces(
            self.motion.peak_speed,
            float(bump.mean()),
            float(rebound.mean()),
            float(bump.std(ddof=1)) if bump.size > 1 else 0.0,
            float(rebound.std(ddof=1)) if rebound.size > 1 else 0.0,
            int(bump.size + rebound.size),
        )

    def energy_per_cycle(self) -> float:
        """Energy (J) that one cycle takes: the area of the force-displacement loop, closed by the
        chord from its last sample to its first."""
        cycles = max(np.floor((self.time[-1] - self.time[0]) * self.motion.frequency + 0.02), 1.0)
        last = np.searchsorted(self.time, self.time[0] + cycles / self.motion.frequency)
        force, x = self.force[: last + 1], self.displacement[: last + 1]
        area = np.sum((force[1:] + force[:-1]) * np.diff(x))
        return float(0.5 * (area + (force[0] + force[-1]) * (x[0] - x[-1])) / cycles)

    def slow_run(self) -> SlowRun:
        """Gas and friction of a quasi-static run: F = gas + rate·(x − centre) ± friction."""
        moving = self.motion.steady(self.time)
        x = (self.displacement[moving] - self.motion.centre) / self.motion.stroke
        way = np.sign(self.motion.speed(self.time[moving]))
        gas, rate, friction = least_squares((np.ones_like(x), x, way), self.force[moving])
        return SlowRun(
            float(gas), float(rate / self.motion.stroke), float(friction), self.motion.centre
        )

    def loop(self, points: int) -> tuple[Floats, Floats]:
        """The mean loop: displacement from the middle (m) and force (N) at `points` equal steps
        of the cycle; fewer where no sample fell into a step."""
        turn = self.motion.angle(self.time) / (2.0 * np.pi)
        step = ((turn - np.floor(turn)) * points).astype(np.int64) % points
        count = np.bincount(step, minlength=points)
        met = count > 0
        x = np.bincount(step, self.displacement - self.motion.centre, points)[met] / count[met]
        return x, np.bincount(step, self.force, points)[met] / count[met]
