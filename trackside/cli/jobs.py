"""The job list of each car: list, add, tick, edit, take away."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from trackside.cli.command_context import CommandContext, scripted
from trackside.cli.output import emit, say, table
from trackside.errors import BadInput

if TYPE_CHECKING:
    from trackside.crew.jobs import JobOnList, Jobs
    from trackside.logbook import Logbook, Write


@click.group(invoke_without_command=True, short_help="What is to be done on each car, by whom.")
@click.option("--car", default="", metavar="NAME", help="Only this car's.")
@click.option("--done", "with_done", is_flag=True, help="Those that are done, too.")
@scripted
@click.pass_context
def jobs(click_context: click.Context, car: str, with_done: bool, as_json: bool) -> None:
    """What is to be done on each car, and by whom. A job stays on the list of each run that follows
    until it is done. JOB is an id as this command lists it."""
    if click_context.invoked_subcommand is not None:
        return
    from trackside.crew.jobs import Jobs, car_named

    context: CommandContext = click_context.obj
    with context.reader() as logbook:
        jobs = Jobs(logbook)
        of = car_named(logbook, car) if car else ""
        found = [job for job in jobs.shown(of) if with_done or job.is_open]
        _tell(jobs, [job for job in found if not of or job.record.car == of], as_json)


@jobs.command("add", short_help="Write a job down.")
@click.argument("words")
@click.option("--car", default="", metavar="NAME", help="Which car; the session's where not given.")
@click.option("--session", default="", metavar="SESSION", help="The run that it is for.")
@click.option("--who", default="", metavar="NAME", help="Who is to do it.")
@scripted
@click.pass_obj
def add(
    context: CommandContext, words: str, car: str, session: str, who: str, as_json: bool
) -> None:
    """Write down that WORDS is to be done, for the newest run of the car unless SESSION says
    another."""
    from trackside.crew.jobs import Jobs

    context.must_exist()
    with context.writer() as logbook:
        of, run = _car_and_run(logbook, car, session)
        jobs = Jobs(logbook)
        write = jobs.added(words, who, of, run)
        logbook.write(write)
        _tell(jobs, [jobs.named(write.entity)], as_json)


def _car_and_run(logbook: Logbook, car: str, session: str) -> tuple[str, str]:
    """The car and the run that a job is written down for."""
    from trackside.crew.jobs import car_named, cars

    if session:
        line = logbook.session_line(logbook.session(session))
        of = car_named(logbook, car) if car else line.car
        if of != line.car:
            raise BadInput(f"{line.title} is a run of {line.car_name}", "leave --car or --session")
        return of, line.entity
    known = cars(logbook)
    newest = logbook.session_lines(limit=1)
    of = car_named(logbook, car) if car else newest[0].car if newest else ""
    if not of and len(known) == 1:
        of = known[0][0]
    lines = logbook.session_lines(car=of, limit=1) if of else []
    return of, lines[0].entity if lines else ""


@jobs.command(short_help="Tick a job, or several.")
@click.argument("which", nargs=-1, required=True, metavar="JOB...")
@scripted
@click.pass_obj
def done(context: CommandContext, which: tuple[str, ...], as_json: bool) -> None:
    """Tick these jobs: they are done."""
    _turn(context, which, True, as_json)


@jobs.command("reopen", short_help="Take a tick back.")
@click.argument("which", nargs=-1, required=True, metavar="JOB...")
@scripted
@click.pass_obj
def reopen(context: CommandContext, which: tuple[str, ...], as_json: bool) -> None:
    """These jobs are not done after all."""
    _turn(context, which, False, as_json)


@jobs.command(short_help="Other words, or another hand.")
@click.argument("which", metavar="JOB")
@click.option("--words", metavar="TEXT", help="What is to be done.")
@click.option("--who", metavar="NAME", help="Who is to do it; empty for nobody.")
@scripted
@click.pass_obj
def edit(
    context: CommandContext, which: str, words: str | None, who: str | None, as_json: bool
) -> None:
    """Change what JOB says, or who is to do it."""
    if words is None and who is None:
        raise BadInput("nothing is changed", "give --words or --who")

    def change(jobs: Jobs, job: JobOnList) -> Write | None:
        return jobs.edited(
            job,
            job.record.words if words is None else words,
            job.record.who or "" if who is None else who,
        )

    _change(context, (which,), change, as_json)


@jobs.command(short_help="Take a job off the list.")
@click.argument("which", nargs=-1, required=True, metavar="JOB...")
@scripted
@click.pass_obj
def remove(context: CommandContext, which: tuple[str, ...], as_json: bool) -> None:
    """Take these jobs off the list; their history stays."""
    _change(context, which, lambda jobs, job: jobs.taken_away(job), as_json)


def _turn(context: CommandContext, which: tuple[str, ...], done: bool, as_json: bool) -> None:
    _change(context, which, lambda jobs, job: jobs.turned(job, done), as_json)


def _change(context: CommandContext, which: tuple[str, ...], change: Any, as_json: bool) -> None:
    """All of them in one step, or none; then what they say."""
    from trackside.crew.jobs import Jobs

    context.must_exist()
    with context.writer() as logbook:
        jobs = Jobs(logbook)
        wanted = [jobs.named(name) for name in dict.fromkeys(which)]
        writes = [write for job in wanted if (write := change(jobs, job))]
        if writes:
            logbook.write(*writes)
        there = {job.entity: job for job in jobs.all()}
        _tell(jobs, [there.get(job.entity, job) for job in wanted], as_json, there)


def _tell(jobs: Jobs, found: list[JobOnList], as_json: bool, there: Any = None) -> None:
    from trackside.reports.job_words import job_words, ticked_words, written_for

    if as_json:
        emit({"jobs": [job_body(jobs, job) | {"on_list": not _gone(job, there)} for job in found]})
        return
    if not found:
        say("No job is open.")
    table(
        (
            job.code,
            job.car_name,
            job_words(job),
            written_for(job),
            "taken off the list" if _gone(job, there) else ticked_words(jobs.ticked(job)),
        )
        for job in found
    )


def _gone(job: JobOnList, there: Any) -> bool:
    return there is not None and job.entity not in there


def job_body(jobs: Jobs, job: JobOnList) -> dict[str, Any]:
    """A job as JSON speaks of it."""
    run = None if job.line is None else job.line.short
    ticked = jobs.ticked(job)
    return {
        "id": job.code,
        "entity": job.entity,
        "car": job.car_name,
        "session": run,
        "words": job.record.words,
        "who": job.record.who,
        "done": not job.is_open,
        "ticked": None if ticked is None else ticked._asdict(),
    }
