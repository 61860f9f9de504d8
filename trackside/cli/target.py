"""From a wanted curve to the builds of the disc box that make it."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

import click

from trackside.cli.command_context import CommandContext, number, scripted
from trackside.cli.output import emit, millimetres, say, table
from trackside.errors import BadInput

if TYPE_CHECKING:
    from trackside.analysis.valve_answer import Answer, SearchResult, Side
    from trackside.analysis.valve_search import Progress


@click.command(short_help="The builds of the disc box that make a wanted curve.")
@click.argument("serial", metavar="SERIAL")
@click.argument("wanted", nargs=-1, metavar="[WANTED...]")
@click.option("--like", metavar="SERIAL[@CLICKS]", help="The curve of another damper.")
@click.option(
    "--mid-range", is_flag=True, help="What puts an adjuster that lives at an end mid-range."
)
@click.option("--at", metavar="POSITION", help="Today's, as counted; default: as it last ran.")
@click.option("--preload", metavar="POSITION", help="Of the preload ring, as counted.")
@click.option("--discs", "most", default=2, show_default=True, help="Discs changed at most.")
@click.option("--within", default="3", metavar="%", show_default=True, help="How near is met.")
@click.option("--only-discs", is_flag=True, help="Clamp disc, spacer and bleed disc stay.")
@click.option("--hold-clicks", is_flag=True, help="The adjuster stays where it is.")
@click.option("--nearest", is_flag=True, help="The nearest first, not the fewest discs changed.")
@click.option("--show", "shown", type=int, metavar="N", help="All that is known of answer N.")
@click.option("--plan", "planned", type=int, metavar="N", help="Plan a strip-down of answer N.")
@click.option("--why", metavar="TEXT", help="With --plan: why; default: what was wanted.")
@scripted
@click.pass_obj
def target(
    context: CommandContext,
    serial: str,
    wanted: tuple[str, ...],
    like: str | None,
    mid_range: bool,
    at: str | None,
    preload: str | None,
    most: int,
    within: str,
    only_discs: bool,
    hold_clicks: bool,
    nearest: bool,
    shown: int | None,
    planned: int | None,
    why: str | None,
    as_json: bool,
) -> None:
    """Which stack, spacer, bleed disc and position make the curve that is WANTED of the damper
    SERIAL, from the discs in it and in the shop's box (see `box`).

    WANTED is rod speeds and forces, against today's curve or in full:
    "rebound 25 same, 100 +5 %, 300 +15 %; bump 50 640 N". The builds that meet it come first, those
    with the fewest discs changed at the top; `!` marks one that does not meet it. Where today's
    build was on a bench, a forecast comes from the parts, corrected by that bench run.

    --mid-range wants today's curve where an adjuster lives at an end of its travel (the shed says
    which), made with that adjuster in the middle half of it.
    """
    from trackside.analysis.shed import Shed
    from trackside.analysis.valve_search import Asked, search
    from trackside.analysis.valve_stock import Stock
    from trackside.crew.disc_box import DiscBox
    from trackside.crew.wanted_curve import read_wishes, wished_of, wishes_like, wishes_mid_range
    from trackside.reports.target_words import (
        HEADS,
        MID_RANGE,
        answer_lines,
        answer_row,
        left_out_words,
        result_lines,
        target_lines,
    )

    near = number(within, "--within") / 100.0
    if not 0.0 < near < 1.0:
        raise BadInput(f"--within {within} is no share", "give per cent, as in 3")
    if not 0 <= most <= 8:
        raise BadInput(f"--discs {most} cannot be", "give 0 to 8")
    if why and planned is None:
        raise BadInput("--why goes with --plan", "say which answer is planned")
    if bool(wanted) + bool(like) + mid_range != 1:
        raise BadInput(
            "say what is wanted, name a damper with --like, or --mid-range", "one of them"
        )
    if mid_range and hold_clicks:
        raise BadInput("--hold-clicks leaves the adjuster at its end", "leave it out")
    preferences = context.preferences
    with context.reader() as logbook:
        shed = Shed.of(logbook)
        if mid_range:
            wishes = wishes_mid_range(logbook, shed, serial, preferences.reference_speeds)
        elif like:
            wishes = wishes_like(logbook, shed, like, None, preferences)
        else:
            wishes = read_wishes("; ".join(wanted), preferences)
        position = None if at is None else number(at, "--at")
        ring = None if preload is None else number(preload, "--preload")
        targets = wished_of(logbook, shed, serial, wishes, preferences, position, ring)
        stock = Stock.of(part.record for part in DiscBox(logbook).all())
    asked = Asked(most, near, only_discs, hold_clicks, nearest, mid_range)
    found = search(targets, shed, stock, asked, _progress(as_json))
    job = None
    if planned is not None:
        said = why or like or "; ".join(wanted) or "today's curve, mid-range"
        job = _plan(context, serial, _numbered(found, planned), said)
    if as_json:
        emit(result_body(found, serial) | ({"job": job[0]} if job else {}))
        return
    for one in targets:
        say(*target_lines(one, preferences))
    if mid_range:
        say(MID_RANGE)
    say("", *result_lines(found, preferences))
    say(*filter(None, [left_out_words(found)]), "")
    rows = [answer_row(n, one, preferences) for n, one in enumerate(found.answers, 1)]
    if rows:
        table([HEADS, *rows], right=(1, 2))
    if rows:
        shown = shown or planned or 1
        say("", f"answer {shown}:")
        say(*(line for _, line in answer_lines(_numbered(found, shown), preferences)))
    if job:
        say("", job[1])


def _numbered(found: SearchResult, number: int) -> Answer:
    if not 1 <= number <= len(found.answers):
        raise BadInput(f"there is no answer {number}", f"give 1 to {len(found.answers)}")
    return found.answers[number - 1]


def _plan(context: CommandContext, serial: str, answer: Answer, why: str) -> tuple[str, str]:
    """Write a job of it down; its code, and what is said."""
    from trackside.crew.planned_valve import planned_valve
    from trackside.crew.strip_downs import StripDowns
    from trackside.reports.target_words import goes_in_words, planned_words

    with context.writer() as logbook:
        write = planned_valve(StripDowns(logbook), serial, answer, why, goes_in_words(answer))
        logbook.write(write)
    return write.entity[-6:], planned_words(answer)


def _progress(as_json: bool) -> Progress:
    """How far it is, on a terminal alone."""
    if as_json or not sys.stderr.isatty():
        return lambda _: True

    def told(share: float) -> bool:
        click.echo(f"\r{100 * share:3.0f} %", nl=False, err=True)
        return True

    return told


def result_body(found: SearchResult, serial: str) -> dict[str, Any]:
    """A search as JSON speaks of it, in SI."""
    return {
        "damper": serial,
        "targets": [
            {
                "direction": one.direction,
                "speed_mm_s": millimetres(one.speed),
                "wanted_N": one.force,
                "today_N": one.today.force,
            }
            for one in found.targets
        ],
        "stacks": found.stacks,
        "combinations": found.combinations,
        "stopped": found.stopped,
        "from_bench": found.from_bench,
        "lacking": None if found.lacking is None else _parts(found.lacking),
        "answers": [answer_body(one) for one in found.answers],
    }


def _parts(parts: Any) -> list[dict[str, Any]]:
    return [
        {"sort": sort, "sizes_um": sizes, "count": count}
        for (sort, sizes), count in sorted(parts.items())
    ]


def answer_body(answer: Answer) -> dict[str, Any]:
    """A build: what goes in, what it does, how far off it is."""
    return {
        "met": answer.met,
        "discs_changed": answer.changed,
        "other_parts_changed": answer.others,
        "furthest_off": answer.worst,
        "sides": [_side(side) for side in answer.sides],
    }


def _side(side: Side) -> dict[str, Any]:
    from trackside.records.discs import stack_text

    valve, forecast = side.valve, side.forecast
    return {
        "direction": side.target.direction,
        "stack": stack_text(valve.stack.discs),
        "clamp_m": valve.clamp,
        "spacers_m": valve.spacers,
        "slots": valve.slots[0],
        "slot_width_m": valve.slots[1] or None,
        "slot_depth_m": valve.slots[2] or None,
        "preload_m": side.preload,
        "position": side.position,
        "clicks_from_hard": side.from_hard,
        "met_at": side.met_at,
        "needs": _parts(side.needs),
        "frees": _parts(side.frees),
        "force_N": forecast.force,
        "low_N": forecast.low,
        "high_N": forecast.high,
        "basis": forecast.basis,
        "off": side.missing,
        "theory_to_N": side.limits.linear_to,
        "safe_to_N": side.limits.safe_to,
    }
