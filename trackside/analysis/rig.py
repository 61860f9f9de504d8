"""Bench recordings of one damper at one adjuster position: the table that a dyno sheet wants.

Every steady run gives the force at its peak speed, the energy of its loop and the mean loop. The
slowest run, where oil does not count, tells gas force and seal friction apart; the gas is then
taken out of the others.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from trackside.analysis.rig_file import Columns, read_columns
from trackside.damper.bench_motion import Sine, find_motion
from trackside.damper.recording import PeakForces, Recording, SlowRun
from trackside.damper.runs import find_runs
from trackside.errors import BadSheet
from trackside.records import DynoRow, Loop, SheetWarning

SLOW = 0.0055
"""A run up to this peak speed (m/s) tells gas and friction: a factory list reads friction below
5 mm/s (a supplier's list after the Chinese standard QC/T 545, second hand; the standard was not
read), and a tenth is left for the machine."""
GAS_STILL_IN = "gas_still_in"
"""The doubt that a remark on the gas force says already."""
LOOP_POINTS = 100
FULLNESS = (0.6, 1.05)
"""A loop's area over stroke × (bump + rebound): k/4 of the power law F = C·vⁿ, which is 1 for dry
friction, 0.785 for n = 1 and 0.667 for n = 2 (derived). A triangle at one
speed fills it whole. Beyond these bounds force and displacement do not belong together."""
_WARM_UP = 20.0  # K over the runs; our own, no source
_SAMPLING = 0.25  # s between samples: no bench is read so seldom, so the unit is wrong
_STROKE = (0.0005, 0.4)  # m
_FASTEST = 20.0  # m/s
_WEAKEST, _STRONGEST = 5.0, 5e4  # N, of a run that is not slow; our own, no source
_DIRECTIONS: tuple[Literal["bump", "rebound"], ...] = ("bump", "rebound")
_LEFT_OUT = 0.3  # share of the samples that may belong to no steady run without a word
_SWAPPED = (
    "the force moves like a bench and the displacement does not",
    "displacement and force look swapped: check the header",
)

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Run:
    """One steady run, reduced. Forces hold the gas force; the loop is (m from its middle, N)."""

    source: str
    number: int
    motion: Sine
    peaks: PeakForces
    energy: float
    oil_C: float | None
    loop: tuple[Floats, Floats]
    slow: SlowRun | None

    @property
    def fullness(self) -> float:
        """Share of its rectangle that the loop fills: see FULLNESS."""
        whole = self.motion.stroke * (self.peaks.bump + self.peaks.rebound)
        return self.energy / whole if whole else 0.0


@dataclass(frozen=True)
class Rig:
    """The runs by speed; `slow` is that of the slowest run, None when every run was quick;
    `left_out` each file of whose samples a large share belongs to no steady run, with that share.
    """

    runs: tuple[Run, ...]
    slow: SlowRun | None
    left_out: tuple[tuple[str, float], ...] = ()

    def gas_at(self, run: Run) -> float:
        """Gas force (N) at the middle of that run's stroke; 0 while it is not known."""
        return self.slow.gas_at(run.motion.centre) if self.slow else 0.0

    def forces(self, run: Run) -> tuple[float, float]:
        """Bump and rebound force (N, magnitudes) of a run, free of gas where it is known."""
        gas = self.gas_at(run)
        return run.peaks.bump - gas, run.peaks.rebound + gas

    def rows(self, position: float) -> tuple[DynoRow, ...]:
        """The dyno sheet's rows at that position, as counted, bump first. Slow runs are left out:
        they measure gas and friction, not oil. So is a force that is not positive."""
        return tuple(
            DynoRow(position, direction, run.peaks.speed, force, run.oil_C)
            for n, direction in enumerate(_DIRECTIONS)
            for run in self.runs
            if run.slow is None and (force := self.forces(run)[n]) > 0.0
        )

    def loops(self, position: float) -> tuple[Loop, ...]:
        """The mean loops as they are kept with a sheet, to 0.01 mm and 0.1 N, slowest first."""
        return tuple(
            Loop(
                position=position,
                speed=round(run.peaks.speed, 5),
                displacement=tuple(run.loop[0].round(5).tolist()),
                force=tuple(run.loop[1].round(1).tolist()),
            )
            for run in self.runs
        )

    def doubts(self) -> Iterator[SheetWarning]:
        """What a reader of the table should know, as a dyno sheet made of these runs carries it."""
        yield from (
            SheetWarning(name="samples_left_out", figures={"share": share}, words=source)
            for source, share in self.left_out
        )
        if self.slow is None:
            yield SheetWarning(name=GAS_STILL_IN, figures={"up_to": SLOW})
        elif self.slow.gas_force < -abs(self.slow.friction):
            gas = {"gas_N": self.slow.gas_force}
            yield SheetWarning(name="gas_below_zero", serious=True, figures=gas)
        for run in self.runs:
            if not FULLNESS[0] <= run.fullness <= FULLNESS[1]:
                yield SheetWarning(
                    name="loop_fullness",
                    serious=True,
                    figures={"fullness": run.fullness},
                    words=_name(run),
                )
            if run.slow is None and (least := min(self.forces(run))) <= 0.0:
                yield SheetWarning(
                    name="rebound_left_out",
                    figures={"gas_N": self.gas_at(run), "by_N": -least},
                    words=_name(run),
                )
        oil = [run.oil_C for run in self.runs if run.oil_C is not None]
        if oil and max(oil) - min(oil) > _WARM_UP:
            figures = {"from_C": min(oil), "to_C": max(oil)}
            yield SheetWarning(name="warming_over_runs", figures=figures)


def read_rig(paths: Sequence[Path]) -> Rig:
    """The runs of all files, which are of one damper at one position. BadSheet names the file."""
    runs: list[Run] = []
    left_out: list[tuple[str, float]] = []
    for path in paths:
        columns = read_columns(path)
        found = list(_runs(columns))
        inside = sum(part.stop - part.start for part, _ in found)
        if not found and find_runs(columns.time, columns.force):
            raise BadSheet(f"{columns.source}: {_SWAPPED[0]}", _SWAPPED[1])
        if not found:
            raise BadSheet(
                f"{columns.source} has no run of two steady cycles",
                "record three cycles or more at each speed",
            )
        if inside < (1.0 - _LEFT_OUT) * columns.time.size:
            left_out.append((columns.source, 1.0 - inside / columns.time.size))
        runs += [run for _, run in found]
    runs.sort(key=lambda run: run.peaks.speed)
    slow = runs[0].slow if runs else None
    return Rig(tuple(runs), slow, tuple(left_out))


def _runs(columns: Columns) -> Iterator[tuple[slice, Run]]:
    number = 0
    for part in _labelled(columns.run, columns.time.size):
        time, x = columns.time[part], columns.displacement[part]
        _refuse_slips(columns, part)
        for steady in find_runs(time, x):
            number += 1
            samples = slice(part.start + steady.start, part.start + steady.stop)
            try:
                yield samples, _reduce(columns, samples, number)
            except BadSheet as error:
                raise BadSheet(
                    f"{columns.source} run {number}, from {columns.time[samples.start]:g} s: "
                    f"{error.cause}",
                    error.remedy,
                ) from None


def _labelled(run: Floats | None, size: int) -> Iterable[slice]:
    """The parts of the file between changes of the run's number."""
    ends = [] if run is None else (np.flatnonzero(np.diff(run)) + 1).tolist()
    return [slice(a, b) for a, b in zip([0, *ends], [*ends, size], strict=True)]


def _refuse_slips(columns: Columns, part: slice) -> None:
    """BadSheet for times that cannot be, and for units or columns mistaken for one another."""
    time, x = columns.time[part], columns.displacement[part]
    source, step = columns.source, np.diff(time)
    if np.any(step <= 0.0):
        still = int(np.argmin(step > 0.0))
        line = columns.line_of(part.start + still + 1)
        if step[still] == 0.0:
            raise BadSheet(
                f"{source} line {line} has the time of the line before",
                "export the time with more decimals",
            )
        raise BadSheet(
            f"{source} line {line}: the time runs back",
            "is another column under the time header? Or number the runs in a column named run",
        )
    if step.size and np.median(step) > _SAMPLING:
        raise BadSheet(
            f"{source}: samples are {np.median(step):.3g} s apart",
            "is the time in milliseconds? Then the header is time_ms",
        )
    if not np.ptp(columns.force[part]) > 0.0:
        raise BadSheet(f"{source}: the force never changes", "is this the load cell's column?")
    stroke = float(np.ptp(x))
    if not _STROKE[0] <= stroke <= _STROKE[1]:
        raise BadSheet(
            f"{source}: the rod travels {stroke * 1000:.4g} mm",
            "check the unit in the displacement header, and whether displacement and force are "
            "swapped",
        )


def _reduce(columns: Columns, samples: slice, number: int) -> Run:
    time, x, force = (c[samples] for c in (columns.time, columns.displacement, columns.force))
    try:
        run = Recording.read(time, x, force)
    except BadSheet:
        if _moves_like_a_bench(time, force) and not _moves_like_a_bench(time, x):
            raise BadSheet(*_SWAPPED) from None
        raise
    peaks = run.peak_forces()
    if peaks.speed > _FASTEST:
        raise BadSheet(
            f"the rod runs at {peaks.speed:.0f} m/s", "check the unit in the time header"
        )
    force_here = 0.5 * (peaks.bump + peaks.rebound)
    if peaks.speed > SLOW and not _WEAKEST <= force_here <= _STRONGEST:
        raise BadSheet(
            f"the damper's force at {1000 * peaks.speed:.0f} mm/s is {force_here:.3g} N",
            "check the unit in the force header",
        )
    oil = None
    if columns.temperature is not None:
        known = columns.temperature[samples]
        known = known[np.isfinite(known)]
        oil = float(known.mean()) if known.size else None
    return Run(
        columns.source, number, run.motion, peaks, run.energy_per_cycle(), oil,
        run.loop(LOOP_POINTS), run.slow_run() if peaks.speed <= SLOW else None,
    )  # fmt: skip


def _moves_like_a_bench(time: Floats, column: Floats) -> bool:
    try:
        find_motion(time, column)
    except BadSheet:
        return False
    return True


def _name(run: Run) -> str:
    return f"{run.source} run {run.number}"
