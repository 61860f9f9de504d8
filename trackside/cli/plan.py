"""Plans for the next run: listed, begun, changed, shown with what they do, taken."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from trackside.cli.command_context import CommandContext, scripted
from trackside.cli.output import emit, estimate_body, heading, no_estimate, say, step_body, table
from trackside.errors import BadInput, NoEstimate, UnknownRecord

if TYPE_CHECKING:
    from trackside.analysis.plan import Height, Left, PlannedCorner, PlannedForce
    from trackside.crew.plans import KnownPlan, Plans
    from trackside.logbook import Logbook
    from trackside.records import Reading, Session


@click.group(invoke_without_command=True, short_help="Plans for the next run, and what they do.")
@scripted
@click.pass_context
def plan(click_context: click.Context, as_json: bool) -> None:
    """Plans for the next run: what each changes, and what that does to force, damping and limits.
    A plan touches no run until it is taken. PLAN is its name, or its id as listed here."""
    if click_context.invoked_subcommand is None:
        click_context.invoke(list_, as_json=as_json)


@plan.command("list", short_help="Every plan, the newest last.")
@click.option("--run", default="", metavar="SESSION", help="Only those that start from this run.")
@scripted
@click.pass_obj
def list_(context: CommandContext, run: str = "", as_json: bool = False) -> None:
    """Every plan: the run it starts from, what it changes, and the run that it became."""
    from trackside.crew.plans import Plans

    with context.reader() as logbook:
        plans = Plans(logbook)
        found = plans.of_run(logbook.session(run)) if run else plans.all()
        if as_json:
            emit({"plans": [_plan_body(one) for one in found]})
            return
        if not found:
            say("No plan is on record. Begin one: trackside plan new.")
            return
        heads = ("id", "plan", "from", "changes", "became")
        table([heads, *(_row(one, plans, logbook) for one in found)])


def _row(one: KnownPlan, plans: Plans, logbook: Logbook) -> tuple[str, ...]:
    record = one.record
    changes = plans.what(record).partition(": ")[2] or "nothing yet"
    became = _title(logbook, record.taken_as) if record.taken_as else ""
    return one.code, record.name, _title(logbook, record.session), changes, became


def _title(logbook: Logbook, entity: str) -> str:
    try:
        return logbook.session_line(entity).title
    except UnknownRecord:
        return "a run that is gone"


@plan.command("new", short_help="Begin a plan from a run.")
@click.argument("session", default="last")
@click.argument("cells", nargs=-1, metavar="[CELL=VALUE]…")
@click.option("--name", default="", help="Its name; without one, A, B …")
@scripted
@click.pass_obj
def new(
    context: CommandContext, session: str, cells: tuple[str, ...], name: str, as_json: bool
) -> None:
    """A plan that starts from SESSION, with these cells changed: FL.rebound_bleed=6,
    "items.Front bar=3", FL.packers=4 mm. What is not named stays as in the run."""
    from trackside.crew.plans import Plans

    context.must_exist()
    with context.writer() as logbook:
        plans = Plans(logbook)
        start = logbook.session(session)
        asked = _cells(cells, logbook.session_record(start), logbook, context)
        write = plans.begun(start, name, {p: v for p, v in asked.items() if v is not None})
        logbook.write(write)
        _tell(plans.named(write.entity), plans, as_json, context)


@plan.command("set", short_help="Change cells of a plan.")
@click.argument("name", metavar="PLAN")
@click.argument("cells", nargs=-1, required=True, metavar="CELL=VALUE…")
@scripted
@click.pass_obj
def set_(context: CommandContext, name: str, cells: tuple[str, ...], as_json: bool) -> None:
    """Set cells of PLAN; an empty value leaves the cell as in the run: FL.rebound_bleed="""
    from trackside.crew.plans import Plans

    context.must_exist()
    with context.writer() as logbook:
        plans = Plans(logbook)
        found = plans.named(name)
        run = plans.run_of(found.record)
        logbook.write(plans.written(found, _cells(cells, run, logbook, context)))
        _tell(plans.named(found.entity), plans, as_json, context)


@plan.command("take", short_help="Make a plan the next run.")
@click.argument("name", metavar="PLAN")
@click.option("--reason", required=True, help="What it is to bring.")
@scripted
@click.pass_obj
def take(context: CommandContext, name: str, reason: str, as_json: bool) -> None:
    """Open a new run, planned, with the settings of PLAN; its verdict waits once it has run."""
    from trackside.cli.sessions import session_body
    from trackside.crew.plans import Plans

    context.must_exist()
    with context.writer() as logbook:
        plans = Plans(logbook)
        found = plans.named(name)
        made = plans.taken(found, reason)
        logbook.write(*made.writes)
        line = logbook.session_line(made.entity)
        if as_json:
            emit({"plan": _plan_body(plans.named(found.entity)), "session": session_body(line)})
        else:
            say(f"Plan {found.record.name} is {line.title} now, to be set.")
            say("What changes on the car: trackside sheet last --to-do")


@plan.command("show", short_help="What a plan does, corner by corner.")
@click.argument("name", metavar="PLAN")
@scripted
@click.pass_obj
def show(context: CommandContext, name: str, as_json: bool) -> None:
    """Each corner under PLAN against the run it starts from: force at the reference speeds and its
    step with band, damping ratio, clicks left to both ends, cavitation, bump stop, height."""
    from trackside.analysis.estimate_cache import EstimateCache
    from trackside.analysis.outings import newest_that_ran
    from trackside.analysis.plan import plan_facts
    from trackside.analysis.shed import Shed
    from trackside.crew.plans import Plans
    from trackside.reports.air_words import day_told
    from trackside.reports.plan_words import HEADS, cell_lines, corner_lines, force_rows

    preferences = context.tell_in(as_json)
    with context.reader() as logbook:
        plans = Plans(logbook)
        found = plans.named(name)
        run, shed = plans.run_of(found.record), Shed.of(logbook)
        line = logbook.session_line(found.record.session)
        runs = newest_that_ran(logbook, found.record.session)
    known = EstimateCache(shed, preferences.reference_speeds)
    planned = found.record.applied_to(run)
    facts = plan_facts(run, planned, shed, known, preferences.peak_speed)
    if as_json:
        corners = {
            c: {**_corner_body(f), "today": _day_body(runs, run, planned, c)}
            for c, f in facts.items()
        }
        emit({**_plan_body(found), "corners": corners})
        return
    say(f"Plan {found.record.name}, from {heading(line)}")
    say(
        *(f"  {words}" for words in cell_lines(found.record, run, preferences) or ["no change yet"])
    )
    day = day_told(runs, run, planned, preferences)
    for corner, one in facts.items():
        say("", f"{corner}  {_units(context)}")
        rows = [row for force in one.forces.values() for row in force_rows(force, preferences)]
        if rows:
            table([HEADS, *rows], right=range(1, len(HEADS)), indent=2)
        told = [*corner_lines(one, preferences), *day.get(corner, ())]
        say(*(f"  {words}" for words in told))


def _units(context: CommandContext) -> str:
    force, speed = (context.preferences.unit(quantity) for quantity in ("force", "speed"))
    return f"{force} at {speed}"


def _cells(
    texts: tuple[str, ...], run: Session, logbook: Logbook, context: CommandContext
) -> dict[str, Reading | str | None]:
    from trackside.analysis.shed import Shed
    from trackside.crew.plans import typed

    shed = Shed.of(logbook)
    found: dict[str, Reading | str | None] = {}
    for text in texts:
        path, equals, value = text.partition("=")
        if not equals:
            raise BadInput(f"“{text}” names no value", "write FL.rebound_bleed=6")
        head, _, name = path.strip().partition(".")
        at = f"{head if head == 'items' else head.upper()}.{name}"
        found[at] = typed(run, at, value, shed, context.preferences)
    return found


def _tell(found: KnownPlan, plans: Plans, as_json: bool, context: CommandContext) -> None:
    from trackside.reports.plan_words import cell_lines

    if as_json:
        emit(_plan_body(found))
        return
    run = plans.run_of(found.record)
    say(f"Plan {found.record.name} ({found.code})")
    say(*(f"  {words}" for words in cell_lines(found.record, run, context.preferences)))


def _plan_body(found: KnownPlan) -> dict[str, Any]:
    record = found.record
    return {
        "id": found.code,
        "entity": found.entity,
        "name": record.name,
        "session": record.session,
        "taken_as": record.taken_as,
        "cells": record.patch,
    }


def _corner_body(one: PlannedCorner) -> dict[str, Any]:
    """SI throughout; what is not known is null, beside it the reason."""
    gas, gap = one.gas, one.gap
    return {
        "forces": [_force_body(one.corner, way, force) for way, force in one.forces.items()],
        "left": [_left_body(left) for left in one.left],
        "cavitation": {"margin": None, "why": str(gas)}
        if isinstance(gas, NoEstimate)
        else {"margin": gas.margin, "least": gas.least, "peak_m_s": gas.peak},
        "bump_stop": None
        if gap is None
        else {"wheel_m": None, "why": str(gap)}
        if isinstance(gap, NoEstimate)
        else {"wheel_m": gap.wheel, "rod_m": gap.damper, "stop": gap.stop},
        "height": _height_body(one.height),
    }


def _day_body(runs: Sequence[Session], then: Session, now: Session, corner: str) -> dict[str, Any]:
    """What another day asks for; null where it is not known. Pa, °C, a share of the density."""
    from dataclasses import asdict

    from trackside.analysis.another_day import body_heat, charge_today, cold_for_target, denser

    cold, body = (find(runs, now, corner) for find in (cold_for_target, body_heat))
    charge = charge_today(then, now, corner)
    return {
        "cold_pressure_Pa": asdict(cold) if cold else None,
        "body_C": asdict(body) if body else None,
        "charge_Pa": charge[0] if charge else None,
        "air_denser_share": denser(then, now),
    }


def _height_body(height: Height) -> dict[str, Any]:
    return {
        "change_m": height.change,
        "by_spring_m": height.spring,
        "by_gas_m": height.gas,
        "lacks": list(height.lacks),
        "perch_not_counted": height.perch_moved,
    }


def _left_body(left: Left | NoEstimate) -> dict[str, Any]:
    if isinstance(left, NoEstimate):
        return {"why": str(left)}
    return {
        "adjuster": left.adjuster.acts_on,
        "position": left.position,
        "to_full_hard": left.to_hard,
        "to_full_soft": left.to_soft,
    }


def _force_body(corner: str, way: str, force: PlannedForce | NoEstimate) -> dict[str, Any]:
    if isinstance(force, NoEstimate):
        return no_estimate(force, corner=corner, direction=way)
    return {
        **estimate_body(force.estimate),
        "step": step_body(force.change) if force.change is not None else None,
        "step_why": force.why or None,
        "damping_ratio": force.wheel.ratio,
    }
