"""Where a corner comes to its limits: gas, bump stop, discs, speeds that no bench ran."""

from __future__ import annotations

from dataclasses import dataclass

from trackside.analysis.cavitation import Cavitation, cavitation
from trackside.analysis.estimate import Estimate, Setting, estimate_at, ground
from trackside.analysis.parts import parts_curve
from trackside.analysis.shed import Shed
from trackside.analysis.stops import AtStop, at_stop
from trackside.damper.curve import DiscLimits, DiscRemark
from trackside.errors import ChargeNotRead, TracksideError
from trackside.records import Session


@dataclass(frozen=True)
class BentDiscs:
    """The forces (N) up to which the discs' theory holds, and up to which they take no set; inf
    without discs. `top` is the force at the highest rod speed where a bench says that it is beyond
    the second; None where the curve is that of the parts."""

    linear_to: float
    safe_to: float
    remarks: tuple[DiscRemark, ...]
    top: float | None = None


@dataclass(frozen=True)
class CornerLimits:
    """The limits of one direction of a corner; only what is known. Gas and stop belong to bump.

    `gas_unread` says why nothing is known of the gas where its charge was not read. `unrun` are the
    rod speeds (m/s) that are told and that the sheet never ran, which ran from `ran`[0] to [1].
    """

    gas: Cavitation | None = None
    gas_unread: str = ""
    stop: AtStop | None = None
    discs: BentDiscs | None = None
    unrun: tuple[float, ...] = ()
    ran: tuple[float, float] | None = None


def corner_limits(estimate: Estimate, session: Session, shed: Shed, peak: float) -> CornerLimits:
    """The limits of an estimate's corner and direction, up to the peak rod speed (m/s)."""
    at = estimate.setting
    stands_on = ground(at.build, at.direction, shed)
    gas, gas_unread, stop = None, "", None
    if at.direction == "bump":
        try:
            gas = cavitation(session, at.corner, shed, peak)
        except ChargeNotRead as error:
            gas_unread = error.cause
        except TracksideError:
            gas = None
        try:
            stop = at_stop(session, at.corner, shed)
        except TracksideError:
            stop = None
    limits = stands_on.curve.limits
    discs = bent_discs(limits) if limits is not None else _far_bent(at, shed, peak)
    bench = stands_on.bench
    if bench is None:
        return CornerLimits(gas, gas_unread, stop, discs)
    unrun = tuple(float(v) for v in estimate.speed if v and not bench.ran(v))
    return CornerLimits(gas, gas_unread, stop, discs, unrun, (bench.slowest, bench.fastest))


def bent_discs(limits: DiscLimits) -> BentDiscs:
    """Where the discs of a curve that is known from its parts suffer."""
    return BentDiscs(limits.linear_to, limits.safe_to, limits.remarks)


def _far_bent(at: Setting, shed: Shed, peak: float) -> BentDiscs | None:
    """A damper known from a bench, its discs from the build sheet; None unless they suffer."""
    try:
        limits = parts_curve(at.build, at.direction).limits
        top = float(estimate_at(at, shed, [peak]).force[0])
    except TracksideError:
        return None
    return BentDiscs(limits.linear_to, limits.safe_to, (), top) if top > limits.safe_to else None
