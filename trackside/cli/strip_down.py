"""The strip-down of a damper as a job: planned, ticked, written down, printed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from functools import partial
from typing import TYPE_CHECKING, Any

import click

from trackside.cli.command_context import CommandContext, placed
from trackside.cli.output import emit, no_estimate, say, table
from trackside.cli.paper import give, printed
from trackside.errors import BadInput, NoEstimate, TracksideError, UnknownRecord

if TYPE_CHECKING:
    from trackside.crew.forecasts import Outlook
    from trackside.crew.strip_downs import StripDownJob, StripDowns
    from trackside.logbook import Logbook, Write
    from trackside.preferences import Preferences


@click.command(short_help="A damper's strip-down as a job: plan, tick, print its card.")
@click.argument("serial", required=False, metavar="[SERIAL]")
@click.argument("values", nargs=-1, metavar="[PLACE=VALUE...]")
@click.option("--plan", metavar="TEXT", help="Plan one: what is to be done, and why.")
@click.option("--reseal", is_flag=True, help="With --plan: new seals, the valving as it was.")
@click.option("--tick", multiple=True, metavar="STEP", help="That step is done; repeatable.")
@click.option("--untick", multiple=True, metavar="STEP", help="It is not done after all.")
@click.option("--add", "added", multiple=True, metavar="TEXT", help="One more step at the end.")
@click.option("--take-parts", is_flag=True, help="Parts entered on the old build since, too.")
@click.option("--forecast", "keep", is_flag=True, help="Keep the forecast of the planned build.")
@click.option("--close", is_flag=True, help="Put it away though steps are open.")
@printed
@click.pass_obj
def job(
    context: CommandContext,
    serial: str | None,
    values: tuple[str, ...],
    plan: str | None,
    reseal: bool,
    tick: tuple[str, ...],
    untick: tuple[str, ...],
    added: tuple[str, ...],
    take_parts: bool,
    keep: bool,
    close: bool,
    target: str | None,
    paper: str | None,
    replace: bool,
    as_json: bool,
) -> None:
    """The strip-down of the damper SERIAL: its card, step by step in the order of the work, to read
    or, with --html, to print. Without SERIAL, every job on which there is work left.

    Values go in as PLACE=VALUE: gas_found="13.6 bar" gas_found_at=24 torque=12 charge="14 bar"
    charge_at=22. STEP is the number of a step on the card, or the start of its words.
    """
    from trackside.crew.forecasts import outlook
    from trackside.crew.strip_downs import CLOSED_UP, StripDowns, planned_job
    from trackside.reports.strip_down_words import job_card

    speeds = context.preferences.reference_speeds

    changes = bool(plan or values or tick or untick or added or take_parts or keep or close)
    if serial is None:
        if changes or target:
            raise BadInput("no damper is named", "say its serial first")
        with context.reader() as logbook:
            _list(StripDowns(logbook), as_json)
        return
    if reseal and not plan:
        raise BadInput("--reseal goes with --plan", "say what is to be done, and why")
    if changes:
        context.must_exist()
        with context.writer() as logbook:
            jobs = StripDowns(logbook)
            first = [jobs.planned(serial, plan, reseal=reseal)] if plan else []
            found = planned_job(first[0]) if first else _of(jobs, serial)
            figures = _figures(found, values, context.preferences)
            turns = [(_step(found, name), False) for name in untick]
            turns += [(_step(found, name), True) for name in tick]
            if any(not words.strip() for words in added):
                raise BadInput("a step needs words", "say what is to be done")
            logbook.write(*first, *figures)  # all is read by now: the rest cannot be refused for it
            for words in added:
                logbook.write(jobs.added(jobs.again(found), words))
            for step, done in turns:
                if writes := jobs.turned(found, step, done):
                    logbook.write(*writes)
            if keep or (CLOSED_UP, True) in turns:
                _keep_forecast(logbook, found, speeds, wanted=keep)
            if take_parts and (taken := jobs.taken_over(found)):
                logbook.write(taken)
            if close:
                logbook.write(jobs.closed(found, though_open=True))
    with context.reader() as logbook:
        jobs = StripDowns(logbook)
        found = _of(jobs, serial)
        seen = outlook(logbook, found, speeds)
        if as_json and target is None:
            emit(job_body(jobs, found) | {"forecast": outlook_body(seen)})
            return
        card = partial(job_card, jobs, found, seen=seen)
        give(card, context, target, paper, replace, as_json)


def _keep_forecast(
    logbook: Logbook, job: StripDownJob, speeds: Sequence[float], *, wanted: bool
) -> None:
    """Keep it; why that cannot be is an error only where it was asked for by name."""
    from trackside.crew.forecasts import kept_forecast

    try:
        write = kept_forecast(logbook, job, speeds)
    except TracksideError:
        if wanted:
            raise
    else:
        if write:
            logbook.write(write)


def outlook_body(seen: Outlook) -> dict[str, Any] | None:
    """What is known of a planned build's curve as JSON speaks of it, SI; None where no build comes
    of the job."""
    if seen.build is None:
        return None
    against, shop = seen.against, seen.shop
    return {
        "build": seen.build.version,
        "directions": {
            name: no_estimate(one)
            if isinstance(one, NoEstimate)
            else {
                "basis": str(one.basis),
                "from": one.origin.kind,
                "points": [
                    point.model_dump(mode="json") | {"parts_alone": alone and asdict(alone)}
                    for point, alone in zip(one.points, one.alone, strict=True)
                ],
            }
            for name, one in seen.fresh.items()
        },
        "kept": None if seen.kept is None else seen.kept.model_dump(mode="json"),
        "against_the_bench": None
        if against is None
        else {
            "points": [
                one.point.model_dump(mode="json")
                | {
                    "measured": one.measured,
                    "basis": str(one.basis),
                    "inside": one.inside,
                    "miss": one.miss,
                }
                for one in against.checked
            ],
            "not_run": against.not_run,
        },
        "so_far": None if shop is None else asdict(shop),
    }


def _of(jobs: StripDowns, serial: str) -> StripDownJob:
    """The damper's job in hand, else its last one."""
    found = jobs.in_hand(serial) or next(iter(jobs.of(serial)), None)
    if found is None:
        raise UnknownRecord(f"“{serial}” has no strip-down job", "plan one with --plan")
    return found


def _step(job: StripDownJob, name: str) -> str:
    """The step that is meant, by its number on the card or the start of its words."""
    order = job.record.in_order
    if name.isdigit() and 1 <= int(name) <= len(order):
        return order[int(name) - 1]
    wanted = name.strip().casefold()
    found = [s for s in order if wanted and job.record.steps[s].casefold().startswith(wanted)]
    if len(found) != 1:
        listed = "; ".join(f"{n} {job.record.steps[s]}" for n, s in enumerate(order, 1))
        raise BadInput(f"“{name}” is no one step", f"the steps are {listed}")
    return found[0]


def _figures(job: StripDownJob, values: tuple[str, ...], preferences: Preferences) -> list[Write]:
    """What keeps those figures of the job; nothing for none."""
    from trackside.crew.cell_text import change
    from trackside.crew.forms import entries
    from trackside.logbook import patch
    from trackside.logbook.fold import patched

    body, figures = dict(job.stored), dict[str, Any]()
    asked = {entry.path: entry for entry in entries("strip_down").values()}
    for entry, text in placed(values, asked).items():
        new = change("strip_down", body, {entry: text}, preferences)
        figures |= new
        body = patched(body, new)
    return [patch("strip_down", job.entity, figures)] if figures else []


def _list(jobs: StripDowns, as_json: bool) -> None:
    from trackside.reports.strip_down_words import job_line

    found = [one for one in jobs.all() if one.is_open]
    if as_json:
        emit({"strip_downs": [job_body(jobs, one) for one in found]})
    elif found:
        table((one.code, job_line(one)) for one in found)
    else:
        say("No strip-down is planned or under way.")


def job_body(jobs: StripDowns, job: StripDownJob) -> dict[str, Any]:
    """A strip-down job as JSON speaks of it: SI, each step with who ticked it."""
    from trackside.crew.strip_downs import charge_at_20

    record = job.record
    steps = []
    for name in record.in_order:
        ticked = jobs.ticked(job, name)
        steps.append({
            "step": record.steps[name],
            "done": name in record.done,
            "ticked": None if ticked is None else ticked._asdict(),
        })  # fmt: skip
    left_out = {"damper", "steps", "places", "done", "closed", "reseal", "forecasts"}
    return {
        "id": job.code,
        "entity": job.entity,
        "damper": record.damper,
        "stage": job.stage,
        "closed": record.closed is not None,
        "reseal": record.reseal is not None,
        "steps": steps,
        **record.model_dump(mode="json", exclude=left_out),
        "charge_at_20_C": charge_at_20(record),
        "entered_on_the_build_before": sorted(jobs.entered_since(job)),
    }
