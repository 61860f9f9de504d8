"""All that is known of one damper's health, in lines: what `look` sums up, reading by reading."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from trackside.analysis.health import ChargeHealth, Driving, ForceChart, FrictionChart, Health
from trackside.analysis.health_runs import ChargeRead
from trackside.preferences import Preferences
from trackside.reports.health_words import (
    health_cautions,
    health_words,
    hours,
    newton,
    pressure,
    reference,
)
from trackside.units import show, show_span

Line = tuple[str, str]
"""A style, and the words."""
SHORT: Final = {
    "charge below": "charge below its least",
    "force off": "force left its chart",
    "friction off": "friction left its chart",
    "hours over": "service is due",
    "charge falling": "charge falls",
    "warmer than twin": "warmer than the other side",
}


def needs_short(one: Health) -> str:
    """What needs a look, in a few words: `charge falls, service is due`."""
    return ", ".join(SHORT[kind] for kind in one.needs)


def story_lines(one: Health, preferences: Preferences) -> Iterator[Line]:
    """The whole story of a damper: what needs a look, then everything that was looked at."""
    for line in health_words(one, preferences):
        yield "bold", f"! {line}"
    if not one.needs:
        yield "", "Nothing on record says that it needs a look."
    yield from (("", text) for text in health_cautions([one]))
    yield from _charge(one.charge, preferences)
    yield from _driving(one.driving, preferences)
    for force in one.force:
        yield from _force(force)
    for friction in one.friction:
        yield from _friction(friction, preferences)
    if not one.force and not one.friction:
        yield "bold", "Dyno sheets"
        yield "", "  fewer than two of the present build: nothing to compare"
    yield from _twin(one, preferences)


def _charge(charge: ChargeHealth, preferences: Preferences) -> Iterator[Line]:
    yield "bold", f"Charge at {reference(preferences)}"
    least = f"least {pressure(charge.least, preferences)}" if charge.least else "no least on record"
    line = charge.line
    if line is not None:
        month, band = (
            show(30.0 * each, "pressure", preferences.unit("pressure"), with_unit=True)
            for each in (line.slope, line.band)
        )
        yield "", f"  {month} in 30 days (±{band}); {least}"
        if charge.below_on is not None:
            day, earliest = charge.below_on
            yield "", f"  below it on {day}, on {earliest} at the earliest"
    else:
        yield "", f"  no slope: it needs readings of two moments; {least}"
    for read in reversed(charge.readings):
        yield "", _reading(read, preferences)
    if charge.before:
        yield "", "  before it was filled:"
        yield from (("", _reading(read, preferences)) for read in reversed(charge.before))
    if charge.unread:
        yield "", f"  {charge.unread} without a temperature, or that cannot be right: left out"


def _reading(read: ChargeRead, preferences: Preferences) -> str:
    filled = "  filled" if read.filled else ""
    return f"  {read.when[:10]}  {pressure(read.at_20, preferences):>10}{filled}"


def _driving(driving: Driving, preferences: Preferences) -> Iterator[Line]:
    opened = "resealed" if driving.reseal else "opened"
    yield "bold", f"Since it was {opened} {f'on {driving.since}' if driving.since else '(no date)'}"
    more = "+" if driving.unsure else ""
    for what, has, most in (
        ("hours", hours(driving.seconds, preferences) + ("+" if driving.short else more),
         driving.limit and hours(driving.limit, preferences)),
        ("laps", f"{driving.laps:g}{'+' if driving.lapless else more}",
         driving.most_laps and f"{driving.most_laps:g}"),
        ("runs", f"{driving.runs}{more}", driving.most_runs and f"{driving.most_runs:g}"),
    ):  # fmt: skip
        yield "", f"  {what:<6}{has:>9}" + (f"  of {most}" if most else "  no limit")
    if driving.unsure:
        yield "", f"  of {driving.unsure} more runs nobody can say which build ran"


def _force(chart: ForceChart) -> Iterator[Line]:
    yield "bold", f"Force of its sheets against the first, {chart.direction}"
    if chart.points:
        yield "underline", "  date          sheet  average  limit"
    for day, point in zip(chart.dates, chart.points, strict=True):
        told = (f"{100 * x:+.1f} %" for x in (point.value, point.average))
        yield "", _row(day, tuple(told), f"±{100 * point.limit:.1f} %", point.is_out)
    if chart.left_out:
        yield "", f"  {chart.left_out} share no position and speed with it"


def _friction(chart: FrictionChart, preferences: Preferences) -> Iterator[Line]:
    first = newton(chart.first, preferences)
    yield "bold", f"Friction against the first sheet's {first}, {chart.direction}"
    yield "underline", "  date          sheet  average  limit"
    for day, point in zip(chart.dates, chart.points, strict=True):
        told = (_more(x, preferences) for x in (point.value, point.average))
        yield "", _row(day, tuple(told), f"±{newton(point.limit, preferences)}", point.is_out)


def _row(day: str, told: tuple[str, ...], limit: str, is_out: bool) -> str:
    sheet, average = told
    return f"  {day:<10} {sheet:>9} {average:>8} {limit:>7}{'  OUT' if is_out else ''}"


def _more(force: float, preferences: Preferences) -> str:
    return f"{'−' if force < 0 else '+'}{newton(abs(force), preferences)}"


def _twin(one: Health, preferences: Preferences) -> Iterator[Line]:
    yield "bold", "Body against the other side of the axle"
    if one.twin is None:
        yield "", "  not the warmer of a pair that was read twice since both were opened"
        return
    warmer, band = (
        show_span(kelvin, "temperature", preferences.unit("temperature"))
        for kelvin in (one.twin.warmer, one.twin.band)
    )
    yield "", f"  {warmer} warmer than {one.twin.twin}, mean of {one.twin.runs} runs (±{band})"
