"""A dyno sheet by itself: how its positions are counted, its fit, and the forces asked of it.

Forces here keep the sheet's own signs (rebound negative where the sheet's were) and hold what
the sheet's forces held.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from trackside.analysis.row_checks import MOST_CLICKS, refuse_slips, refuse_strange_run, stray_rows
from trackside.analysis.sheet_gas import zero_doubt
from trackside.damper.advice import best_run, untold
from trackside.damper.basis import Basis, weakest
from trackside.damper.clicks import ForceSteps, as_counted, from_full_hard
from trackside.damper.sheet_fit import DirectionFit, Parameter, SheetRows
from trackside.damper.sisters import ENOUGH, Family, Sister, Stranger
from trackside.damper.warming import fit_warmed
from trackside.errors import BadInput, BadSheet
from trackside.records import DynoRow, DynoSheet

DIRECTIONS = ("bump", "rebound")
TELLING = 0.02
"""A force change of this share over the positions tells the counting; less may be the bench's
scatter (our own, no source)."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Counting:
    """From which end a sheet's positions count, and on what that rests: "stated", "inferred"
    from the forces, or "assumed" where one position, or flat forces, tell nothing."""

    counted_from: str
    ground: str

    @property
    def stated(self) -> bool:
        """Whether a person said so."""
        return self.ground == "stated"


def counting(sheet: DynoSheet, column: str = "position") -> Counting:
    """How the adjuster positions (or `preload_position`s) of the sheet count.

    Force that rises as the count falls means from full hard. BadSheet where the forces
    contradict themselves.
    """
    if column == "position" and sheet.counted_from:
        return Counting(sheet.counted_from, "stated")
    found: dict[str, str] = {}
    for direction in DIRECTIONS:
        levels = np.cumsum([0.0, *_steps(sheet.of_direction(direction), column)])
        if np.ptp(levels) < TELLING:
            continue
        if abs(levels[-1]) < 0.5 * np.ptp(levels):
            raise _contradiction(sheet, f"the {direction} force rises and falls with it")
        found[direction] = "soft" if levels[-1] > 0 else "hard"
    if len(set(found.values())) > 1:
        raise _contradiction(
            sheet, f"bump counts from full {found['bump']}, rebound from full {found['rebound']}"
        )
    if found:
        return Counting(next(iter(found.values())), "inferred")
    return Counting("soft" if column == "preload_position" else "hard", "assumed")


def _contradiction(sheet: DynoSheet, what: str) -> BadSheet:
    return BadSheet(
        f"{sheet.source}: the positions count neither from full hard nor from full soft, {what}",
        "check which run is which, or say from which end they count",
    )


def _steps(rows: Sequence[DynoRow], column: str) -> Iterator[float]:
    """The change of ln(force), mean over shared speeds, from each position up to the next; the
    other adjuster held still."""
    other = "preload_position" if column == "position" else "position"
    runs: dict[float, dict[float | None, list[tuple[float, float]]]] = {}
    for row in rows:
        at, held = getattr(row, column), getattr(row, other)
        if at is not None and row.speed > 0 and row.force > 0:
            runs.setdefault(at, {}).setdefault(held, []).append((row.speed, row.force))
    for lower, upper in pairwise(sorted(runs)):
        changes = [
            _change(runs[lower][held], runs[upper][held])
            for held in runs[lower].keys() & runs[upper].keys()
        ]
        known = [change for change in changes if change is not None]
        if known:
            yield float(np.mean(known))


def _change(lower: list[tuple[float, float]], upper: list[tuple[float, float]]) -> float | None:
    (v_a, f_a), (v_b, f_b) = (np.array(sorted(run)).T for run in (lower, upper))
    shared = v_a[(v_a >= v_b[0]) & (v_a <= v_b[-1])]
    if not shared.size:
        return None
    change = np.log(np.interp(shared, v_b, f_b)) - np.log(np.interp(shared, v_a, f_a))
    return float(np.mean(change))


@dataclass(frozen=True)
class SheetForce:
    """A force curve that a sheet gives: `position` as counted on the sheet, speeds in m/s, force
    and 95 % band in N with the sheet's signs. `clicks_from_hard` is None where the sheet counts
    from soft and the adjuster's travel is unknown. `basis` is that of the position (`place`), or
    beyond where speeds are asked that the sheet never ran (`unrun`)."""

    position: float
    clicks_from_hard: float | None
    preload_position: float | None
    direction: str
    speed: Floats
    force: Floats
    low: Floats
    high: Floats
    place: Basis
    unrun: tuple[float, ...]

    @property
    def basis(self) -> Basis:
        """How firm the curve is."""
        return weakest(self.place, Basis.BEYOND) if self.unrun else self.place

    @property
    def outside(self) -> tuple[str, ...]:
        """The position in words, where it is beyond those measured."""
        return _outside(self.place, self.preload_position, self.position)


@dataclass(frozen=True)
class ForceChange:
    """What it is worth to turn an adjuster from `start` to `end`, positions as counted: speeds in
    m/s, force at the end less force at the start and its 95 % band in N with the sheet's signs.
    What both curves share has cancelled, so the band is that of the change itself."""

    start: float
    end: float
    preload_position: float | None
    direction: str
    speed: Floats
    force: Floats
    low: Floats
    high: Floats
    place: Basis
    unrun: tuple[float, ...]
    outside: tuple[str, ...]

    @property
    def basis(self) -> Basis:
        """How firm the weaker of the two curves is."""
        return weakest(self.place, Basis.BEYOND) if self.unrun else self.place


def _outside(place: Basis, preload: float | None, *positions: float) -> tuple[str, ...]:
    ring = "" if preload is None else f", preload {preload:g}"
    return tuple(f"{position:g}{ring}" for position in positions if place is Basis.BEYOND)


@dataclass(frozen=True)
class Residual:
    """One row of the sheet beside its fit (N, the sheet's signs): measured less fitted."""

    row: DynoRow
    force: float
    fitted: float

    @property
    def miss(self) -> float:
        """Measured less fitted, N."""
        return self.force - self.fitted


@dataclass(frozen=True)
class Advice:
    """Coefficients that a sheet hardly tells; the one bench run, at a position as counted and rod
    speeds (m/s), the one that tells most first, that would narrow its bands most, by the share
    `gain`; `single` is what the first speed alone gains."""

    untold: tuple[str, ...]
    position: float
    speeds: tuple[float, ...]
    gain: float
    single: float
    is_worth: bool


@dataclass(frozen=True)
class BenchFit:
    """A sheet fitted without a logbook."""

    sheet: DynoSheet
    counting: Counting
    preload_counting: Counting | None
    fits: dict[str, DirectionFit]
    gas_force: float = 0.0
    """Gas force (N) that the sheet's forces hold; the fits are free of it."""
    families: dict[str, Family] = field(default_factory=dict)
    """Directions whose short sheet learns from sisters."""
    strangers: dict[str, tuple[Stranger, ...]] = field(default_factory=dict)
    """Who was named a sister and proves to be none."""

    def curve(self, direction: str) -> DirectionFit | Family:
        """What answers for a direction: its fit, with sisters where it has some."""
        return self.families.get(direction) or self.fits[direction]

    def sign(self, direction: str) -> int:
        """The sign of that direction's forces on the sheet."""
        return self.sheet.rebound_sign if direction == "rebound" else 1

    def gas(self, direction: str) -> float:
        """What the gas adds to that direction's force on the sheet, as a magnitude (N)."""
        return self.gas_force if direction == "bump" else -self.gas_force

    def speeds(self, direction: str) -> tuple[float, ...]:
        """The sheet's own rod speeds in that direction (m/s), ascending."""
        return tuple(sorted({r.speed for r in self.sheet.of_direction(direction) if r.speed > 0}))

    def preloads(self, direction: str) -> tuple[float | None, ...]:
        """The preload positions that the sheet varied in that direction; (None,) if it did not."""
        found = sorted(_preloads(self.sheet, direction))
        return tuple(found) if len(found) > 1 else (None,)

    def force(
        self,
        direction: str,
        position: float,
        speeds: Sequence[float] | None = None,
        preload: float | None = None,
    ) -> SheetForce:
        """The force at a position as counted, at `speeds` (m/s; default: the sheet's own)."""
        hard, held = self._from_hard(direction, position), self._ring(direction, preload)
        fit = self.fits[direction]
        found = self.curve(direction).predict(hard, speeds or self.speeds(direction), held)
        unrun = tuple(found.speed[~fit.ran(found.speed)].tolist())
        sign, gas = self.sign(direction), self.gas(direction)
        low, force, high = (sign * (f + gas) for f in (found.low, found.force, found.high))
        if sign < 0:
            low, high = high, low
        counted = self.counting.counted_from
        return SheetForce(
            position, hard if counted == "hard" else None, preload, direction,
            found.speed, force, low, high, found.basis, unrun,
        )  # fmt: skip

    def change(
        self,
        direction: str,
        start: float,
        end: float,
        speeds: Sequence[float] | None = None,
        preload: float | None = None,
    ) -> ForceChange:
        """What a turn from one position to another, as counted, changes at `speeds` (m/s; default:
        the sheet's own). The gas force is the same at both, and cancels."""
        here, there = (self._from_hard(direction, position) for position in (start, end))
        held = self._ring(direction, preload)
        fit = self.fits[direction]
        curve, v = self.curve(direction), speeds or self.speeds(direction)
        found = curve.difference(here, there, v, held, held)
        unrun = tuple(found.speed[~fit.ran(found.speed)].tolist())
        low, force, high = (self.sign(direction) * f for f in (found.low, found.change, found.high))
        if self.sign(direction) < 0:
            low, high = high, low
        outside = tuple(
            words
            for position, hard in ((start, here), (end, there))
            for words in _outside(curve.basis(hard, held), preload, position)
        )
        return ForceChange(
            start, end, preload, direction,
            found.speed, force, low, high, found.basis, unrun, outside,
        )  # fmt: skip

    def _from_hard(self, direction: str, position: float) -> float:
        """Clicks from full hard; BadInput for what is no count of clicks."""
        if not 0 <= position <= MOST_CLICKS:
            raise BadInput(
                f"{position:g} clicks cannot be set", f"positions count from 0 to {MOST_CLICKS}"
            )
        top = _highest(self.sheet, direction)
        return from_full_hard(position, top, self.counting.counted_from)

    def _ring(self, direction: str, preload: float | None) -> float | None:
        """The same of the preload adjuster; None where it was not varied."""
        if preload is None:
            return None
        if not 0 <= preload <= MOST_CLICKS:
            raise BadInput(
                f"preload {preload:g} cannot be set", f"positions count from 0 to {MOST_CLICKS}"
            )
        assert self.preload_counting is not None
        top = max(_preloads(self.sheet, direction))
        return from_full_hard(preload, top, self.preload_counting.counted_from)

    def residuals(self, direction: str) -> list[Residual]:
        """The rows of that direction that were fitted, in the sheet's order."""
        fit, sign = self.fits[direction], self.sign(direction)
        return [
            Residual(row, sign * row.force, sign * (row.force - float(miss)))
            for row, miss in zip(
                (self.sheet.rows[int(i)] for i in fit.rows), fit.residuals, strict=True
            )
        ]

    def strays(self, direction: str) -> list[Residual]:
        """The rows that lie so far off their curve that the fit lets them count for little."""
        every = self.residuals(direction)
        return [every[place] for place in stray_rows(self.fits[direction], self.sheet)]

    def rms(self, direction: str) -> float:
        """Root mean square of the residuals (N)."""
        return float(np.sqrt(np.mean(self.fits[direction].residuals ** 2)))

    def parameters(self, direction: str) -> list[tuple[Parameter, float | None]]:
        """The fitted coefficients; with each, the position as counted, where it belongs to one."""
        fit = self.fits[direction]
        top = _highest(self.sheet, direction)
        places: dict[int, float] = {}
        if len(fit.positions) > 1:
            for n, hard in enumerate(fit.positions):
                places[n] = as_counted(hard, top, self.counting.counted_from)
        if len(fit.preloads) > 1 and self.preload_counting:
            most = max(_preloads(self.sheet, direction))
            for n, hard in enumerate(fit.preloads, start=len(fit.positions)):
                places[n] = as_counted(hard, most, self.preload_counting.counted_from)
        return [(p, places.get(n)) for n, p in enumerate(fit.parameters)]

    def advice(self, direction: str) -> Advice:
        """What the sheet hardly tells of that direction, and the run that would help most."""
        fit = self.fits[direction]
        run = best_run(fit)
        position = as_counted(
            run.position, _highest(self.sheet, direction), self.counting.counted_from
        )
        return Advice(untold(fit), position, run.speeds, run.gain, run.single, run.is_worth)


def bench_fit(
    sheet: DynoSheet,
    gas_force: float | None = None,
    click_rule: tuple[float, float] | None = None,
) -> BenchFit:
    """Fit a sheet that belongs to no logbook. BadSheet names the sheet and the remedy.

    `gas_force` (N) is what the gas still adds to its forces; None when it was taken out.
    `click_rule`, the share of the full-hard force that a click takes and the rod speed (m/s) at
    which it does, carries a sheet of one position to others; its count must be from full hard.

    Positions counted from full soft are turned round at the highest one measured, since how many
    clicks the adjuster has is not on the sheet; the fit depends on their distances alone.
    """
    refuse_slips(sheet)
    law = ForceSteps(*click_rule) if click_rule else None
    counted = counting(sheet)
    if law and (counted.counted_from, counted.ground) != ("hard", "stated"):
        _refuse_rule(sheet)
    has_preload = any(row.preload_position is not None for row in sheet.rows)
    preloads = counting(sheet, "preload_position") if has_preload else None
    try:
        fit = fit_warmed(
            _rows(sheet, counted, preloads),
            gas_force=gas_force,
            gas_in=gas_force is not None,
            friction_in=sheet.friction_in,
            click_law=law,
        )
    except BadSheet as error:
        raise BadSheet(f"{sheet.source}: {error.cause}", error.remedy) from error
    zero = zero_doubt(sheet)
    fits = {d: replace(f, zero=zero) for d in DIRECTIONS if (f := getattr(fit, d)) is not None}
    for found in fits.values():
        refuse_strange_run(found, sheet)
    return BenchFit(sheet, counted, preloads, fits, gas_force or 0.0)


def with_sisters(found: BenchFit, others: Sequence[BenchFit]) -> BenchFit:
    """The fit with what other sheets, of dampers of the same model and needle, teach a direction
    that was measured at fewer than three positions. BadInput where their positions cannot be
    compared: all have to count from full hard, and a sheet of one position has to be told so."""
    if not others:
        return found
    for one in (found, *others):
        if one.counting.counted_from != "hard" or one.counting.ground == "assumed":
            raise BadInput(
                f"{one.sheet.source}: sisters are compared by clicks from full hard, and its "
                "positions are not known to count so",
                "count all sheets from full hard and say so: --count-from hard",
            )
    families, strangers = {}, {}
    for direction, fit in found.fits.items():
        sisters = tuple(
            Sister(other.sheet.source, other.fits[direction])
            for other in others
            if direction in other.fits and len(other.fits[direction].positions) > 1
        )
        if len(fit.positions) >= ENOUGH or not sisters:
            continue
        kept, strangers[direction] = Family(direction, fit, sisters).strangers()
        if kept:
            families[direction] = Family(direction, fit, kept)
    return replace(found, families=families, strangers=strangers)


def _refuse_rule(sheet: DynoSheet) -> None:
    """A share of the full-hard force needs to know how far from full hard the sheet stands."""
    if any(len(sheet.positions(direction)) == 1 for direction in DIRECTIONS):
        raise BadInput(
            f"{sheet.source}: the shop's rule starts at full hard, and how far from it this one "
            "position is, is not known",
            "count from full hard and say so: --count-from hard",
        )


def _rows(sheet: DynoSheet, counted: Counting, preloads: Counting | None) -> SheetRows:
    rows = sheet.rows
    tops = {d: _highest(sheet, d) for d in DIRECTIONS}
    position = [from_full_hard(r.position, tops[r.direction], counted.counted_from) for r in rows]
    preload = None
    if preloads:
        most = {d: max(_preloads(sheet, d), default=0.0) for d in DIRECTIONS}
        preload = np.array([
            0.0 if r.preload_position is None
            else from_full_hard(r.preload_position, most[r.direction], preloads.counted_from)
            for r in rows
        ])  # fmt: skip
    return SheetRows(
        position_from_hard=np.array(position),
        direction=[r.direction for r in rows],
        speed=np.array([r.speed for r in rows]),
        force=np.array([r.force for r in rows]),
        oil_C=np.array([np.nan if r.oil_C is None else r.oil_C for r in rows]),
        preload_from_hard=preload,
    )


def _highest(sheet: DynoSheet, direction: str) -> float:
    return max(sheet.positions(direction), default=0.0)


def _preloads(sheet: DynoSheet, direction: str) -> set[float]:
    rows = sheet.of_direction(direction)
    return {row.preload_position for row in rows if row.preload_position is not None}
