"""The garage book on the command line: each part listed, and the next entry written down."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from csv import writer as writer_of
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO, TypeVar

import click

from trackside.cli.command_context import CommandContext, placed, scripted
from trackside.cli.output import emit, say, table
from trackside.errors import NotEntered

if TYPE_CHECKING:
    from trackside.analysis.hours import HoursRun
    from trackside.analysis.tyre_sets import SetUse
    from trackside.analysis.weather import WeatherRead
    from trackside.analysis.weighing import Weighed
    from trackside.crew.forms import Entry
    from trackside.logbook import Logbook
    from trackside.preferences import Preferences
    from trackside.records import Session
    from trackside.reports.garage_book import BookPart

F = TypeVar("F", bound=Callable[..., Any])


def _listed(command: F) -> F:
    """Give a command that lists a part of the book `--csv`, and what every command has."""
    option = click.option(
        "--csv", metavar="FILE", help="Write the list to a new CSV file, in SI, for a spreadsheet."
    )
    return scripted(option(command))


@click.command(short_help="Corner weights; write the next ones down.")
@click.argument("values", nargs=-1, metavar="[PLACE=VALUE...]")
@click.option("--car", metavar="NAME", help="Of this car; else of the newest session's.")
@_listed
@click.pass_obj
def weights(
    context: CommandContext, values: tuple[str, ...], car: str, csv: str | None, as_json: bool
) -> None:
    """The weighings of a car, newest first, with shares and cross weight (FR + RL).

    With values, writes one down: FL=293 FR=288 RL=305 RR=300 driver=in fuel=20L. PLACE is FL, FR,
    RL, RR, at, driver, fuel, where or words; at is now unless it is given.
    """
    from trackside.reports.garage_book import WEIGHTS

    _part(context, WEIGHTS, values, car, csv, as_json)


@click.command(short_help="Tyre sets with their laps; enter the next one.")
@click.argument("values", nargs=-1, metavar="[PLACE=VALUE...]")
@click.option("--car", metavar="NAME", help="Of this car; else of the newest session's.")
@_listed
@click.pass_obj
def tyres(
    context: CommandContext, values: tuple[str, ...], car: str, csv: str | None, as_json: bool
) -> None:
    """The tyre sets of a car, with laps and heat cycles summed from the runs that name them.

    With values, enters one: name=S1 compound=soft state=new. PLACE is name, compound, size, state,
    laps, cycles, date or words; laps and cycles are those that it had when it came.
    """
    from trackside.reports.garage_book import TYRES

    _part(context, TYRES, values, car, csv, as_json)


@click.command(short_help="The weather along the day; write the next reading down.")
@click.argument("values", nargs=-1, metavar="[PLACE=VALUE...]")
@click.option("--event", metavar="NAME", help="At this event; else at the newest session's.")
@_listed
@click.pass_obj
def weather(
    context: CommandContext, values: tuple[str, ...], event: str, csv: str | None, as_json: bool
) -> None:
    """The readings of the weather at an event, newest first.

    With values, writes one down: air=17 track=25 surface=dry "wind=light from turn 3". PLACE is at,
    wind, words, surface, air, track, humidity or baro; at is now unless it is given. A run shows
    the reading nearest to its start, within 60 minutes.
    """
    from trackside.reports.garage_book import WEATHER

    _part(context, WEATHER, values, event, csv, as_json)


@click.command(short_help="Engine and gearbox hours; enter the next unit.")
@click.argument("values", nargs=-1, metavar="[PLACE=VALUE...]")
@click.option("--car", metavar="NAME", help="Of this car; else of the newest session's.")
@_listed
@click.pass_obj
def hours(
    context: CommandContext, values: tuple[str, ...], car: str, csv: str | None, as_json: bool
) -> None:
    """Running hours of a car's engine, gearbox and the like, summed from its runs.

    With values, enters a unit: part=engine serial=E12 start=10h limit=30h since=2026-05-08. PLACE
    is part, serial, since, start, limit or words. Runs count from since on, until another unit of
    the same part goes in: by the run time typed, else by their lap times.
    """
    from trackside.reports.garage_book import HOURS

    _part(context, HOURS, values, car, csv, as_json)


def _part(
    context: CommandContext,
    part: BookPart,
    values: Sequence[str],
    of: str | None,
    csv: str | None,
    as_json: bool,
) -> None:
    if values:
        context.must_exist()
        with context.writer() as logbook:
            _write(logbook, part, _of(logbook, part, of), values, context.preferences)
    with context.reader() as logbook:
        entity = _of(logbook, part, of)
        if csv is not None:
            _give_out(logbook, part, entity, Path(csv), as_json)
        else:
            _tell(logbook, part, entity, context.tell_in(as_json), as_json)


def _give_out(logbook: Logbook, part: BookPart, of: str, target: Path, as_json: bool) -> None:
    """Each entry in a row of a CSV file: what its JSON says, each name with its unit."""
    from trackside.cli.output import must_be_free, write_whole
    from trackside.crew.belonging import named
    from trackside.logbook.spreadsheet import safe_cell

    rows = [_flat(_BODIES[part.kind](one)) for one in part.read(logbook, of)]
    heads = list(dict.fromkeys(name for row in rows for name in row))

    def fill(stream: TextIO) -> None:
        writer = writer_of(stream)
        writer.writerow((part.of, *heads))
        for row in rows:
            cells = (named(logbook, part.of, of), *(row.get(name) for name in heads))
            writer.writerow([safe_cell(cell) for cell in cells])

    must_be_free(target, remedy="name another file")
    write_whole(target, fill)
    if as_json:
        emit({"file": str(target), "rows": len(rows)})
    else:
        say(f"{len(rows)} row{'' if len(rows) == 1 else 's'} written to {target}")


def _flat(body: dict[str, Any]) -> dict[str, Any]:
    """What is within another value has both names: `kg FL`, `fuel typed`."""
    flat: dict[str, Any] = {}
    for name, value in body.items():
        inner = value.items() if isinstance(value, dict) else [("", value)]
        flat |= {f"{name} {key}".strip(): one for key, one in inner}
    return flat


def _of(logbook: Logbook, part: BookPart, name: str | None) -> str:
    """The car, or event, of that name; else that of the newest session, else the newest."""
    from trackside.crew.belonging import answering

    if name:
        return answering(logbook, part.of, name)
    newest = logbook.session_lines(limit=1)
    found = str(getattr(newest[0], part.of)) if newest else ""
    found = found or logbook.newest(part.of)
    if not found:
        raise NotEntered(part.of)
    return found


def _tell(
    logbook: Logbook, part: BookPart, of: str, preferences: Preferences, as_json: bool
) -> None:
    from trackside.crew.belonging import named

    found = part.read(logbook, of)
    if as_json:
        bodies = [_BODIES[part.kind](one) for one in found]
        emit({part.of: named(logbook, part.of, of), part.kind: bodies})
        return
    say(named(logbook, part.of, of))
    if not found:
        say(part.empty)
        return
    table([part.heads, *(part.row(one, preferences) for one in found)])
    say("", *part.lines(found, found[0], preferences))


def _write(
    logbook: Logbook, part: BookPart, of: str, values: Sequence[str], preferences: Preferences
) -> None:
    """Write an entry of these values down, all of it or nothing."""
    from trackside.crew.garage_book import filled, new_entry

    texts = placed(values, _entries(part))
    now = None if logbook.ahead_of_clock() else datetime.now()
    new = new_entry(part.kind, part.of, of, now)
    logbook.write(filled(logbook, new, texts, preferences))


def _entries(part: BookPart) -> dict[str, Entry]:
    """What can be given, by the name that is typed: `fl`, `fuel`."""
    from trackside.crew.forms import entries

    return {_SHORT.get(e.path, e.path).casefold(): e for e in entries(part.kind).values()}


_SHORT = {
    **{f"{corner}.mass": corner for corner in ("FL", "FR", "RL", "RR")},
    "air_temperature": "air",
    "track_temperature": "track",
    "air_pressure": "baro",
}
"""Places that are typed shorter than the record has them."""


def weighing_body(found: Weighed) -> dict[str, Any]:
    """A weighing as JSON speaks of it: kg, shares of the whole."""
    from trackside.records.fields import CORNERS

    weighing, balance = found.weighing, found.balance
    return {
        "id": found.entity[-6:],
        "entity": found.entity,
        "at": weighing.at or None,
        "driver": weighing.driver,
        "fuel": weighing.fuel.body() if weighing.fuel else None,
        "where": weighing.where,
        "words": weighing.words or None,
        "kg": {corner: weighing.mass(corner) for corner in CORNERS},
        "total_kg": balance.total if balance else None,
        "front_share": balance.front if balance else None,
        "left_share": balance.left if balance else None,
        "rear_share": 1 - balance.front if balance else None,
        "cross_share_FR_RL": balance.cross if balance else None,
    }


def set_body(use: SetUse) -> dict[str, Any]:
    """A tyre set as JSON speaks of it, as it is now; unknown is null."""
    record = use.record.body() if use.record else {}
    known = {name: record.get(name) for name in ("compound", "size", "state", "date", "words")}
    return {
        "id": use.entity[-6:] or None,
        "entity": use.entity or None,
        "name": use.name,
        **known,
        "came_with_laps": use.came_with,
        "laps_in_runs": use.driven,
        "laps_in_front": use.front,
        "laps_at_the_rear": use.rear,
        "laps": use.laps,
        "heat_cycles": use.cycles,
        "runs": use.runs,
        "runs_without_laps": use.without_laps,
    }


def weather_body(found: WeatherRead) -> dict[str, Any]:
    """A reading of the weather as JSON speaks of it: each value as typed, with its SI number."""
    body = found.weather.body()
    names = ("at", "surface", "air_temperature", "track_temperature", "humidity", "air_pressure")
    known = {name: body.get(name) or None for name in (*names, "wind", "words")}
    return {"id": found.entity[-6:], "entity": found.entity, **known}


def hours_body(run: HoursRun) -> dict[str, Any]:
    """A unit's running hours as JSON speaks of them, in s; unknown is null."""
    record = run.record
    return {
        "id": run.entity[-6:],
        "entity": run.entity,
        "part": record.part,
        "serial": record.serial,
        "since": record.since or None,
        "until": run.until or None,
        "start_s": record.start,
        "in_runs_s": run.driven,
        "has_s": run.seconds,
        "limit_s": record.limit,
        "left_s": run.left,
        "runs": run.runs,
        "runs_not_wholly_timed": run.short,
        "words": record.words or None,
    }


_BODIES: dict[str, Callable[[Any], dict[str, Any]]] = {
    "weighing": weighing_body,
    "tyre_set": set_body,
    "weather": weather_body,
    "counter": hours_body,
}


def beside_body(logbook: Logbook, entity: str, session: Session) -> dict[str, Any]:
    """What the book has for that run, as JSON speaks of it; null where it has nothing."""
    from trackside.analysis.hours import in_the_car
    from trackside.analysis.tyre_sets import set_before
    from trackside.analysis.weather import nearest_to_run
    from trackside.analysis.weighing import newest_by, weighings

    line = logbook.session_line(entity)
    weighed = newest_by(weighings(logbook, session.car), line.begun) if session.car else None
    used = set_before(logbook, entity, session)
    at_rear = set_before(logbook, entity, session, rear=True)
    near = nearest_to_run(logbook, entity, session)
    units = in_the_car(logbook, session.car, line) if session.car else []
    return {
        "tyre_set_before": set_body(used) if used else None,
        "rear_set_before": set_body(at_rear) if at_rear else None,
        "corner_weights": weighing_body(weighed) if weighed else None,
        "hours_before": [hours_body(one) for one in units],
        "nearest_weather": weather_body(near) if near else None,
    }
