"""Dyno sheets: fit one by itself, or add it to a damper of the logbook."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

import click

from trackside.cli.desk import Desk, number, read_file, scripted, speeds_of
from trackside.cli.output import emit, millimetres, no_estimate, say, table, with_band
from trackside.errors import BadInput, BadSheet, NoEstimate, UnknownRecord
from trackside.units import read, show

if TYPE_CHECKING:
    from trackside.preferences import Preferences
    from trackside.records import DynoSheet
    from trackside.review.bench import BenchFit, SheetForce

    Answer = SheetForce | tuple[NoEstimate, dict[str, Any]]

COUNTED = click.Choice(("hard", "soft"))
POOR = 5.0
"""A fit that misses by more % rms is said to be poor (common practice, no source)."""
WARM_UP = 20.0
"""Oil that warmed by more K during the sheet moved its forces (common practice, no source)."""


@click.group(short_help="Dyno sheets: fit, or add to a damper.")
def dyno() -> None:
    """Dyno sheets: fit one, or add it to a damper.

    A sheet is a CSV with the header position,direction,speed_mm_s,force_N and optionally oil_C.
    Other units by suffix: speed_in_s, force_lbf, oil_F. Rebound forces may be negative.
    """


@dyno.command(short_help="Fit a sheet without a logbook.")
@click.argument("sheet", metavar="SHEET.csv")
@click.option("--count-from", type=COUNTED, help="Positions count from full hard or full soft.")
@click.option("--at", "at", multiple=True, metavar="POSITION", help="As counted; may be repeated.")
@click.option("--speeds", metavar="MM/S,…", help="Rod speeds in mm/s; default: the sheet's own.")
@click.option("--gas-force", metavar="N", help="Gas force that the sheet's forces still hold.")
@scripted
@click.pass_obj
def fit(
    desk: Desk,
    sheet: str,
    count_from: str | None,
    at: tuple[str, ...],
    speeds: str | None,
    gas_force: str | None,
    as_json: bool,
) -> None:
    """Fit a sheet without a logbook: parameters, residuals, forces at the positions asked.

    Forces keep the sheet's own signs, and hold what the sheet's forces hold.
    """
    asked = [number(text, "--at") for text in at]
    wanted = speeds_of(speeds)
    from trackside.review.bench import bench_fit

    gas = None if gas_force is None else read(gas_force, "force").si
    found = bench_fit(_read(sheet, count_from), gas)
    estimates = list(_estimates(found, asked, wanted))
    reasons = [e for e in estimates if isinstance(e, tuple)]
    if len(reasons) == len(estimates):
        raise reasons[0][0]
    warnings = list(_warnings(found, estimates))
    if as_json:
        emit({
            "source": found.sheet.source,
            "rows": len(found.sheet.rows),
            "counted_from": found.counting.counted_from,
            "count_from_stated": found.counting.stated,
            "directions": {name: _direction_body(found, name) for name in found.fits},
            "estimates": [_estimate_body(e) for e in estimates],
            "warnings": warnings,
        })  # fmt: skip
        return
    _say_fit(found, estimates, desk.preferences)
    say(*(f"! {warning}" for warning in warnings))


def _read(name: str, count_from: str | None) -> DynoSheet:
    from pathlib import Path

    from trackside.records import read_sheet

    sheet = read_sheet(read_file(name, BadSheet), source=Path(name).name)
    return sheet.model_copy(update={"counted_from": count_from}) if count_from else sheet


def _estimates(
    found: BenchFit, asked: Sequence[float], speeds: Sequence[float] | None
) -> Iterator[Answer]:
    """Each position asked, or else each one measured, in each direction."""
    for direction in found.fits:
        for position in asked or found.sheet.positions(direction):
            for preload in found.preloads(direction):
                try:
                    yield found.force(direction, position, speeds, preload)
                except NoEstimate as reason:
                    yield reason, {"position": position, "direction": direction}


def _estimate_body(answer: Answer) -> dict[str, Any]:
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


def _direction_body(found: BenchFit, direction: str) -> dict[str, Any]:
    fitted = found.fits[direction]
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
    }


def _name(name: str, place: float | None) -> str:
    """`bleed at 8`, the position as the sheet counts."""
    return name if place is None else f"{name.partition(' at ')[0]} at {place:g}"


def _warnings(found: BenchFit, estimates: Sequence[Answer]) -> Iterator[str]:
    counted = found.counting
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
            yield f"{direction} was measured at one position: no other can be estimated from it"
        if fitted.rms_percent > POOR:
            yield (
                f"the {direction} fit misses its rows by {fitted.rms_percent:.1f} % rms: is gas "
                "force still in the sheet (--gas-force), or a run mixed up?"
            )
    beyond = {e.position for e in estimates if not isinstance(e, tuple) and e.standing == "beyond"}
    if beyond:
        told = ", ".join(f"{position:g}" for position in sorted(beyond))
        yield f"position {told} is beyond those measured: a guess that a bench should check"
    oil = [row.oil_C for row in found.sheet.rows if row.oil_C is not None]
    if oil and max(oil) - min(oil) > WARM_UP:
        yield f"the oil warmed from {min(oil):.0f} to {max(oil):.0f} °C during the sheet"


def _say_fit(found: BenchFit, estimates: Sequence[Answer], preferences: Preferences) -> None:
    unit, speed = preferences.unit("force"), preferences.unit("speed")
    sheet = found.sheet

    def shown(force: float) -> str:
        return show(force, "force", unit)

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
                (
                    _name(parameter.name, place),
                    f"{parameter.value:.4g}",
                    f"{parameter.low:.3g} to {parameter.high:.3g}",
                    parameter.unit,
                )
                for parameter, place in found.parameters(direction)
            ],
            right=(1,),
            indent=2,
        )
        for force in estimates:
            if isinstance(force, tuple) or force.direction != direction:
                continue
            ring = f", preload {force.preload_position:g}" if force.preload_position else ""
            say(f"  position {force.position:g}{ring}, {force.standing}: {unit} at {speed}")
            rows = zip(force.speed, force.force, force.low, force.high, strict=True)
            table(
                [(show(v, "speed", speed), with_band(shown, *numbers)) for v, *numbers in rows],
                right=(0, 1),
                indent=4,
            )
    for answer in estimates:
        if isinstance(answer, tuple):
            reason, place = answer
            say(f"  {place['direction']} at {place['position']:g}: no estimate, {reason}")


@dyno.command(short_help="Add a sheet to a damper.")
@click.argument("sheet", metavar="SHEET.csv")
@click.option("--damper", "serial", required=True, metavar="SERIAL", help="Whose sheet it is.")
@click.option("--build", "version", metavar="VERSION", help="Default: its present build.")
@click.option("--count-from", type=COUNTED, help="Default: as the damper's adjusters count.")
@click.option("--date", "day", metavar="YYYY-MM-DD", help="When it was run; default: today.")
@click.option(
    "--gas-in", metavar="PRESSURE", help="Its forces hold the gas force of this charge (gauge)."
)
@scripted
@click.pass_obj
def add(
    desk: Desk,
    sheet: str,
    serial: str,
    version: str | None,
    count_from: str | None,
    day: str | None,
    gas_in: str | None,
    as_json: bool,
) -> None:
    """Add a sheet to a damper of the logbook, once it is sure that it can be fitted."""
    from trackside.logbook import put
    from trackside.review.shed import Shed, fit_of

    gas = None if gas_in is None else read(gas_in, "pressure", desk.preferences.unit("pressure")).si
    given = _read(sheet, count_from)
    when = _day(day)
    with desk.writer() as logbook:
        shed = Shed.of(logbook)
        build = shed.build(serial, version)
        if build is None:
            raise UnknownRecord(*_no_build(shed, serial, version))
        record = given.model_copy(update={
            "damper": build.damper,
            "build": build.version,
            "date": when,
            "gas_in": gas is not None,
            "gas_pressure": gas,
        })  # fmt: skip
        try:
            fitted = fit_of(record, build)
        except BadSheet as error:
            raise BadSheet(f"{sheet}: {error.cause}", error.remedy) from error
        same = [s for s in shed.sheets_of(build) if s.rows == record.rows]
        if same:
            raise BadInput(
                f"{sheet} is the sheet of {same[0].date} that {build.damper} has already",
                "nothing was added",
            )
        write = put("sheet", record.body())
        logbook.write(write, reason=f"dyno sheet {record.source}")
    directions = [d for d in ("bump", "rebound") if getattr(fitted, d) is not None]
    misses = {d: float(getattr(fitted, d).rms_percent) for d in directions}
    if as_json:
        emit({
            "sheet": write.entity,
            "damper": record.damper,
            "build": record.build,
            "date": when,
            "rows": len(record.rows),
            "rms_percent": misses,
        })  # fmt: skip
        return
    told = ", ".join(f"{d} misses by {miss:.1f} % rms" for d, miss in misses.items())
    say(f"{len(record.rows)} rows added to {record.damper} build {record.build}: {told}")


def _no_build(shed: Any, serial: str, version: str | None) -> tuple[str, str]:
    builds = shed.builds_of(serial)
    if builds:
        known = ", ".join(b.version for b in builds)
        return f"{serial} has no build “{version}”", f"it has {known}"
    if shed.damper(serial):
        return f"{serial} has no build yet", "enter what is inside it in the damper shed"
    known = ", ".join(d.serial for d in shed.dampers)
    return (
        f"there is no damper {serial} in the logbook",
        f"there are {known}" if known else "enter it in the damper shed first",
    )


def _day(text: str | None) -> str:
    try:
        return (date.today() if text is None else date.fromisoformat(text)).isoformat()
    except ValueError:
        raise BadInput(f"“{text}” is not a date", "write it like 2026-10-17") from None
