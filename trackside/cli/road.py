"""What a road does to a run's corners: body, tyre load, travel, pump-down, turn-in."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from trackside.cli.command_context import CommandContext, corner_named, scripted
from trackside.cli.output import draw, emit, heading, say
from trackside.cli.sessions import record_of, session_body
from trackside.errors import BadInput, BadNumber
from trackside.units import read

if TYPE_CHECKING:
    from trackside.analysis.road_drive import DriveFacts
    from trackside.analysis.road_map import RoadMap
    from trackside.analysis.road_response import RoadFigure, RoadStory
    from trackside.corner.road_profile import Profile
    from trackside.corner.road_run import Step


@click.command(short_help="What a road does to a run: body, tyre load, travel, pump-down.")
@click.argument("session", default="last")
@click.option("--against", metavar="SESSION", help="Another set-up of the car on the same road.")
@click.option("--class", "letter", metavar="A-H", help="ISO 8608; default: as on record.")
@click.option("--speed", metavar="KM/H", help="The car's, or with its unit; default: on record.")
@click.option("--profile", metavar="FILE.csv", help="A measured road: distance_m,height_mm.")
@click.option("--drive", "driven", is_flag=True, help="Drive 60 s of it: bent curve, stop, lift.")
@click.option("--map", "mapped", metavar="CORNER", help="That corner over all positions.")
@scripted
@click.pass_obj
def road(
    context: CommandContext,
    session: str,
    against: str | None,
    letter: str | None,
    speed: str | None,
    profile: str | None,
    driven: bool,
    mapped: str | None,
    as_json: bool,
) -> None:
    """What a road does to each corner of SESSION, with bands; with --against, what the other set-up
    changes there.

    Class and speed are asked once, with an event of the venue. Masses, spring, tyre rate and motion
    ratio come from the car's record; what is missing is named. A profile is always driven.
    """
    from trackside.analysis.road_drive import class_velocity, drive_both, profile_velocity
    from trackside.analysis.road_inputs import RoadTables
    from trackside.analysis.road_map import road_map
    from trackside.analysis.road_response import road_figures
    from trackside.analysis.shed import Shed
    from trackside.analysis.venue_road import venue_road, venue_speed
    from trackside.reports.road_map import map_lines, map_series
    from trackside.reports.road_words import car_speed, drive_lines, road_lines, road_words

    at = None if speed is None else _speed(speed)
    measured = None if profile is None else _profile(profile)
    if measured is not None and letter is not None:
        raise click.UsageError("give a class or a profile, not both")
    if mapped is not None and (driven or measured is not None):
        raise click.UsageError("a map is of a road's class: leave --drive and --profile out")
    corner = None if mapped is None else corner_named(mapped)
    preferences = context.tell_in(as_json)
    with context.reader() as logbook:
        names = [session] if against is None else [session, against]
        lines = [logbook.session_line(logbook.session(name)) for name in names]
        base, *others = (record_of(logbook, line.entity) for line in lines)
        tables = RoadTables(Shed.of(logbook))
        if measured is not None:
            at = at or venue_speed(base, logbook)
            velocity = profile_velocity(measured, at)
            on = f"{Path(str(profile)).name} at {car_speed(at, preferences)}"
        else:
            venue = venue_road(base, logbook, letter, at)
            velocity, on = class_velocity(venue), road_words(venue, preferences)
    changed = others[0] if others else None
    if changed is not None and changed.car != base.car:
        raise BadInput("the two runs are of two cars", "take two runs of one car")
    both = {
        "session": session_body(lines[0]),
        "against": session_body(lines[1]) if others else None,
        "road": on,
    }
    head = [heading(lines[0]), *(f"against {heading(line)}" for line in lines[1:]), on]
    if driven or measured is not None:
        found = drive_both(base, changed, velocity, tables, _going())
        assert found is not None  # ctrl+c is what stops it here
        if as_json:
            emit(both | _driven(found))
        else:
            say(*head, *drive_lines(found, preferences))
        return
    if corner is not None:
        maps = [road_map(one, corner, venue, tables) for one in (base, *others)]
        if as_json:
            emit(both | _map(maps))
        else:
            say(*head, "")
            draw(map_series(maps[0], preferences, *maps[1:]), context.ink(), x_label="g",
                 y_label=preferences.unit("force"), title=corner, zero=False)  # fmt: skip
            say("", *map_lines(maps[0], preferences, *maps[1:]))
        return
    story = road_figures(base, changed, venue, tables)
    if as_json:
        emit(both | _story(story))
    else:
        say(*head, *road_lines(story, preferences))


def _speed(text: str) -> float:
    """m/s of a speed in km/h, or in the unit behind it."""
    found = read(text, "speed", "km/h").si
    if found is None or not found > 0.0:
        raise BadNumber(f"--speed {text} is no speed", "give it in km/h, above zero")
    return found


def _profile(name: str) -> Profile:
    from trackside.corner.road_profile import read_profile

    path = Path(name)
    try:
        text = path.read_text("utf-8")
    except UnicodeDecodeError:
        raise BadInput(f"{path.name} is no text", "give a CSV file in UTF-8") from None
    except OSError as error:
        raise BadInput(
            f"{path.name} cannot be read ({error.strerror})", "check its name and folder"
        ) from None
    return read_profile(text, path.name)


def _going() -> Callable[[float], bool] | None:
    """Shows on a terminal how far the drive is."""
    if not sys.stderr.isatty():
        return None

    def going(share: float) -> bool:
        click.echo(f"\rdriving {100 * share:3.0f} %", err=True, nl=share >= 1.0)
        return True

    return going


def _banded(figure: RoadFigure | None) -> Any:
    if figure is None:
        return None
    return {"value": figure.value, "least": figure.low, "most": figure.high}


def _story(story: RoadStory) -> dict[str, Any]:
    from trackside.reports.road_words import METHOD

    units = {
        "body": "body_m_s2",
        "tyre": "tyre_N",
        "travel": "travel_m",
        "pump_down": "pump_down_m",
    }
    corners = []
    for one in story.corners:
        body: dict[str, Any] = {
            "corner": one.corner,
            "basis": one.now.basis if one.now else "no estimate",
            "reason": str(one.why) if one.why else None,
        }
        for name, facts in (("now", one.now), ("then", one.then)):
            if facts is not None:
                figures = {key: _banded(getattr(facts.figures, n)) for n, key in units.items()}
                body[name] = figures | {
                    "static_N": facts.static,
                    "tyre_share_of_static": facts.figures.tyre.value / facts.static,
                    "stop_at_m": facts.stop,
                    "stop_unread": facts.inputs.stop_unread or None,
                    "meets_stop": facts.stops,
                    "tyre_lifts": facts.lifts,
                }
        if one.change is not None:
            changed = {key: getattr(one.change, n) for n, key in units.items()}
            body["change"] = {
                key: _banded(figure) | {"clear": figure.is_clear} for key, figure in changed.items()
            }
        corners.append(body)
    turn = story.turn
    return {
        "roughness_m3": story.road.roughness,
        "speed_m_s": story.road.speed,
        "corners": corners,
        "turn_in": {
            "now": _banded(turn.now),
            "then": _banded(turn.then),
            "change": _banded(turn.change),
            "bars_without_rate": list(turn.bars),
            "reason": str(turn.why) if turn.why else None,
        },
        "assumed": list(METHOD),
    }


def _map(maps: list[RoadMap]) -> dict[str, Any]:
    names = ("bump", "rebound", "body_m_s2", "tyre_N")

    def pair(values: tuple[float, float, float, float]) -> dict[str, float]:
        return dict(zip(names, values, strict=True))

    found = maps[0]
    return {
        "corner": found.corner,
        "bump": found.bump,
        "rebound": None if found.shared else found.rebound,
        "body_m_s2": found.body,
        "tyre_N": found.tyre,
        "as_set": [pair(one.here) for one in maps],
        "band_body_m_s2": found.doubt[0],
        "band_tyre_N": found.doubt[1],
        "as_good_for_tyre": found.as_good(found.tyre),
        "as_good_for_body": found.as_good(found.body),
        "least_tyre": pair(found.least(found.tyre)),
        "least_body": pair(found.least(found.body)),
    }


def _driven(found: DriveFacts) -> dict[str, Any]:
    from trackside.reports.road_words import DRIVEN

    def step(one: Step | None) -> Any:
        return one and {"change": one.change, "spread": one.spread, "told": one.told}

    corners = []
    for pair in found.corners:
        body: dict[str, Any] = {
            "corner": pair.corner,
            "reason": str(pair.why) if pair.why else None,
            "body_step_m_s2": step(pair.body),
            "tyre_step_N": step(pair.tyre),
        }
        for name, one in (("now", pair.now), ("then", pair.then)):
            if one is not None:
                body[name] = {
                    "body_m_s2": one.body,
                    "tyre_N": one.tyre,
                    "travel_m": one.travel,
                    "pump_down_m": one.pump_down,
                    "least_tyre_N": one.least,
                    "share_off_ground": one.aloft,
                    "share_on_stop": one.stopped,
                    "stop_unread": one.inputs.stop_unread or None,
                }
        corners.append(body)
    return {
        "seconds": found.seconds,
        "cannot_tell": found.cannot_tell,
        "corners": corners,
        "assumed": list(DRIVEN),
    }
