"""The effective curve of a corner in a session: force against rod speed, with basis and band."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from trackside.analysis.carried import CarriedCurve, same_inside
from trackside.analysis.origin import Origin, RingKind, SheetName
from trackside.analysis.parts import parts_curve
from trackside.analysis.reseals import RESEALED
from trackside.analysis.shed import Shed, build_or_reason, day_of_run, fit_of
from trackside.analysis.sisters import sisters_of
from trackside.damper.basis import Basis
from trackside.damper.calibrated_parts import CalibratedCurve, calibrated
from trackside.damper.clicks import from_full_hard
from trackside.damper.curve import Curve, Difference, Prediction
from trackside.damper.flow import FlowPath
from trackside.damper.parts import PartsCurve
from trackside.damper.sheet_fit import DirectionFit
from trackside.damper.shop import ShopCurve as ShopCurve
from trackside.damper.shop import shop_curve
from trackside.damper.sisters import ENOUGH, Family
from trackside.errors import BadSheet, NoEstimate, TracksideError
from trackside.records import Adjuster, Build, DynoSheet, Session

DIRECTIONS = ("bump", "rebound")


Floats = NDArray[np.float64]

Speeds = Sequence[float] | Floats
"""Rod speeds in m/s, shape (n,)."""


DRAWN_POINTS = 48


def drawn_speeds(peak: float) -> Floats:
    """The rod speeds (m/s) at which a curve is drawn, from just above zero up to `peak`."""
    return np.linspace(0, peak, DRAWN_POINTS + 1)[1:]


@dataclass(frozen=True)
class Setting:
    """One direction of one corner as it was set: the damper's build, its knobs, and where they
    stood. `position` is as the crew counts, `from_hard` in clicks from full hard; None when the
    direction has no adjuster. The same for the preload knob."""

    corner: str
    direction: str
    build: Build
    adjuster: Adjuster | None
    position: float | None
    from_hard: float
    preload_adjuster: Adjuster | None = None
    preload: float | None = None
    preload_from_hard: float | None = None
    day: str = field(default="", compare=False)
    """When it ran, YYYY-MM-DD; empty: as the damper is now."""

    @property
    def damper(self) -> str:
        """The damper's serial."""
        return self.build.damper


@dataclass(frozen=True)
class Estimate:
    """Force (N, positive in its direction, gas force not in it) at rod speeds (m/s), each (n,)."""

    setting: Setting
    speed: Floats
    force: Floats
    low: Floats
    high: Floats
    basis: Basis
    origin: Origin


def setting(session: Session, corner: str, direction: str, shed: Shed) -> Setting:
    """How that direction of the corner was set. NoEstimate says which entry is missing."""
    build = build_or_reason(session, corner, shed)
    adjuster = build.bleed_adjuster(direction)
    preload_adjuster = build.adjuster(f"{direction}_preload")
    entered = session.corner(corner)
    position = _position(entered.value(adjuster.acts_on), adjuster) if adjuster else None
    if adjuster and position is None:
        raise NoEstimate(
            f"the {adjuster.words} position at {corner} is not entered", "type it on the run sheet"
        )
    preload = (
        _position(entered.value(preload_adjuster.acts_on), preload_adjuster)
        if preload_adjuster
        else None
    )
    return Setting(
        corner,
        direction,
        build,
        adjuster,
        position,
        _from_hard(position, adjuster),
        preload_adjuster,
        preload,
        _from_hard(preload, preload_adjuster) if preload is not None else None,
        day_of_run(session),
    )


def _position(value: object, adjuster: Adjuster) -> float | None:
    si = getattr(value, "si", None)
    if si is None:
        return None
    if adjuster.problem(si):
        raise NoEstimate(adjuster.problem(si), "correct the position")
    return si


def _from_hard(position: float | None, adjuster: Adjuster | None) -> float:
    if position is None or adjuster is None:
        return 0.0
    return float(from_full_hard(position, adjuster.clicks, adjuster.counted_from))


@dataclass(frozen=True)
class Ground:
    """What a build's force in one direction can be predicted from."""

    curve: Curve
    origin: Origin
    sheet: DynoSheet | None = None
    """The dyno sheet that it rests on, of this build or of another of the damper."""
    bench: DirectionFit | None = None
    """The fit of that sheet's rows."""
    parts: PartsCurve | None = None
    """What the build's parts make of it; None where they are not all on record."""
    family: Family | None = None
    """The build with its sisters, where its own sheet tells too little."""
    resealed: tuple[str, ...] = ()
    """The days on which it got new seals after its own sheet was run."""

    def predict(self, at: Setting, speeds: Speeds) -> Prediction:
        """Force at the setting; where the sheet was run with seals before, in a wider band."""
        found = self.curve.predict(at.from_hard, np.asarray(speeds, float), self.ring(at))
        if not self.new_seals(at):
            return found
        seals = RESEALED * found.force
        low = np.maximum(found.force - np.hypot(found.force - found.low, seals), 0.0)
        high = found.force + np.hypot(found.high - found.force, seals)
        return replace(found, low=low, high=high)

    def difference(self, before: Setting, after: Setting, speeds: Speeds) -> Difference:
        """Force change from one setting to another of the same build; shared errors cancel, and so
        do seals, unless they were changed between the two."""
        rings, v = (self.ring(before), self.ring(after)), np.asarray(speeds, float)
        found = self.curve.difference(before.from_hard, after.from_hard, v, *rings)
        if self.new_seals(before) == self.new_seals(after):
            return found
        seals = RESEALED * self.curve.force(after.from_hard, v, rings[1])
        low = found.change - np.hypot(found.change - found.low, seals)
        high = found.change + np.hypot(found.high - found.change, seals)
        return replace(found, low=low, high=high)

    def new_seals(self, at: Setting) -> str:
        """The day of the newest seals that the damper had at the setting, and the sheet had not;
        empty where there are none."""
        there = (day for day in self.resealed if not at.day or day <= at.day)
        return max(there, default="")

    def path(self, at: Setting) -> FlowPath:
        """The flow path at the setting."""
        return self.curve.path(at.from_hard, self.ring(at))

    def ring(self, at: Setting) -> float | None:
        """The preload ring's clicks from full hard, as far as the curve takes it."""
        return at.preload_from_hard if self.curve.takes_preload else None


def ground(build: Build, direction: str, shed: Shed) -> Ground:
    """What every page and command takes a build's force from: its own dyno sheet that counts, with
    its sisters where that tells too little; without one, the sheet of another build of the damper
    carried over by the parts of both, which tells more than sisters do; else the sisters, else that
    sheet where the parts are the same, else the shop rule, else the parts alone. NoEstimate when
    there is none of them."""
    sheet = shed.sheet(build)
    fit = _fitted(sheet, build, direction) if sheet is not None else None
    carried = _carried(build, direction, shed) if sheet is None else None
    if carried is not None and not carried.origin.same_parts:
        return carried
    if fit is None or len(fit.positions) < ENOUGH:
        sisters = sisters_of(build, direction, shed)
        if sisters is not None and sisters.family is not None:
            return _with_sisters(sisters.family, sheet, build, direction, shed)
    if sheet is not None and fit is not None:
        parts = _parts(build, direction)
        seals = shed.resealed(build, sheet)
        return Ground(fit, Origin("sheet", _named(sheet)), sheet, fit, parts, resealed=seals)
    carried = carried or _carried(build, direction, shed)
    if carried is not None:
        return carried
    rule = next((r for r in build.shop_rules if r.direction == direction), None)
    if rule is None and build.parts(direction) is not None:
        curve = parts_curve(build, direction)
        return Ground(curve, Origin("parts"), parts=curve)
    if rule is None:
        missing = "dyno sheet" if sheet is None else f"{direction} rows in its dyno sheet"
        raise NoEstimate(
            f"damper {build.damper} build {build.version} has no {missing} and no shop rule",
            "add a dyno sheet in the damper shed, the shop's full-hard force, or its parts",
        )
    adjuster = build.bleed_adjuster(direction)
    share = rule.share_per_click or (adjuster.share_per_click if adjuster else None)
    if share is None:
        raise NoEstimate(
            f"the shop rule of {build.damper} has no share per click", "enter it with the build"
        )
    source = shop_curve(rule.full_hard_force, rule.reference_speed, share)
    return Ground(source, Origin("shop rule", share=share))


def _with_sisters(
    family: Family, sheet: DynoSheet | None, build: Build, direction: str, shed: Shed
) -> Ground:
    own = sheet if family.own is not None else None
    names = tuple(sister.name for sister in family.sisters)
    origin = Origin("sisters", _named(own) if own else None, names)
    seals = shed.resealed(build, own) if own else ()
    return Ground(family, origin, own, family.own, _parts(build, direction), family, seals)


def _named(sheet: DynoSheet) -> SheetName:
    return SheetName(sheet.damper, sheet.build, sheet.date)


def _fitted(sheet: DynoSheet, build: Build, direction: str) -> DirectionFit | None:
    """The sheet's fit in that direction; None where it has no rows of it."""
    try:
        return getattr(fit_of(sheet, build), direction)
    except BadSheet as error:
        name = f"sheet {sheet.damper}-{sheet.build} {sheet.date}".rstrip()
        raise NoEstimate(f"{name} cannot be fitted: {error.cause}", error.remedy) from error


def _parts(build: Build, direction: str) -> PartsCurve | None:
    try:
        return parts_curve(build, direction)
    except NoEstimate:
        return None


def _carried(build: Build, direction: str, shed: Shed) -> Ground | None:
    """From the nearest build of the damper whose sheet can be carried over; None without one."""
    now = _parts(build, direction)
    for donor in shed.measured_beside(build):
        sheet, was = shed.sheet(donor), _parts(donor, direction)
        alike = same_inside(donor, build, direction)
        if sheet is None or not (alike or (was and now)):
            continue
        try:
            fit = _fitted(sheet, donor, direction)
        except NoEstimate:
            continue
        if fit is None:
            continue
        curve: Curve = CarriedCurve(fit)
        if not alike and was and now:
            curve = _calibrated(sheet, donor, direction, was, now)
        origin = Origin(
            "carried over",
            _named(sheet),
            to=build.version,
            direction=direction,
            same_parts=alike,
        )
        return Ground(curve, origin, sheet, fit, now)
    return None


@lru_cache(maxsize=128)
def _calibrated(
    sheet: DynoSheet, donor: Build, direction: str, was: PartsCurve, now: PartsCurve
) -> CalibratedCurve:
    """The parts of one build, carried by the bench of another: made once."""
    return calibrated(fit_of(sheet, donor).direction(direction), was, now)


def estimate(session: Session, corner: str, direction: str, shed: Shed, speeds: Speeds) -> Estimate:
    """The effective curve at those rod speeds (m/s). NoEstimate says why there is none."""
    at = setting(session, corner, direction, shed)
    return estimate_at(at, shed, speeds)


def estimate_at(at: Setting, shed: Shed, speeds: Speeds) -> Estimate:
    """The curve at a setting."""
    stands_on = ground(at.build, at.direction, shed)
    found = stands_on.predict(at, np.asarray(speeds, dtype=float))
    origin = replace(
        stands_on.origin,
        by_rule=found.basis is Basis.SHOP_RULE and stands_on.origin.kind == "sheet",
        ring=_ring(at, stands_on) if at.preload_adjuster else "known",
        resealed=stands_on.new_seals(at),
        twice=at.build.version if shed.is_undecided(at.build) else "",
    )
    return Estimate(at, found.speed, found.force, found.low, found.high, found.basis, origin)


def _ring(at: Setting, stands_on: Ground) -> RingKind:
    """What is known of the preload adjuster's part in the force."""
    by_parts, known = stands_on.origin.kind == "parts", stands_on.curve.takes_preload
    if known:
        return "at full hard" if by_parts and at.preload is None else "known"
    return "lift not known" if by_parts else "not measured"


def curves(
    session: Session, corner: str, shed: Shed, speeds: Speeds
) -> dict[str, Estimate | NoEstimate]:
    """Both directions; where there is no estimate, the error that says why."""
    found: dict[str, Estimate | NoEstimate] = {}
    for direction in DIRECTIONS:
        try:
            found[direction] = estimate(session, corner, direction, shed, speeds)
        except TracksideError as error:
            found[direction] = as_reason(error)
    return found


def as_reason(error: TracksideError) -> NoEstimate:
    """Any error as the reason why there is no estimate."""
    return error if isinstance(error, NoEstimate) else NoEstimate(error.cause, error.remedy)
