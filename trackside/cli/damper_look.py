"""Which dampers need a look: charge, force, hours and warmth of all of them on one page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from trackside.cli.command_context import CommandContext, scripted
from trackside.cli.output import emit, say, table
from trackside.errors import BadInput

if TYPE_CHECKING:
    from trackside.analysis.health import ChargeHealth, ForceChart, FrictionChart, Health
    from trackside.preferences import Preferences


@click.command(short_help="Which dampers need a look, the most urgent first.")
@click.option("--least", metavar="PRESSURE", help="Least charge at 20 °C, for all: 12bar")
@click.option("--service", metavar="HOURS", help="Running time between strip-downs, for all: 20h")
@scripted
@click.pass_obj
def look(context: CommandContext, least: str | None, service: str | None, as_json: bool) -> None:
    """Every damper of the shed, those that need a look first.

    Looked at are the charge at 20 °C with its fall, the force of the present build's dyno sheets,
    runs, laps and hours since the last strip-down or reseal, and how warm the body was against the
    other side of the axle. The limits stand in the damper's record: the maker's least charge, and
    the hours, laps or runs after which the shop opens it. A limit that is given here takes the
    place of that for all. Hours may stand in the hours book too, by the damper's serial.
    """
    from trackside.analysis.health import healths
    from trackside.analysis.shed import Shed
    from trackside.reports import health_words as words

    below = _given(least, "pressure", "--least", context.preferences)
    limit = _given(service, "hours", "--service", context.preferences)
    with context.reader() as logbook:
        found = healths(logbook, Shed.of(logbook), least=below, limit=limit)
    preferences = context.tell_in(as_json)
    if as_json:
        emit(
            {
                "least_charge_Pa": below,
                "service_limit_s": limit,
                "dampers": [look_body(one, preferences) for one in found],
            }
        )
        return
    if not found:
        say(words.NONE)
        return
    ill = [one for one in found if one.needs]
    for one in ill:
        say(one.serial, *(f"  ! {line}" for line in words.health_words(one, preferences)))
    if not ill:
        say(words.ALL_WELL)
    say("")
    table(
        [words.heads(preferences), *(words.health_row(one, preferences) for one in found)],
        right=[3, 4, 5, 6],
    )
    say("")
    if any(one.charge.least is None for one in found):
        say(words.NO_LEAST)
    if not all(one.driving.is_limited for one in found):
        say(words.NO_LIMIT)
    say(*words.health_cautions(ill))


def _given(text: str | None, quantity: str, option: str, preferences: Preferences) -> float | None:
    """A figure of the shop's above zero, in SI; None where none was given."""
    from trackside.records import Reading

    if text is None:
        return None
    reading = Reading.of_text(text, quantity, preferences.unit(quantity))
    if reading is None or reading.si is None or reading.si <= 0:
        raise BadInput(
            f"{option} {text} is no {quantity} above zero",
            f"give a number, in {preferences.unit(quantity)} or with its unit behind it",
        )
    return reading.si


def look_body(one: Health, preferences: Preferences) -> dict[str, Any]:
    """A damper as JSON speaks of it: SI, unknown is null."""
    from trackside.reports.health_words import health_words

    driving, twin = one.driving, one.twin
    return {
        "damper": one.serial,
        "build": one.build or None,
        "needs": list(one.needs),
        "sentences": list(health_words(one, preferences)),
        "since": driving.since or None,
        "resealed": driving.reseal,
        "runs": driving.runs,
        "laps": driving.laps,
        "seconds": driving.seconds,
        "runs_without_whole_time": driving.short,
        "runs_without_laps": driving.lapless,
        "runs_of_unknown_build": driving.unsure,
        "limit_s": driving.limit,
        "limit_laps": driving.most_laps,
        "limit_runs": driving.most_runs,
        "charge": _charge_body(one.charge),
        "force": [_force_body(chart) for chart in one.force],
        "friction": [_friction_body(chart) for chart in one.friction],
        "twin": twin and {
            "damper": twin.twin,
            "runs": twin.runs,
            "warmer_K": twin.warmer,
            "scatter_K": twin.band,
        },
    }  # fmt: skip


def _charge_body(charge: ChargeHealth) -> dict[str, Any]:
    line, days = charge.line, charge.below_on
    return {
        "readings": [{"at": one.when, "at_20_C_Pa": one.at_20} for one in charge.readings],
        "readings_looked_at": charge.total,
        "readings_not_compared": charge.unread,
        "slope_Pa_per_day": line and line.slope,
        "slope_band_Pa_per_day": line and line.band,
        "least_Pa": charge.least,
        "below_least_on": days and days[0].isoformat(),
        "below_least_at_the_earliest": days and days[1].isoformat(),
    }


def _force_body(chart: ForceChart) -> dict[str, Any]:
    return {
        "direction": chart.direction,
        "sheets_not_compared": chart.left_out,
        "sheets": [
            {
                "date": day,
                "ln_ratio_to_first": point.value,
                "moving_average": point.average,
                "limit": point.limit,
                "is_out": point.is_out,
            }
            for day, point in zip(chart.dates, chart.points, strict=True)
        ],
    }


def _friction_body(chart: FrictionChart) -> dict[str, Any]:
    return {
        "direction": chart.direction,
        "first_N": chart.first,
        "sheets": [
            {
                "date": day,
                "more_than_first_N": point.value,
                "moving_average_N": point.average,
                "limit_N": point.limit,
                "is_out": point.is_out,
            }
            for day, point in zip(chart.dates, chart.points, strict=True)
        ],
    }
