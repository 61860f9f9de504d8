"""A revalve: a damper's build against the one before, at the same position of its knobs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from trackside.cli.command_context import CommandContext, number, scripted, speeds_of
from trackside.cli.dyno_compare import no_build
from trackside.cli.output import emit, estimate_body, no_estimate, say, step_body, table
from trackside.errors import NoEstimate, TracksideError, UnknownRecord

if TYPE_CHECKING:
    from trackside.analysis.revalve import Revalve
    from trackside.analysis.shed import Shed
    from trackside.preferences import Preferences
    from trackside.records import Build


@click.command(short_help="A build's force against the build before.")
@click.argument("serial", metavar="SERIAL")
@click.option("--before", metavar="VERSION", help="Default: the build before the later one.")
@click.option("--after", metavar="VERSION", help="Default: the present build.")
@click.option("--at", metavar="POSITION", help="Of the knob, as counted; default: half open.")
@click.option("--preload", metavar="POSITION", help="Of the preload adjuster, as counted.")
@click.option("--speeds", metavar="MM/S,…", help="Rod speeds in mm/s, as in 25,50,100.")
@scripted
@click.pass_obj
def revalve(
    context: CommandContext,
    serial: str,
    before: str | None,
    after: str | None,
    at: str | None,
    preload: str | None,
    speeds: str | None,
    as_json: bool,
) -> None:
    """What a strip-down did to the force: before and after at the same rod speeds, with what each
    stands on, and where the discs of the later build are bent too far."""
    from trackside.analysis.shed import Shed

    position = None if at is None else number(at, "--at")
    ring = None if preload is None else number(preload, "--preload")
    asked = speeds_of(speeds) or context.preferences.reference_speeds
    with context.reader() as logbook:
        shed = Shed.of(logbook)
    first, last = _builds(shed, serial, before, after)
    found = {
        direction: _compared(first, last, direction, position, ring, shed, asked)
        for direction in ("bump", "rebound")
    }
    reasons = [reason for reason in found.values() if isinstance(reason, NoEstimate)]
    if len(reasons) == len(found):
        raise reasons[0]
    discs = {d: _discs(last, d, context.tell_in(as_json)) for d in found}
    if as_json:
        emit({
            "damper": last.damper,
            "before": first.version,
            "after": last.version,
            "directions": {d: _body(r, discs[d]) for d, r in found.items()},
        })  # fmt: skip
        return
    say(f"{last.damper}: build {last.version} after build {first.version}")
    for direction, one in found.items():
        say("")
        if isinstance(one, NoEstimate):
            say(f"{direction}: no estimate, {one}")
        else:
            _say(direction, one, context.preferences)
        say(*(f"  {line}" for line in discs[direction]))


def _builds(shed: Shed, serial: str, before: str | None, after: str | None) -> tuple[Build, Build]:
    last = shed.build(serial, after)
    if last is None:
        raise UnknownRecord(*no_build(shed, serial, after))
    builds = shed.builds_of(serial)
    earlier = builds[: builds.index(last)]
    first = shed.build(serial, before) if before else (earlier[-1] if earlier else None)
    if first is None and before:
        raise UnknownRecord(*no_build(shed, serial, before))
    if first is None:
        raise NoEstimate(
            f"{last.damper} has no build before {last.version}", "name one with --before"
        )
    return first, last


def _compared(
    before: Build,
    after: Build,
    direction: str,
    position: float | None,
    ring: float | None,
    shed: Shed,
    speeds: Sequence[float],
) -> Revalve | NoEstimate:
    from trackside.analysis.estimate import as_reason
    from trackside.analysis.revalve import half_open
    from trackside.analysis.revalve import revalve as against

    at = half_open(after, direction) if position is None else position
    try:
        return against(before, after, direction, at, shed, speeds, ring)
    except TracksideError as error:
        return as_reason(error)


def _discs(build: Build, direction: str, preferences: Preferences) -> list[str]:
    """Where the discs suffer; nothing where the parts are not all on record."""
    from trackside.analysis.parts import parts_curve
    from trackside.reports.limits import disc_lines

    if build.parts(direction) is None:
        return []
    try:
        return disc_lines(parts_curve(build, direction).limits, preferences)
    except NoEstimate:
        return []


def _body(found: Revalve | NoEstimate, discs: list[str]) -> dict[str, Any]:
    if isinstance(found, NoEstimate):
        return no_estimate(found) | {"discs": discs}
    return {
        "before": estimate_body(found.before),
        "after": estimate_body(found.after),
        "change": step_body(found.step),
        "discs": discs,
    }


def _say(direction: str, found: Revalve, preferences: Preferences) -> None:
    from trackside.reports.origin_words import origin_words, setting_words
    from trackside.reports.revalving import revalve_rows

    at, origin = found.after.setting, origin_words(found.after.origin)
    say(f"{direction} at {setting_words(at)}: {found.after.basis} ({origin})")
    table(revalve_rows(found, preferences), right=range(6), indent=2)
    say(f"  forces and their change in {preferences.unit('force')}, ± 95 %; ≈ within the noise")
