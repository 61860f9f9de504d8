"""Where a corner comes to its limits, in a line each: gas, bump stop, discs. Only what is known."""

from __future__ import annotations

from math import inf, isnan

from trackside.analysis.cavitation import cavitation
from trackside.analysis.estimate import Estimate, Setting, estimate_at, ground
from trackside.analysis.parts import parts_curve
from trackside.analysis.shed import Shed
from trackside.analysis.stops import at_stop
from trackside.damper.parts import PartsCurve
from trackside.damper.sheet_fit import DirectionFit
from trackside.errors import ChargeNotRead, TracksideError
from trackside.preferences import Preferences
from trackside.records import Session
from trackside.reports import formatting
from trackside.units import show


def limit_lines(
    estimate: Estimate, session: Session, shed: Shed, preferences: Preferences
) -> list[str]:
    """The lines of an estimate's corner and direction; the gas and the stop belong to bump."""
    lines = []
    if estimate.setting.direction == "bump":
        lines = [
            _gas(session, estimate.setting.corner, shed, preferences),
            _stop(session, estimate.setting.corner, shed, preferences),
        ]
    at = estimate.setting
    stands_on = ground(at.build, at.direction, shed)
    if isinstance(stands_on.source, PartsCurve):
        lines += disc_lines(stands_on.source, preferences)
    else:
        lines.append(_far_bent(at, shed, preferences))
    bench = stands_on.bench
    if bench is not None:
        lines.append(_never_run(bench, estimate, preferences))
    return [line for line in lines if line]


def _never_run(fit: DirectionFit, estimate: Estimate, preferences: Preferences) -> str:
    """A line of the speeds that are told and that the sheet never ran, wherever the knob stands."""
    unrun = [v for v in estimate.speed if v and not fit.ran(v)]
    if not unrun:
        return ""
    told = ", ".join(formatting.speed(v, preferences) for v in unrun[:-1])
    last = formatting.speed(unrun[-1], preferences, True)
    slow, fast = (
        formatting.speed(fit.slowest, preferences),
        formatting.speed(fit.fastest, preferences),
    )
    return f"beyond what the sheet ran ({slow} to {fast}): {told + ', ' if told else ''}{last}"


def _far_bent(at: Setting, shed: Shed, preferences: Preferences) -> str:
    """A damper known from a bench, its discs from the build sheet: a line where they suffer."""
    try:
        safe = parts_curve(at.build, at.direction).safe_to
        top = float(estimate_at(at, shed, [preferences.peak_speed]).force[0])
    except TracksideError:
        return ""
    if top <= safe:
        return ""
    force, limit = (formatting.force(f, preferences, True) for f in (top, safe))
    peak = formatting.speed(preferences.peak_speed, preferences, True)
    return (
        f"discs: {force} at {peak} is above {limit}: bent too far, at risk of a set "
        "(our own limit, no source)"
    )


def disc_lines(curve: PartsCurve, preferences: Preferences) -> list[str]:
    """Where the theory of the discs ends, and where they suffer."""
    if curve.linear_to == inf:
        return list(curve.remarks)
    linear, safe = (
        formatting.force(f, preferences, True) for f in (curve.linear_to, curve.safe_to)
    )
    return [
        f"discs: above {linear} bent by more than half a thickness (the true force is higher), "
        f"above {safe} at risk of a set (our own limit, no source)",
        *curve.remarks,
    ]


def _gas(session: Session, corner: str, shed: Shed, preferences: Preferences) -> str:
    try:
        found = cavitation(session, corner, shed, preferences.peak_speed)
    except ChargeNotRead as error:
        return f"cavitation not known: {error.cause}"
    except TracksideError:
        return ""
    gas = show(found.pressure, "pressure", preferences.unit("pressure"), with_unit=True)
    if found.at_C is not None:
        unit = preferences.unit("temperature")
        gas += f" at {show(found.at_C, 'temperature', unit, with_unit=True)}"
    told = (
        f"gas {gas} holds {formatting.force(found.limit, preferences, True)} in bump: "
        f"{found.margin:.1f} × the force at {formatting.speed(found.peak, preferences, True)}"
    )
    return f"{told}; {found.caution}" if found.caution else told


def _stop(session: Session, corner: str, shed: Shed, preferences: Preferences) -> str:
    try:
        found = at_stop(session, corner, shed)
    except TracksideError:
        return ""
    if found is None:
        return ""
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
