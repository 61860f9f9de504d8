"""A dyno sheet fitted without a logbook: coefficients, forces, and what a change is worth."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import click

from trackside.cli.command_context import CommandContext, number, scripted, speeds_of
from trackside.cli.fitted import (
    beyond,
    change_body,
    direction_body,
    estimate_body,
    say_changes,
    say_fit,
)
from trackside.cli.output import emit, say
from trackside.cli.sheet_given import Given, about_sheet, asked_gas, warning_body
from trackside.cli.sister_sheets import refused, say_sisters, sisters_body
from trackside.errors import BadInput, NoEstimate

if TYPE_CHECKING:
    from trackside.analysis.bench_fit import BenchFit
    from trackside.cli.fitted import Answer, Change
    from trackside.records import DynoSheet


@click.command(short_help="Fit a sheet without a logbook.")
@click.argument("sheets", metavar="SHEET.csv…", nargs=-1, required=True)
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
@click.option(
    "--change",
    "turns",
    multiple=True,
    metavar="FROM:TO",
    help="What a change of position is worth, as counted; may be repeated.",
)
@click.option(
    "--sister",
    "sisters",
    multiple=True,
    metavar="OTHER.csv",
    help="A sheet of a damper of the same model and needle; may be repeated.",
)
@about_sheet
@scripted
@click.pass_obj
def fit(
    context: CommandContext,
    sheets: tuple[str, ...],
    at: tuple[str, ...],
    speeds: str | None,
    rings: tuple[str, ...],
    rule: tuple[str, str] | None,
    turns: tuple[str, ...],
    sisters: tuple[str, ...],
    given: Given,
    as_json: bool,
) -> None:
    """Fit a sheet without a logbook: parameters, residuals, forces at the positions asked.

    Forces keep the sheet's own signs, and hold what the sheet's forces hold. --click carries a
    sheet of one position to others; a sheet of several needs no rule. --change 8:6 gives the force
    at 6 less the force at 8, with the band of the change itself. With --sister a sheet of one or
    two positions learns the others from dampers of the same model and needle, once they prove to be
    alike; what is said of the sheet's file is said of theirs too.
    """
    asked = [number(text, "--at") for text in at]
    rung = [number(text, "--preload") for text in rings]
    wanted = speeds_of(speeds)
    click_rule = _click_rule(*rule) if rule else None
    turned = [_turn(text) for text in turns]
    from trackside.analysis.bench_fit import bench_fit, with_sisters
    from trackside.analysis.fit_checks import sheet_warnings
    from trackside.reports.sheet_warning_words import warning_words

    sheet = _with_gas(given.sheet(sheets), given, context, as_json)
    gas = sheet.gas_force if sheet.gas_in else None
    found = bench_fit(sheet, gas, click_rule)
    known_by = [_with_gas(given.sheet((name,)), given, context, as_json) for name in sisters]
    found = with_sisters(
        found, [bench_fit(one, one.gas_force if one.gas_in else None) for one in known_by]
    )
    estimates = list(_estimates(found, asked, wanted, rung))
    changes = list(_changes(found, turned, wanted, rung))
    reasons = [one for one in (*estimates, *changes) if isinstance(one, tuple)]
    if len(reasons) == len(estimates) + len(changes):
        raise reasons[0][0]
    doubts = sheet_warnings(found.sheet, found.fits, found.counting, found.preload_counting)
    preferences = context.tell_in(as_json)
    known = [one for one in (*estimates, *changes) if not isinstance(one, tuple)]
    warnings = [
        *(warning_words(doubt, preferences) for doubt in doubts),
        *beyond(known, preferences.unit("speed")),
        *refused(found),
    ]
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
            "sisters": {name: sisters_body(found, name, asked, wanted) for name in found.strangers},
            "changes": [change_body(change) for change in changes],
            "warnings": warnings,
            "sheet_warnings": [warning_body(doubt, preferences) for doubt in doubts],
        })  # fmt: skip
        return
    say_fit(found, estimates, context.preferences)
    say_changes(changes, context.preferences)
    say_sisters(found, asked, wanted)
    say(*(f"! {warning}" for warning in warnings))


def _with_gas(sheet: DynoSheet, given: Given, context: CommandContext, as_json: bool) -> DynoSheet:
    """The sheet with its gas force known; at a terminal the person is asked for what is not."""
    from trackside.analysis.sheet_gas import GasUnknown, with_gas

    said = given.gas(context)
    while True:
        try:
            return with_gas(sheet, said)
        except GasUnknown as reason:
            said = asked_gas(reason, said, context, as_json)


def _turn(text: str) -> tuple[float, float]:
    """The positions of `8:6`."""
    start, colon, end = text.partition(":")
    if not colon or not start.strip() or not end.strip():
        raise BadInput(
            f"--change {text} is no change of position", "write FROM:TO as counted, like 8:6"
        )
    return number(start, "--change"), number(end, "--change")


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


def _changes(
    found: BenchFit,
    turned: Sequence[tuple[float, float]],
    speeds: Sequence[float] | None,
    rings: Sequence[float],
) -> Iterator[Change]:
    """Each change of position that was asked, in each direction."""
    for direction in found.fits:
        measured = found.preloads(direction)
        for start, end in turned:
            for preload in rings if rings and measured != (None,) else measured:
                try:
                    yield found.change(direction, start, end, speeds, preload)
                except NoEstimate as reason:
                    yield reason, {"from": start, "to": end, "direction": direction}
