"""What the fit of a dyno sheet says, to people and to scripts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

from trackside.cli.output import millimetres, no_estimate, say, table
from trackside.errors import NoEstimate
from trackside.units import from_si, show

if TYPE_CHECKING:
    from trackside.analysis.bench_fit import BenchFit, ForceChange, SheetForce
    from trackside.damper.parameters import Parameter
    from trackside.preferences import Preferences

    Answer = SheetForce | tuple[NoEstimate, dict[str, Any]]
    """A force, or why there is none and where."""
    Change = ForceChange | tuple[NoEstimate, dict[str, Any]]
    """What a change is worth, or why nobody knows and where."""


def estimate_body(answer: Answer) -> dict[str, Any]:
    """The force at one position, or what stands in its place."""
    if isinstance(answer, tuple):
        reason, place = answer
        return no_estimate(reason, **place)
    body = {
        "position": answer.position,
        "clicks_from_hard": answer.clicks_from_hard,
        "direction": answer.direction,
        "speed_mm_s": millimetres(answer.speed),
        "force_N": answer.force,
        "low_N": answer.low,
        "high_N": answer.high,
        "basis": answer.basis,
    }
    if answer.preload_position is not None:
        body["preload_position"] = answer.preload_position
    return body


def direction_body(found: BenchFit, direction: str) -> dict[str, Any]:
    """Parameters and residuals of one direction; forces with the sheet's signs."""
    fitted, advice = found.fits[direction], found.advice(direction)
    return {
        "parameters": [
            {
                "name": _name(parameter.name, place),
                "value": float(parameter.value),
                "low": float(parameter.low),
                "high": float(parameter.high),
                "unit": parameter.unit,
            }
            for parameter, place in found.parameters(direction)
        ],
        "residuals": [
            {
                "position": residual.row.position,
                "direction": direction,
                "speed_mm_s": millimetres([residual.row.speed])[0],
                "force_N": residual.force,
                "fitted_N": residual.fitted,
                "residual_N": residual.miss,
            }
            for residual in found.residuals(direction)
        ],
        "rms_percent": fitted.rms_percent,
        "rms_N": found.rms(direction),
        "positions": list(found.sheet.positions(direction)),
        "oil_C": fitted.oil_C,
        "hardly_told": list(advice.untold),
        "best_run": {
            "position": advice.position,
            "direction": direction,
            "speed_mm_s": millimetres([advice.speeds[0]])[0],
            "speeds_mm_s": millimetres(advice.speeds),
            "bands_narrower_percent": 100 * advice.gain,
        },
    }


def _name(name: str, place: float | None) -> str:
    """`bleed at 8`, the position as the sheet counts."""
    return name if place is None else f"{name.partition(' at ')[0]} at {place:g}"


def change_body(change: Change) -> dict[str, Any]:
    """What a change of position is worth, for scripts; forces with the sheet's signs."""
    if isinstance(change, tuple):
        reason, place = change
        return {**place, "basis": "no estimate", "why": str(reason)}
    body = {
        "from": change.start,
        "to": change.end,
        "direction": change.direction,
        "speed_mm_s": millimetres(change.speed),
        "change_N": change.force,
        "low_N": change.low,
        "high_N": change.high,
        "basis": change.basis,
    }
    if change.preload_position is not None:
        body["preload_position"] = change.preload_position
    return body


def beyond(forces: Iterable[SheetForce | ForceChange], unit: str) -> Iterator[str]:
    """Positions and speeds, in `unit`, that the sheet did not reach."""
    known = list(forces)
    guess = "a guess that a bench should check"
    places = sorted({place for force in known for place in force.outside})
    if places:
        yield f"position {', '.join(places)} is beyond those measured: {guess}"
    speeds = sorted({speed for force in known for speed in force.unrun})
    if speeds:
        told = ", ".join(show(speed, "speed", unit) for speed in speeds)
        yield f"{told} {unit} is outside the rod speeds that the sheet ran: {guess}"


def _ring(force: SheetForce | ForceChange) -> str:
    return "" if force.preload_position is None else f", preload {force.preload_position:g}"


def _coefficient(parameter: Parameter, force: str) -> tuple[str, str, str]:
    """Value, band and unit: a force in the crew's unit, the others, which mix two quantities, in
    the model's own."""
    unit = parameter.unit
    value, low, high = (
        from_si(found, "force", force) if unit == "N" else found
        for found in (parameter.value, parameter.low, parameter.high)
    )
    return f"{value:.4g}", f"{low:.3g} to {high:.3g}", force if unit == "N" else unit


def say_fit(found: BenchFit, estimates: Sequence[Answer], preferences: Preferences) -> None:
    """The fit in words and tables."""
    from trackside.reports.formatting import with_band

    unit, speed = preferences.unit("force"), preferences.unit("speed")
    sheet = found.sheet
    say(f"{sheet.source}: {len(sheet.rows)} rows, counted from full {found.counting.counted_from}")
    for direction, fitted in found.fits.items():
        worst = max(found.residuals(direction), key=lambda r: abs(r.miss))
        say(
            "",
            f"{direction}: the fit misses by {fitted.rms_percent:.1f} % rms "
            f"({show(found.rms(direction), 'force', unit, with_unit=True)}); at most "
            f"{show(worst.miss, 'force', unit, with_unit=True)} at position "
            f"{worst.row.position:g}, {show(worst.row.speed, 'speed', speed, with_unit=True)}",
        )
        table(
            [
                (_name(parameter.name, place), *_coefficient(parameter, unit))
                for parameter, place in found.parameters(direction)
            ],
            right=(1,),
            indent=2,
        )
        advice = found.advice(direction)
        if advice.untold:
            say(f"  this sheet barely pins down: {', '.join(advice.untold)}")
        rods = ", ".join(show(rod, "speed", speed) for rod in sorted(advice.speeds))
        run = f"one run more, at position {advice.position:g} and {rods} {speed}, would narrow"
        if advice.is_worth:
            say(f"  {run} the bands most (by about {advice.gain:.0%})")
        else:
            say(f"  no run more is worth much: {run} the bands by {advice.gain:.0%}")
        for force in estimates:
            if isinstance(force, tuple) or force.direction != direction:
                continue
            where = f"position {force.position:g}{_ring(force)}"
            say(f"  {where}, {force.basis}: {unit} at {speed}")
            bands = zip(force.force, force.low, force.high, strict=True)
            rows = zip(force.speed, bands, strict=True)
            table(
                [(show(rod, "speed", speed), with_band(*band, unit)) for rod, band in rows],
                right=(0, 1),
                indent=4,
            )
    for answer in estimates:
        if isinstance(answer, tuple):
            reason, place = answer
            say(f"  {place['direction']} at {place['position']:g}: no estimate, {reason}")


def say_changes(changes: Sequence[Change], preferences: Preferences) -> None:
    """What each change of position is worth, as a table."""
    from trackside.reports.formatting import signed_in

    unit, speed = preferences.unit("force"), preferences.unit("speed")
    for change in changes:
        if isinstance(change, tuple):
            reason, place = change
            where = f"{place['direction']} from {place['from']:g} to {place['to']:g}"
            say("", f"{where}: no estimate, {reason}")
            continue
        where = f"{change.direction} from {change.start:g} to {change.end:g}{_ring(change)}"
        say("", f"{where}, {change.basis}: change in {unit} at {speed}, 95 % band")
        rows = zip(change.speed, change.force, change.low, change.high, strict=True)
        table(
            [
                (show(rod, "speed", speed), signed_in(force, unit),
                 f"{signed_in(low, unit)} to {signed_in(high, unit)}")
                for rod, force, low, high in rows
            ],
            right=(0, 1),
            indent=4,
        )  # fmt: skip
