"""What the fit of a dyno sheet says: to people, to scripts, and what to beware of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from trackside.cli.output import millimetres, no_estimate, say, table
from trackside.errors import NoEstimate
from trackside.units import from_si, show

if TYPE_CHECKING:
    from trackside.damper.parameters import Parameter
    from trackside.preferences import Preferences
    from trackside.review.bench import BenchFit, SheetForce

    Answer = SheetForce | tuple[NoEstimate, dict[str, Any]]
    """A force, or why there is none and where."""

POOR = 5.0
"""A fit that misses by more % rms is said to be poor (common practice, no source)."""
FEW = 3
"""So many rows off their curve are slips; more of them are a poor fit."""
SLOW = 0.06
"""m/s: a sheet that ends below may be in another unit (common practice, no source)."""
WARM_UP = 20.0
"""Oil that warmed by more K during the sheet moved its forces (common practice, no source)."""


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
        "standing": answer.standing,
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
            "speed_mm_s": millimetres([advice.speed])[0],
            "bands_narrower_percent": 100 * advice.gain,
        },
    }


def _name(name: str, place: float | None) -> str:
    """`bleed at 8`, the position as the sheet counts."""
    return name if place is None else f"{name.partition(' at ')[0]} at {place:g}"


def warnings_of(
    found: BenchFit, estimates: Sequence[Answer], preferences: Preferences
) -> Iterator[str]:
    """What a reader of this fit should know, a sentence each."""
    counted, speed = found.counting, preferences.unit("speed")
    how = {
        "inferred": "as the forces tell",
        "assumed": "an assumption, since the forces do not tell",
    }
    if not counted.stated:
        yield (
            f"positions are taken as counted from full {counted.counted_from}, "
            f"{how[counted.ground]}; --count-from says it for sure"
        )
    if found.preload_counting:
        yield (
            f"preload positions are taken as counted from full "
            f"{found.preload_counting.counted_from}, {how[found.preload_counting.ground]}"
        )
    for direction in ("bump", "rebound"):
        if direction not in found.fits:
            yield f"the sheet has no {direction} rows: nothing is said of {direction}"
            continue
        fitted = found.fits[direction]
        if len(fitted.positions) == 1:
            yield (
                f"{direction} was measured at one position: others are the shop's rule alone"
                if fitted.click_law
                else f"{direction} was measured at one position: no other can be estimated from it"
            )
        strays = found.strays(direction)
        few = 0 < len(strays) <= FEW
        for stray in strays if few else ():
            at = show(stray.row.speed, "speed", speed, with_unit=True)
            yield (
                f"{direction} at position {stray.row.position:g} and {at} lies "
                f"{abs(stray.miss / stray.fitted):.0%} off its curve: a slip? It counts for little"
            )
        if not few and fitted.rms_percent > POOR:
            yield (
                f"the {direction} fit misses its rows by {fitted.rms_percent:.1f} % rms: is gas "
                "force still in the sheet (--gas-force), or a run mixed up?"
            )
    yield from _uneven(found)
    yield from _beyond([e for e in estimates if not isinstance(e, tuple)], speed)
    fastest = max(row.speed for row in found.sheet.rows)
    if fastest < SLOW:
        told = show(fastest, "speed", speed, with_unit=True)
        yield f"the fastest row runs at {told}: is that the header's unit?"
    oil = [row.oil_C for row in found.sheet.rows if row.oil_C is not None]
    if oil and max(oil) - min(oil) > WARM_UP:
        unit = preferences.unit("temperature")
        cold, warm = show(min(oil), "temperature", unit), show(max(oil), "temperature", unit)
        yield f"the oil warmed from {cold} to {warm} {unit} during the sheet"


def _beyond(forces: Sequence[SheetForce], unit: str) -> Iterator[str]:
    """Positions and speeds, in `unit`, that the sheet did not reach."""
    guess = "a guess that a bench should check"
    places = sorted({f"{f.position:g}{_ring(f)}" for f in forces if f.place == "beyond"})
    if places:
        yield f"position {', '.join(places)} is beyond those measured: {guess}"
    speeds = sorted({speed for force in forces for speed in force.unrun})
    if speeds:
        told = ", ".join(show(speed, "speed", unit) for speed in speeds)
        yield f"{told} {unit} is outside the rod speeds that the sheet ran: {guess}"


def _ring(force: SheetForce) -> str:
    return "" if force.preload_position is None else f", preload {force.preload_position:g}"


def _uneven(found: BenchFit) -> Iterator[str]:
    """A file cut off between two lines is whole to the eye: one direction then lacks runs."""
    if len(found.fits) < 2:
        return
    bump, rebound = (set(found.sheet.positions(d)) for d in ("bump", "rebound"))
    for less, more, name in ((rebound, bump, "rebound"), (bump, rebound, "bump")):
        if less < more:
            told = ", ".join(f"{position:g}" for position in sorted(more - less))
            yield f"{name} lacks position {told}, which the other direction has: is the file whole?"


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
    from trackside.telling.figures import with_band

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
            say(f"  hardly told by this sheet: {', '.join(advice.untold)}")
        say(
            f"  one run more, at position {advice.position:g} and "
            f"{show(advice.speed, 'speed', speed, with_unit=True)}, would narrow the bands most "
            f"(by about {advice.gain:.0%})"
        )
        for force in estimates:
            if isinstance(force, tuple) or force.direction != direction:
                continue
            where = f"position {force.position:g}{_ring(force)}"
            say(f"  {where}, {force.standing}: {unit} at {speed}")
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
