"""Where a corner comes to its limits, in a line each: gas, bump stop, discs. Only what is known."""

from __future__ import annotations

from math import inf, isnan

from trackside.analysis.cavitation import Cavitation
from trackside.analysis.corner_limits import BentDiscs, CornerLimits, bent_discs, corner_limits
from trackside.analysis.estimate import Estimate
from trackside.analysis.shed import Shed
from trackside.analysis.stops import AtStop
from trackside.damper.curve import DiscLimits, DiscRemark
from trackside.preferences import Preferences
from trackside.records import Session
from trackside.reports import formatting
from trackside.units import show

CAVITATES = (
    "may cavitate in bump at that speed: force lost and harsh; less bump, or more gas within the "
    "maker's limits"
)
_REMARKS = {
    DiscRemark.SECOND_STAGE: "the second stage of the stack, behind its small disc, is left out",
    DiscRemark.STANDING_OFF: "the spacer is thicker than the seat step: the discs stand off",
}


def limit_lines(
    estimate: Estimate, session: Session, shed: Shed, preferences: Preferences
) -> list[str]:
    """The lines of an estimate's corner and direction; the gas and the stop belong to bump."""
    found = corner_limits(estimate, session, shed, preferences.peak_speed)
    return limits_told(found, preferences)


def limits_told(found: CornerLimits, preferences: Preferences) -> list[str]:
    """A line for each limit that is known."""
    lines = []
    if found.gas is not None:
        lines.append(_gas(found.gas, preferences))
    elif found.gas_unread:
        lines.append(f"cavitation not known: {found.gas_unread}")
    if found.stop is not None:
        lines.append(_stop(found.stop, preferences))
    if found.discs is not None and found.discs.top is not None:
        lines.append(_far_bent(found.discs, found.discs.top, preferences))
    elif found.discs is not None:
        lines += _discs(found.discs, preferences)
    if found.unrun and found.ran is not None:
        lines.append(_never_run(found.unrun, found.ran, preferences))
    return lines


def disc_lines(limits: DiscLimits, preferences: Preferences) -> list[str]:
    """Where the theory of the discs ends, and where they suffer."""
    return _discs(bent_discs(limits), preferences)


def cavitates(found: Cavitation) -> str:
    """What to say where the force's band reaches the gas's limit; empty otherwise."""
    return CAVITATES if found.is_reached else ""


def _never_run(unrun: tuple[float, ...], ran: tuple[float, float], preferences: Preferences) -> str:
    """The speeds that are told and that the sheet never ran, wherever the knob stands."""
    told = ", ".join(formatting.speed(v, preferences) for v in unrun[:-1])
    last = formatting.speed(unrun[-1], preferences, True)
    slow, fast = (formatting.speed(v, preferences) for v in ran)
    return f"beyond what the sheet ran ({slow} to {fast}): {told + ', ' if told else ''}{last}"


def _far_bent(discs: BentDiscs, top: float, preferences: Preferences) -> str:
    force, limit = (formatting.force(f, preferences, True) for f in (top, discs.safe_to))
    peak = formatting.speed(preferences.peak_speed, preferences, True)
    return (
        f"discs: {force} at {peak} is above {limit}: bent too far, at risk of a set "
        "(our own limit, no source)"
    )


def _discs(discs: BentDiscs, preferences: Preferences) -> list[str]:
    remarks = [_REMARKS[remark] for remark in discs.remarks]
    if discs.linear_to == inf:
        return remarks
    linear, safe = (
        formatting.force(f, preferences, True) for f in (discs.linear_to, discs.safe_to)
    )
    return [
        f"discs: above {linear} bent by more than half a thickness (the true force is higher), "
        f"above {safe} at risk of a set (our own limit, no source)",
        *remarks,
    ]


def _gas(found: Cavitation, preferences: Preferences) -> str:
    gas = show(found.pressure, "pressure", preferences.unit("pressure"), with_unit=True)
    if found.at_C is not None:
        unit = preferences.unit("temperature")
        gas += f" at {show(found.at_C, 'temperature', unit, with_unit=True)}"
    told = (
        f"gas {gas} holds {formatting.force(found.limit, preferences, True)} in bump: "
        f"{found.margin:.1f} × the force at {formatting.speed(found.peak, preferences, True)}"
    )
    return f"{told}; {CAVITATES}" if found.is_reached else told


def _stop(found: AtStop, preferences: Preferences) -> str:
    rates, lengths = preferences.unit("spring rate"), preferences.unit("length")
    starts, after = (
        show(travel, "length", lengths, with_unit=True)
        for travel in (found.wheel, float(found.travel[1]))
    )
    where = f"from {starts} of wheel travel" if found.wheel > 0 else "already at static"
    force, rate = float(found.force[1]), float(found.rate[1])
    if isnan(force):
        return f"bump stop {found.stop}: works {where}"
    adds = show(rate, "spring rate", rates, with_unit=True)
    return (
        f"bump stop {found.stop}: works {where}; at {after} it adds "
        f"{formatting.force(force, preferences, True)} and {adds} at the wheel"
    )
