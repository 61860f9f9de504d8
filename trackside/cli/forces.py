"""What a corner does in a session: its effective curves, and what a click is worth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import click

from trackside.cli.command_context import CommandContext, corner_named, scripted, speeds_of
from trackside.cli.output import (
    draw,
    emit,
    estimate_body,
    heading,
    millimetres,
    no_estimate,
    say,
    step_body,
    table,
)
from trackside.cli.sessions import record_of, session_body
from trackside.errors import NoEstimate
from trackside.units import show

if TYPE_CHECKING:
    from trackside.analysis.corner_limits import CornerLimits
    from trackside.analysis.estimate import Estimate
    from trackside.analysis.response import Response
    from trackside.analysis.shed import Shed
    from trackside.analysis.wheel import AtWheel
    from trackside.analysis.worth import ClickWorth
    from trackside.preferences import Preferences
    from trackside.records import Session

DIRECTION = click.Choice(("bump", "rebound"))


@click.command(short_help="The force of a corner against rod speed.")
@click.argument("session")
@click.argument("corner")
@click.option("--speeds", metavar="MM/S,…", help="Rod speeds in mm/s, as in 25,50,100.")
@click.option("--direction", type=DIRECTION, help="Only this direction.")
@scripted
@click.pass_obj
def curve(
    context: CommandContext,
    session: str,
    corner: str,
    speeds: str | None,
    direction: str | None,
    as_json: bool,
) -> None:
    """The force that a corner really had, against rod speed, with its 95 % band."""
    from trackside.analysis.corner_limits import corner_limits
    from trackside.analysis.estimate import curves
    from trackside.analysis.shed import Shed
    from trackside.analysis.wheel import at_wheel
    from trackside.reports.limits import limit_lines

    corner, asked = corner_named(corner), speeds_of(speeds)
    with context.reader() as logbook:
        line = logbook.session_line(logbook.session(session))
        record, shed = record_of(logbook, line.entity), Shed.of(logbook)
    at = asked or context.preferences.reference_speeds
    found = curves(record, corner, shed, at)
    if direction:
        found = {direction: found[direction]}
    reasons = [reason for reason in found.values() if isinstance(reason, NoEstimate)]
    if len(reasons) == len(found):
        raise reasons[0]
    if as_json:
        metric = context.tell_in(as_json)
        bodies = [
            no_estimate(e, corner=corner, direction=d)
            if isinstance(e, NoEstimate)
            else {
                **estimate_body(e),
                **_parts_body(e, shed, metric),
                **_damping_body(e, shed),
                **_wheel_body(at_wheel(e, record, shed)),
                **_response_body(_response(e, record, shed)),
                **_limits_body(corner_limits(e, record, shed, metric.peak_speed), metric),
            }
            for d, e in found.items()
        ]
        gas = _gas_body(record, corner, shed, context.preferences)
        emit({"session": session_body(line), "corner": corner, "estimates": bodies, "gas": gas})
        return
    say(heading(line), "")
    for name, estimate in found.items():
        if isinstance(estimate, NoEstimate):
            say(f"{corner} {name}: no estimate, {estimate}", "")
            continue
        wheel = at_wheel(estimate, record, shed)
        _say_estimate(f"{corner} {name}", estimate, wheel, shed, context.preferences)
        _say_parts(estimate, shed, context.preferences)
        _say_response(_response(estimate, record, shed), context.preferences)
        say(*(f"  {line}" for line in limit_lines(estimate, record, shed, context.preferences)), "")
    top = max((context.preferences.peak_speed, *at))
    whole = curves(record, corner, shed, [top * n / 60 for n in range(1, 61)])
    drawn = [e for d, e in whole.items() if d in found and not isinstance(e, NoEstimate)]
    _draw_curves(drawn, shed, context)


def _parts_body(estimate: Estimate, shed: Shed, preferences: Preferences) -> dict[str, Any]:
    """What the parts alone make beside the sheet, and whether they can have made it; nothing where
    there is no such curve."""
    from trackside.analysis.parts_beside import parts_apart, parts_beside

    found = parts_beside(estimate.setting, shed, estimate.speed)
    if found is None:
        return {}
    apart = parts_apart(estimate.setting, shed, preferences.reference_speeds)
    body = {"force_N": found.force, "low_N": found.low, "high_N": found.high}
    return {"parts_alone": {**body, "can_be_what_ran": apart is None}}


def _say_parts(estimate: Estimate, shed: Shed, preferences: Preferences) -> None:
    from trackside.analysis.parts_beside import parts_apart, parts_beside
    from trackside.reports.formatting import parts_alone, parts_apart_words

    if found := parts_beside(estimate.setting, shed, estimate.speed):
        say(f"  {parts_alone(found, preferences)}")
    if apart := parts_apart(estimate.setting, shed, preferences.reference_speeds):
        say(f"  ! {parts_apart_words(apart, preferences)}")


def _damping_body(estimate: Estimate, shed: Shed) -> dict[str, Any]:
    from trackside.analysis.damping import damping

    found = damping(estimate, shed)
    return {"secant_N_s_per_m": found.secant, "tangent_N_s_per_m": found.tangent}


def _wheel_body(wheel: AtWheel) -> dict[str, Any]:
    from trackside.reports.wheel_words import lack_words

    return {
        "wheel_force_N": wheel.force,
        "damping_ratio": wheel.ratio,
        "wheel_unknown": [lack_words(lack) for lack in wheel.missing],
    }


def _limits_body(found: CornerLimits, preferences: Preferences) -> dict[str, Any]:
    """The limits in words, and as numbers where they are known: discs, bump stop, and the rod
    speeds that the sheet never ran. Those of the gas stand with the corner."""
    from trackside.reports.limits import limits_told

    stop, discs = found.stop, found.discs
    return {
        "limits": limits_told(found, preferences),
        "bump_stop": None if stop is None else {
            "name": stop.stop,
            "from_wheel_travel_mm": 1000 * stop.wheel,
            "wheel_travel_mm": 1000 * stop.travel,
            "adds_N": stop.force,
            "adds_N_per_mm": stop.rate / 1000,
        },
        "discs": None if discs is None else {
            "linear_to_N": discs.linear_to, "safe_to_N": discs.safe_to, "top_N": discs.top,
        },
        "sheet_ran_mm_s": None if found.ran is None else millimetres(found.ran),
        "beyond_sheet_mm_s": millimetres(found.unrun),
    }  # fmt: skip


def _gas_body(record: Session, corner: str, shed: Shed, preferences: Preferences) -> dict[str, Any]:
    """The gas's hold on bump at that corner: gauge pressure, limit, speed and margin."""
    from trackside.analysis.cavitation import cavitation
    from trackside.reports.limits import cavitates

    try:
        found = cavitation(record, corner, shed, preferences.peak_speed)
    except NoEstimate as reason:
        return no_estimate(reason)
    return {
        "pressure_bar": found.pressure / 1e5,
        "at_C": found.at_C,
        "bump_limit_N": found.limit,
        "cavitates_at_mm_s": millimetres([found.speed])[0],
        "peak_speed_mm_s": millimetres([found.peak])[0],
        "margin": found.margin,
        "least_margin": found.least,
        "caution": cavitates(found),
    }


def _say_estimate(
    name: str, estimate: Estimate, wheel: AtWheel, shed: Shed, preferences: Preferences
) -> None:
    from trackside.analysis.damping import damping
    from trackside.reports import formatting
    from trackside.reports.origin_words import origin_words, setting_words
    from trackside.reports.wheel_words import lack_words

    slopes, origin = damping(estimate, shed), origin_words(estimate.origin)
    at, unit, speed = estimate.setting, preferences.unit("force"), preferences.unit("speed")
    rate = preferences.unit("damping")
    say(f"{name}: {at.damper} at {setting_words(at)}, {estimate.basis} ({origin})")
    rows = [(speed, f"force {unit}", rate, "slope", f"at the wheel {unit}", "ζ")]
    bands = formatting.banded(estimate, preferences)
    for n, (v, band) in enumerate(zip(estimate.speed, bands, strict=True)):
        rows.append((
            show(v, "speed", speed),
            band,
            show(slopes.secant[n], "damping", rate),
            show(slopes.tangent[n], "damping", rate),
            formatting.force(None if wheel.force is None else wheel.force[n], preferences),
            "–" if wheel.ratio is None else f"{wheel.ratio[n]:.2f}",
        ))  # fmt: skip
    table(rows, right=range(6), indent=2)
    say(*(f"  {lack_words(lack)}" for lack in wheel.missing))


def _response(estimate: Estimate, record: Session, shed: Shed) -> Response | NoEstimate:
    from trackside.analysis.response import response

    at = estimate.setting
    try:
        return response(at, shed, record.corner(at.corner).si("gas_pressure"))
    except NoEstimate as reason:
        return reason


def _response_body(found: Response | NoEstimate) -> dict[str, Any]:
    """Rod travel to 80 % of the force at 1 m/s, in mm."""
    if isinstance(found, NoEstimate):
        return {"response_travel_mm": None, "response_unknown": str(found)}
    return {"response_travel_mm": {
        "oil_alone": 1000 * found.oil, "with_1_percent_air": 1000 * found.airy,
    }}  # fmt: skip


def _say_response(found: Response | NoEstimate, preferences: Preferences) -> None:
    from trackside.reports.response_words import response_words

    told = f"no rod travel to the force: {found}" if isinstance(found, NoEstimate) else (
        response_words(found, preferences)
    )  # fmt: skip
    say(f"  {told}")


def _draw_curves(estimates: Sequence[Estimate], shed: Shed, context: CommandContext) -> None:
    from trackside.analysis.parts_beside import parts_beside
    from trackside.reports import formatting

    preferences = context.preferences
    series = [
        formatting.curve(e, e.setting.direction, preferences, e.setting.direction, band=True)
        for e in estimates
    ]
    for e in estimates:
        if parts := parts_beside(e.setting, shed, e.speed):
            label = f"{e.setting.direction}, parts alone"
            line = formatting.curve(parts, "before", preferences, label)
            series.append(replace(line, marker=e.setting.direction[0]))
    units = preferences.unit("speed"), preferences.unit("force")
    draw(series, context.ink(), x_label=units[0], y_label=units[1])


@click.command(short_help="What one click of each adjuster is worth.")
@click.argument("session")
@click.argument("corner")
@click.option("--speeds", metavar="MM/S,…", help="Rod speeds in mm/s, as in 25,50,100.")
@scripted
@click.pass_obj
def clicks(
    context: CommandContext, session: str, corner: str, speeds: str | None, as_json: bool
) -> None:
    """What one click of each adjuster is worth, harder and softer, in N and %."""
    from trackside.analysis.shed import Shed
    from trackside.analysis.worth import click_worth

    corner, asked = corner_named(corner), speeds_of(speeds)
    with context.reader() as logbook:
        line = logbook.session_line(logbook.session(session))
        record, shed = record_of(logbook, line.entity), Shed.of(logbook)
    at = asked or context.preferences.reference_speeds
    found = click_worth(record, corner, shed, at)
    reasons = [reason for reason in found if isinstance(reason, NoEstimate)]
    if found and len(reasons) == len(found):
        raise reasons[0]
    if as_json:
        bodies = [
            no_estimate(w, corner=corner) if isinstance(w, NoEstimate) else _worth_body(w, shed, at)
            for w in found
        ]
        emit({"session": session_body(line), "corner": corner, "adjusters": bodies})
        return
    say(heading(line))
    for worth in found:
        say("")
        if isinstance(worth, NoEstimate):
            say(f"{corner}: no estimate, {worth}")
        else:
            _say_worth(worth, context.preferences)


def _worth_body(worth: ClickWorth, shed: Any, speeds: Sequence[float]) -> dict[str, Any]:
    from trackside.analysis.estimate import estimate_at
    from trackside.analysis.worth import moved

    body: dict[str, Any] = {
        "adjuster": worth.adjuster.acts_on,
        "step_clicks": worth.adjuster.step,
        "now": estimate_body(estimate_at(worth.setting, shed, speeds)),
    }
    for name, sense, step, why in (
        ("harder", 1, worth.harder, worth.no_harder),
        ("softer", -1, worth.softer, worth.no_softer),
    ):
        there = moved(worth.setting, worth.adjuster, sense * worth.adjuster.step)
        if step is None or there is None:
            body[name] = {"basis": "no estimate", "why": why} if why else None
            continue
        body[name] = {**estimate_body(estimate_at(there, shed, speeds)), **step_body(step)}
    return body


def _say_worth(worth: ClickWorth, preferences: Preferences) -> None:
    from trackside.reports.formatting import with_band

    knob, unit, speed = worth.adjuster, preferences.unit("force"), preferences.unit("speed")
    at = worth.setting
    say(
        f"{at.corner} {knob.words} adjuster, {at.direction} force: at {worth.position:g} of "
        f"{knob.clicks} from full {knob.counted_from}, {worth.basis}"
    )
    steps = [
        (f"{knob.step:g} {name}", step)
        for name, step in (("harder", worth.harder), ("softer", worth.softer))
        if step is not None
    ]
    rows = [(speed, *(f"{name}: {unit}" if n == 0 else "%" for name, _ in steps for n in (0, 1)))]
    for n, v in enumerate(at_speeds := steps[0][1].speed if steps else ()):
        cells = []
        for _, step in steps:
            cells += [
                with_band(step.change[n], step.low[n], step.high[n], unit, signs=True)
                + (" in the noise" if step.in_noise[n] else ""),
                f"{step.percent[n]:+.1f}".replace("-", "−"),
            ]
        rows.append((show(v, "speed", speed), *cells))
    if len(at_speeds):
        table(rows, right=range(1 + 2 * len(steps)), indent=2)
    for name, why in (("harder", worth.no_harder), ("softer", worth.no_softer)):
        if why:
            say(f"  {knob.step:g} {name}: no estimate, {why}")
