"""What a click is worth: the force change of each adjuster, one click each way, at rod speeds."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from trackside.analysis.carried import Ratio, ratio
from trackside.analysis.estimate import (
    DIRECTIONS,
    Estimate,
    Floats,
    Ground,
    Setting,
    Speeds,
    as_reason,
    estimate_at,
    ground,
    setting,
)
from trackside.analysis.shed import Shed, build_or_reason
from trackside.damper.basis import Basis, weakest
from trackside.damper.clicks import acts_on, from_full_hard, turned
from trackside.errors import NoEstimate, TracksideError
from trackside.records import Adjuster, Session


@dataclass(frozen=True)
class ForceStep:
    """Force change in N and % (95 % band in N) at rod speeds (m/s) from one setting to another;
    `force` is the force it starts from."""

    speed: NDArray[np.float64]
    force: NDArray[np.float64]
    change: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    basis: Basis

    @property
    def percent(self) -> NDArray[np.float64]:
        """The change as a share of the force it starts from, in %."""
        return 100 * self.change / np.where(self.force > 0, self.force, np.nan)

    @property
    def in_noise(self) -> NDArray[np.bool_]:
        """Where the band holds zero: the change cannot be told from the bench's own scatter."""
        return (self.low <= 0) & (self.high >= 0)


@dataclass(frozen=True)
class ClickWorth:
    """One adjuster in one direction: from where it stands, a step harder and a step softer.
    None at a stop, or where there is no estimate: `no_harder` and `no_softer` then say why."""

    setting: Setting
    adjuster: Adjuster
    position: float
    harder: ForceStep | None
    softer: ForceStep | None
    basis: Basis
    no_harder: str = ""
    no_softer: str = ""


def step_between(before: Setting, after: Setting, shed: Shed, speeds: Speeds) -> ForceStep:
    """The force change between two settings at rod speeds (m/s)."""
    return step_from(estimate_at(before, shed, speeds), after, shed)


def step_from(start: Estimate, after: Setting, shed: Shed) -> ForceStep:
    """The force change from an estimate to another setting, at the estimate's rod speeds. Within
    one build shared errors cancel, and so they do between two builds of a damper that rest on one
    bench, or both on their parts; between others the errors of both curves are in the band.
    NoEstimate when a preload knob was turned whose clicks the bench never varied."""
    before, v = start.setting, start.speed
    if before.build == after.build:
        stands_on = ground(before.build, before.direction, shed)
        turned_ring = before.preload_from_hard != after.preload_from_hard
        if turned_ring and not stands_on.curve.takes_preload:
            raise preload_not_varied(after)
        found = stands_on.difference(before, after, v)
        return ForceStep(v, start.force, found.change, found.low, found.high, found.basis)
    found_by_parts = _between_kin(start, after, shed)
    if found_by_parts is not None:
        return found_by_parts
    end = estimate_at(after, shed, v)
    change = end.force - start.force
    below = np.hypot(end.force - end.low, start.high - start.force)
    above = np.hypot(end.high - end.force, start.force - start.low)
    basis = weakest(start.basis, end.basis)
    return ForceStep(v, start.force, change, change - below, change + above, basis)


def _between_kin(start: Estimate, after: Setting, shed: Shed) -> ForceStep | None:
    """From one build of a damper to another that rests on the same bench, or both on their parts:
    the knobs turned in the first build, then its parts changed for the second's. None where the
    two do not rest on the same."""
    before, v = start.setting, start.speed
    first, last = (ground(at.build, at.direction, shed) for at in (before, after))
    if before.damper.casefold() != after.damper.casefold() or first.sheet != last.sheet:
        return None
    by_parts = all(ground.origin.kind == "parts" for ground in (first, last))
    if first.sheet is None and not by_parts:
        return None
    turned_in_first = replace(
        before, from_hard=after.from_hard, preload_from_hard=after.preload_from_hard
    )
    try:
        turned_by = first.difference(before, turned_in_first, v)
        there = first.predict(turned_in_first, v)
    except NoEstimate:
        return None
    by = _ratio(first, last, after, v)
    change = turned_by.change + there.force * by.share
    low, high = (
        np.sqrt(own**2 + (there.force * reach) ** 2 + (by.share * doubt) ** 2)
        for own, reach, doubt in (
            (turned_by.change - turned_by.low, by.less, there.force - there.low),
            (turned_by.high - turned_by.change, by.more, there.high - there.force),
        )
    )
    basis = weakest(turned_by.basis, there.basis, Basis.FROM_PARTS)
    return ForceStep(v, start.force, change, change - low, change + high, basis)


def _ratio(first: Ground, last: Ground, at: Setting, v: Floats) -> Ratio:
    """What the parts make of the second build against the first; nothing but a band where the
    bench's curve was carried over by the same parts."""
    carried = [g for g in (first, last) if g.origin.kind == "carried over"]
    if carried and all(g.origin.same_parts for g in carried):
        return ratio(None, None, at.from_hard, v)
    if carried:
        return _of_forecasts(first, last, at, v)
    return ratio(first.parts, last.parts, at.from_hard, v, first.ring(at))


def _of_forecasts(first: Ground, last: Ground, at: Setting, v: Floats) -> Ratio:
    """Of two curves that rest on one bench, at least one of them calculated from its parts with
    what that bench says of them: what is unsure of those is unsure of the ratio."""
    there, end = (g.predict(at, v) for g in (first, last))
    times = np.divide(end.force, there.force, out=np.ones_like(v), where=there.force > 0.0)
    less = more = np.zeros_like(v)
    for stands_on, found, down in ((first, there, False), (last, end, True)):
        if stands_on.origin.kind == "carried over":
            whole = np.where(found.force > 0.0, found.force, 1.0)
            below, above = (found.force - found.low) / whole, (found.high - found.force) / whole
            less = np.hypot(less, times * (below if down else above))
            more = np.hypot(more, times * (above if down else below))
    return Ratio(times - 1.0, less, more)


def step_or_why(start: Estimate, after: Setting | None, shed: Shed) -> tuple[ForceStep | None, str]:
    """`step_from`, or None with the reason; no setting to go to needs no reason."""
    if after is None:
        return None, ""
    try:
        return step_from(start, after, shed), ""
    except TracksideError as error:
        return None, str(error)


def preload_not_varied(at: Setting) -> NoEstimate:
    """Why a preload knob's clicks cannot be told: the bench held it still."""
    knob = at.preload_adjuster.words if at.preload_adjuster else "preload"
    return NoEstimate(
        f"the {knob} adjuster was not varied on the dyno sheet of {at.damper}",
        "run the bench at two or more of its positions (column preload_position), or without a "
        "sheet enter with the parts what a click of the ring lifts",
    )


def moved(at: Setting, adjuster: Adjuster, clicks_harder: float) -> Setting | None:
    """The setting with that knob turned so many clicks harder; None beyond a stop."""
    is_preload = adjuster.acts_on.endswith("preload")
    position = at.preload if is_preload else at.position
    if position is None:
        return None
    new = turned(position, clicks_harder, adjuster.clicks, adjuster.counted_from)
    if not 0 <= new <= adjuster.clicks:
        return None
    hard = float(from_full_hard(new, adjuster.clicks, adjuster.counted_from))
    if is_preload:
        return replace(at, preload=new, preload_from_hard=hard)
    return replace(at, position=new, from_hard=hard)


def click_worth(
    session: Session, corner: str, shed: Shed, speeds: Speeds
) -> list[ClickWorth | NoEstimate]:
    """Each adjuster of the corner in each direction that it acts on, in run-sheet order."""
    build = build_or_reason(session, corner, shed)
    if not build.adjusters:
        raise NoEstimate(
            f"damper {build.damper} has no adjuster on record", "enter them with its build"
        )
    found: list[ClickWorth | NoEstimate] = []
    for adjuster in build.in_order():
        for direction in DIRECTIONS:
            if acts_on(adjuster.acts_on, direction) is None:
                continue
            try:
                found.append(_worth(session, corner, direction, adjuster, shed, speeds))
            except TracksideError as error:
                found.append(as_reason(error))
    return found


def _worth(
    session: Session,
    corner: str,
    direction: str,
    adjuster: Adjuster,
    shed: Shed,
    speeds: Speeds,
) -> ClickWorth:
    at = setting(session, corner, direction, shed)
    is_preload = adjuster.acts_on.endswith("preload")
    if is_preload and not ground(at.build, direction, shed).curve.takes_preload:
        raise preload_not_varied(at)
    position = at.preload if is_preload else at.position
    if position is None:
        raise NoEstimate(
            f"the {adjuster.words} position at {corner} is not entered", "type it on the run sheet"
        )
    now = estimate_at(at, shed, speeds)
    harder, no_harder = step_or_why(now, moved(at, adjuster, adjuster.step), shed)
    softer, no_softer = step_or_why(now, moved(at, adjuster, -adjuster.step), shed)
    return ClickWorth(at, adjuster, position, harder, softer, now.basis, no_harder, no_softer)
