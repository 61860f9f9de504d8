"""Dyno sheets: fit one by itself, or add it to a damper of the logbook."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING

import click

from trackside.cli.desk import Desk, number, scripted, speeds_of
from trackside.cli.dyno_compare import change_body, compare, no_build
from trackside.cli.fitted import direction_body, estimate_body, say_fit, warnings_of
from trackside.cli.output import emit, say
from trackside.cli.rig import runs
from trackside.errors import BadInput, BadSheet, NoEstimate, UnknownRecord
from trackside.units import read

if TYPE_CHECKING:
    from trackside.cli.fitted import Answer
    from trackside.records import DynoSheet
    from trackside.review.bench import BenchFit

COUNTED = click.Choice(("hard", "soft"))


@click.group(short_help="Dyno sheets: fit, add to a damper, or make from recordings.")
def dyno() -> None:
    """Dyno sheets: fit one, add it to a damper, or make one from raw recordings.

    A sheet is a CSV with the header position,direction,speed_mm_s,force_N and optionally oil_C.
    Other units by suffix: speed_in_s, force_lbf, oil_F. Rebound forces may be negative.
    """


dyno.add_command(runs)
dyno.add_command(compare)


@dyno.command(short_help="Fit a sheet without a logbook.")
@click.argument("sheet", metavar="SHEET.csv")
@click.option("--count-from", type=COUNTED, help="Positions count from full hard or full soft.")
@click.option("--at", "at", multiple=True, metavar="POSITION", help="As counted; may be repeated.")
@click.option("--speeds", metavar="MM/S,…", help="Rod speeds in mm/s; default: the sheet's own.")
@click.option(
    "--preload",
    "rings",
    multiple=True,
    metavar="POSITION",
    help="Of the preload adjuster, as counted; may be repeated.",
)
@click.option(
    "--click",
    "rule",
    nargs=2,
    metavar="PERCENT MM/S",
    help="Shop rule: what a click takes of the full-hard force at that rod speed.",
)
@click.option("--gas-force", metavar="N", help="Gas force that the sheet's forces still hold.")
@scripted
@click.pass_obj
def fit(
    desk: Desk,
    sheet: str,
    count_from: str | None,
    at: tuple[str, ...],
    speeds: str | None,
    rings: tuple[str, ...],
    rule: tuple[str, str] | None,
    gas_force: str | None,
    as_json: bool,
) -> None:
    """Fit a sheet without a logbook: parameters, residuals, forces at the positions asked.

    Forces keep the sheet's own signs, and hold what the sheet's forces hold. --click carries a
    sheet of one position to others; a sheet of several needs no rule.
    """
    asked = [number(text, "--at") for text in at]
    rung = [number(text, "--preload") for text in rings]
    wanted = speeds_of(speeds)
    click_rule = _click_rule(*rule) if rule else None
    from trackside.review.bench import bench_fit

    gas = None if gas_force is None else read(gas_force, "force").si
    found = bench_fit(_read(sheet, count_from), gas, click_rule)
    estimates = list(_estimates(found, asked, wanted, rung))
    reasons = [e for e in estimates if isinstance(e, tuple)]
    if len(reasons) == len(estimates):
        raise reasons[0][0]
    warnings = list(warnings_of(found, estimates, desk.tell_in(as_json)))
    if as_json:
        emit({
            "source": found.sheet.source,
            "rows": len(found.sheet.rows),
            "counted_from": found.counting.counted_from,
            "count_from_stated": found.counting.stated,
            "preload_counted_from": (
                found.preload_counting.counted_from if found.preload_counting else None
            ),
            "gas_force_N": gas,
            "directions": {name: direction_body(found, name) for name in found.fits},
            "estimates": [estimate_body(e) for e in estimates],
            "warnings": warnings,
        })  # fmt: skip
        return
    say_fit(found, estimates, desk.preferences)
    say(*(f"! {warning}" for warning in warnings))


def _read(name: str, count_from: str | None) -> DynoSheet:
    from trackside.records import read_sheet_file

    sheet = read_sheet_file(name)
    return sheet.model_copy(update={"counted_from": count_from}) if count_from else sheet


def _click_rule(percent: str, speed: str) -> tuple[float, float]:
    """The share of the full-hard force that a click takes, at a rod speed (m/s)."""
    found = speeds_of(speed)
    if found is None or len(found) != 1:
        raise BadInput(f"“{speed}” is not one rod speed", "like --click 4 50: 4 % at 50 mm/s")
    return number(percent.rstrip("% "), "--click") / 100, found[0]


def _estimates(
    found: BenchFit,
    asked: Sequence[float],
    speeds: Sequence[float] | None,
    rings: Sequence[float],
) -> Iterator[Answer]:
    """Each position asked, or else each one measured, in each direction."""
    for direction in found.fits:
        measured = found.preloads(direction)
        for position in asked or found.sheet.positions(direction):
            for preload in rings if rings and measured != (None,) else measured:
                try:
                    yield found.force(direction, position, speeds, preload)
                except NoEstimate as reason:
                    yield reason, {"position": position, "direction": direction}


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
    from trackside.review.sheet_change import sheet_changes

    gas = None if gas_in is None else read(gas_in, "pressure", desk.preferences.unit("pressure")).si
    given = _read(sheet, count_from)
    when = _day(day)
    with desk.writer() as logbook:
        shed = Shed.of(logbook)
        build = shed.build(serial, version)
        if build is None:
            raise UnknownRecord(*no_build(shed, serial, version))
        record = given.model_copy(update={
            "damper": build.damper,
            "build": build.version,
            "date": when,
            "gas_in": gas is not None,
            "gas_pressure": gas,
        })  # fmt: skip
        shed.refuse_stranger(record)
        try:
            fitted = fit_of(record, build)
        except BadSheet as error:
            named = error.cause.startswith(record.source)
            cause = error.cause if named else f"{record.source}: {error.cause}"
            raise BadSheet(cause, error.remedy) from error
        same = [s for s in shed.sheets_of(build) if s.rows == record.rows]
        if same:
            raise BadInput(
                f"{sheet} is the sheet of {same[0].date} that {build.damper} has already",
                "nothing was added",
            )
        earlier = shed.sheets_of(build)
        changes = sheet_changes(earlier[0], record, build) if earlier else {}
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
            **(change_body(earlier[0], changes) if earlier else {}),
        })  # fmt: skip
        return
    told = ", ".join(f"{d} misses by {miss:.1f} % rms" for d, miss in misses.items())
    lacking = [d for d in ("bump", "rebound") if d not in directions]
    more = f"; nothing of {lacking[0]}, which has no rows" if lacking else ""
    say(f"{len(record.rows)} rows added to {record.damper} build {record.build}: {told}{more}")
    if earlier:
        from trackside.telling.bench_words import change_lines

        say(*(line for _, line in change_lines(earlier[0], changes)))
    if build.sheet:
        say("another sheet of this build was chosen to count: the damper shed changes it")


def _day(text: str | None) -> str:
    try:
        return (date.today() if text is None else date.fromisoformat(text)).isoformat()
    except ValueError:
        raise BadInput(f"“{text}” is not a date", "write it like 2026-10-17") from None
