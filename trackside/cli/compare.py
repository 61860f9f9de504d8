"""One session against another: what changed, and how a corner went on over a season."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from trackside.cli.command_context import CommandContext, corner_named, number, scripted
from trackside.cli.forces import DIRECTION
from trackside.cli.output import draw, emit, estimate_body, heading, say, signed, step_body, table
from trackside.cli.sessions import record_of, session_body
from trackside.errors import BadNumber, NoEstimate
from trackside.units import QUANTITIES, from_si, show

if TYPE_CHECKING:
    from trackside.analysis.changes import ForceChange
    from trackside.analysis.trend import TrendPoint
    from trackside.analysis.value_change import Value, ValueChange
    from trackside.preferences import Preferences


@click.command(short_help="What changed between two runs, in N and %.")
@click.argument("before", required=False, metavar="[FROM")
@click.argument("after", required=False, metavar="TO]")
@scripted
@click.pass_obj
def changes(context: CommandContext, before: str | None, after: str | None, as_json: bool) -> None:
    """What changed between two sessions and what it is worth, at the damper and at the wheel.

    Without sessions: the last outing against the one before it by the same driver.
    """
    from trackside.analysis.changes import changes as compare
    from trackside.analysis.recall import last_two
    from trackside.analysis.shed import Shed
    from trackside.reports.change_words import (
        force_sentence,
        not_known,
        paired,
        sentence,
        sentences,
    )

    if before and not after:
        raise click.UsageError("name two runs, FROM and TO, or none")
    with context.reader() as logbook:
        pair = (
            (logbook.session(before), logbook.session(after))
            if before and after
            else last_two(logbook)
        )
        lines = [logbook.session_line(entity) for entity in pair]
        was, now = (record_of(logbook, entity) for entity in pair)
        shed = Shed.of(logbook)
    preferences = context.tell_in(as_json)
    found = compare(was, now, shed, preferences.reference_speeds)
    if as_json:
        emit({
            "from": session_body(lines[0]),
            "to": session_body(lines[1]),
            "setup": [_value_change_body(v, preferences) for v in found.values],
            "conditions": [_value_change_body(v, preferences) for v in found.conditions],
            "readings": [_value_change_body(v, preferences) for v in found.readings],
            "forces": [_force_change_body(f, shed) for f in found.forces],
            "no_estimate": [
                {
                    "basis": "no estimate",
                    "corner": one.corner,
                    "direction": one.direction,
                    "why": not_known(one),
                    "reason": one.why,
                }
                for one in found.unknown
            ],
            "swapped": list(found.swapped),
            "sentences": sentences(found, preferences),
        })  # fmt: skip
        return
    say(f"from  {heading(lines[0])}", f"to    {heading(lines[1])}", "")
    say(*(sentences(found, preferences) or ["Nothing was set differently."]))
    for change in found.forces:
        say("", force_sentence(change, context.preferences))
        _say_change(change, context.preferences)
    say(*(not_known(one) for one in found.unknown))
    if found.conditions or found.readings:
        conditions = (sentence(value, preferences) for value in found.conditions)
        say("", *conditions, *paired(found.readings, preferences))


def _value_change_body(value: ValueChange, preferences: Preferences) -> dict[str, Any]:
    """The change in words, and as numbers: `was` and `now` with their units; of a knob, how many
    clicks harder (− softer) and from which end it counts; of a gauge, whether it was set."""
    from trackside.analysis.value_change import ClickChange, PressureChange, UnitChange
    from trackside.reports.change_words import sentence, value_words

    words = vars(value_words(value, preferences))
    body = {
        "path": value.path,
        **words,
        "sense": value.sense,
        "within": value.within,
        "corner": value.corner or None,
        "sentence": sentence(value, preferences),
        "was": _value_body(value.before, value, preferences),
        "now": _value_body(value.after, value, preferences),
    }
    if isinstance(value, ClickChange):
        ends = [end if end in ("hard", "soft") else None for end in value.ends]
        body |= {"clicks_harder": value.harder, "counted_from": ends, "beyond": value.beyond}
    elif isinstance(value, UnitChange):
        body |= {"builds": value.builds}
    elif isinstance(value, PressureChange):
        compared = value.name == "gas_pressure" and value.verdict != "unknown"
        pressures = [pressure / 1e5 for pressure in value.pressures]
        body |= {
            "verdict": value.verdict,
            "why": value.why or None,
            "at_20_C_bar": pressures if compared else None,
        }
    return body


def _value_body(found: Value, change: ValueChange, preferences: Preferences) -> Any:
    """A number with its unit, in JSON's units or those that it was read in where they are of
    another kind (a toe in mm or °); words alone where it is none; null where nothing is known."""
    from trackside.records import Reading

    quantity = change.field.quantity if change.field else None
    if not isinstance(found, Reading) or quantity is None:
        return found if found is None else {"number": None, "unit": None, "typed": str(found)}
    kind = QUANTITIES[quantity]
    unit = kind.unit(preferences.unit(quantity))
    if unit.base != found.base(quantity):
        unit = next((own for own in kind.units if own.symbol == found.unit), kind.units[0])
    number = None if found.si is None else from_si(found.si, quantity, unit.symbol)
    return {"number": number, "unit": unit.symbol, "typed": found.typed}


def _force_change_body(change: ForceChange, shed: Any) -> dict[str, Any]:
    from trackside.analysis.estimate import estimate_at

    speeds = list(change.step.speed)
    return {
        "corner": change.corner,
        "direction": change.direction,
        **step_body(change.step),
        "wheel_change_N": change.wheel,
        "before": estimate_body(estimate_at(change.before, shed, speeds)),
        "after": estimate_body(estimate_at(change.after, shed, speeds)),
    }


def _say_change(change: ForceChange, preferences: Preferences) -> None:
    from trackside.reports.formatting import with_band

    unit, speed, step = preferences.unit("force"), preferences.unit("speed"), change.step
    rows = [(f"rod {speed}", f"was {unit}", f"change {unit}", "%", f"at the wheel {unit}")]
    for n, v in enumerate(step.speed):
        rows.append((
            show(v, "speed", speed),
            show(step.force[n], "force", unit),
            with_band(step.change[n], step.low[n], step.high[n], unit, signs=True),
            f"{step.percent[n]:+.1f}".replace("-", "−"),
            "–" if change.wheel is None else signed(change.wheel[n], unit),
        ))  # fmt: skip
    table(rows, right=range(5), indent=2)


@click.command(short_help="One corner over the runs of a car.")
@click.argument("corner")
@click.option("--direction", type=DIRECTION, help="Only this direction.")
@click.option("--speed", metavar="MM/S", help="The rod speed; default: the low/high split.")
@click.option("--car", metavar="NAME", help="Which car; default: that of the newest session.")
@scripted
@click.pass_obj
def trend(
    context: CommandContext,
    corner: str,
    direction: str | None,
    speed: str | None,
    car: str | None,
    as_json: bool,
) -> None:
    """One corner over the runs of a car: its force at one rod speed, and what was turned."""
    from trackside.analysis.recall import car_named, ordered_sessions
    from trackside.analysis.shed import Shed
    from trackside.analysis.trend import trend as points_of

    corner = corner_named(corner)
    at = context.preferences.speed_split if speed is None else number(speed, "--speed") / 1000
    if not 0 < at <= 20:
        raise BadNumber(f"--speed {speed} is not a rod speed", "give mm/s above 0, as in 100")
    with context.reader() as logbook:
        entity, name = car_named(logbook, car)
        sessions = ordered_sessions(logbook, entity)
        shed = Shed.of(logbook)
        lines = {session: logbook.session_line(session) for session, _ in sessions}
    found = {
        d: points_of(sessions, corner, d, shed, (at,))
        for d in ((direction,) if direction else ("bump", "rebound"))
    }
    if as_json:
        bodies = [
            {"session": session_body(lines[p.session]), **_point_body(p, corner, d)}
            for d, points in found.items()
            for p in points
        ]
        emit({"car": name, "corner": corner, "points": bodies})
        return
    if all(point.estimate is None for points in found.values() for point in points):
        reasons = [point.why for points in found.values() for point in points]
        raise NoEstimate(reasons[-1] if reasons else f"{name} has no runs yet")
    shown = show(at, "speed", context.preferences.unit("speed"), with_unit=True)
    say(f"{name}, {corner} at {shown}")
    _say_trend(found, lines, context)


def _point_body(point: TrendPoint, corner: str, direction: str) -> dict[str, Any]:
    if point.estimate is None:
        place = {"corner": corner, "direction": direction}
        return {**place, "basis": "no estimate", "why": point.why, "moved": point.moved}
    body = estimate_body(point.estimate)
    for name in ("speed_mm_s", "force_N", "low_N", "high_N"):
        body[name] = float(body[name][0])
    return {**body, "moved": point.moved}


def _say_trend(
    found: dict[str, list[TrendPoint]], lines: dict[str, Any], context: CommandContext
) -> None:
    from trackside.charts import Series
    from trackside.reports import formatting
    from trackside.reports.origin_words import setting_words

    preferences, unit = context.preferences, context.preferences.unit("force")
    for direction, points in found.items():
        say("", direction)
        rows = []
        for n, point in enumerate(points, 1):
            line, estimate = lines[point.session], point.estimate
            force = f"no estimate: {point.why}"
            if estimate is not None:
                band = formatting.banded(estimate, preferences)[0]
                force = f"{band} {unit}, {estimate.basis}"
            position = setting_words(estimate.setting) if estimate else ""
            rows.append((str(n), line.short, line.start, line.venue, position, force, point.moved))
        table(rows, right=(0,), indent=2)
    known = {d: [(n, p.estimate) for n, p in enumerate(ps, 1) if p.estimate]
             for d, ps in found.items()}  # fmt: skip
    count = max(len(points) for points in found.values())
    say("")
    draw(
        [
            Series(
                [float(n) for n, _ in points],
                [from_si(float(e.force[0]), "force", unit) for _, e in points],
                direction,
                label=direction,
                low=[from_si(float(e.low[0]), "force", unit) for _, e in points],
                high=[from_si(float(e.high[0]), "force", unit) for _, e in points],
            )
            for direction, points in known.items()
            if points
        ],
        context.ink(),
        x_label="session",
        y_label=unit,
        zero=False,
        x_ticks=[(float(n), str(n)) for n in range(1, count + 1, 1 + count // 16)],
    )
