"""Which dampers need a look, and why, in words."""

from __future__ import annotations

from collections.abc import Iterator

from trackside.analysis.health import (
    ChargeHealth,
    Driving,
    ForceChart,
    FrictionChart,
    Health,
    Kind,
    Reached,
)
from trackside.damper.gas import REFERENCE_C
from trackside.preferences import Preferences
from trackside.reports import cautions
from trackside.units import show, show_span

_HEADS = ("Damper", "Build", "Opened", "Runs", "Laps", "Hours")
NONE = "No damper is in the shed yet."
ALL_WELL = "Nothing on record says that a damper needs a look."
NO_LEAST = (
    "The least charge is not given for every damper: its record says it, as it reads at 20 °C, or "
    "--least for all."
)
NO_LIMIT = (
    "The service limit is not given for every damper: its record says it (hours, laps, runs), an "
    "entry in the hours book with its serial (hours), or --service for all."
)
_MONTH = 30.0
"""Days."""


def heads(preferences: Preferences) -> tuple[str, ...]:
    """The columns of the list."""
    return (*_HEADS, f"Charge at {reference(preferences)}", "Sheets compared")


def reference(preferences: Preferences) -> str:
    """The temperature at which every charge is shown: `20 °C`, `68 °F`."""
    return show(REFERENCE_C, "temperature", preferences.unit("temperature"), with_unit=True)


def health_row(one: Health, preferences: Preferences) -> tuple[str, ...]:
    """One damper in a line, as `heads` has the columns; `+` where there is more."""
    driving, charge = one.driving, one.charge
    sheets = max((len(chart.points) + 1 for chart in one.force), default=0)
    return (
        one.serial,
        one.build or "–",
        (f"{driving.since}{' resealed' if driving.reseal else ''}" if driving.since else "–"),
        f"{driving.runs}{'+' if driving.unsure else ''}",
        f"{driving.laps:g}{'+' if driving.lapless or driving.unsure else ''}",
        hours(driving.seconds, preferences) + ("+" if driving.short or driving.unsure else ""),
        pressure(charge.readings[-1].at_20, preferences) if charge.readings else "–",
        str(sheets) if sheets else "–",
    )


def health_words(one: Health, preferences: Preferences) -> Iterator[str]:
    """What of a damper needs a look, a sentence each, the most urgent first."""
    for kind in one.needs:
        yield from _sentences(one, kind, preferences)


def health_cautions(found: list[Health]) -> list[str]:
    """What to be careful of when these dampers are looked at."""
    needs = {kind for one in found for kind in one.needs}
    gas = needs & {"charge below", "charge falling"}
    opening = needs & {"force off", "friction off", "hours over"}
    acts = ([cautions.CHARGE, cautions.BOTTLE] if gas else []) + (
        [cautions.OPEN] if opening else []
    )
    acts += [cautions.HOT] if "warmer than twin" in needs else []
    return [act.text for act in acts]


def _sentences(one: Health, kind: Kind, preferences: Preferences) -> Iterator[str]:
    if kind == "charge below":
        yield _below(one.charge, preferences)
    elif kind == "charge falling":
        yield _falling(one.charge, preferences)
    elif kind == "force off":
        yield from (_off(chart) for chart in one.force if chart.is_off)
    elif kind == "friction off":
        yield from (_rubs(chart, preferences) for chart in one.friction if chart.is_off)
    elif kind == "hours over":
        yield from (_over(one.driving, limit, preferences) for limit in one.driving.over)
    elif one.twin is not None:
        warmer, band = (
            show_span(kelvin, "temperature", preferences.unit("temperature"))
            for kelvin in (one.twin.warmer, one.twin.band)
        )
        yield (
            f"body: {warmer} warmer than {one.twin.twin} on the other side, mean of "
            f"{one.twin.runs} runs; the pair's own scatter is {band}. A track that turns one way "
            "more than the other does that too"
        )


def _over(driving: Driving, limit: Reached, preferences: Preferences) -> str:
    told = {
        "hours": (hours(driving.seconds, preferences), hours(driving.limit, preferences),
                  driving.short),
        "laps": (f"{driving.laps:g}", f"{driving.most_laps or 0:g}", driving.lapless),
        "runs": (str(driving.runs), f"{driving.most_runs or 0:g}", 0),
    }  # fmt: skip
    ran, most, part = told[limit]
    opened = f" since it was {'resealed' if driving.reseal else 'opened'} on {driving.since}"
    return (
        f"{limit}: {ran}{'+' if part or driving.unsure else ''}"
        f"{opened if driving.since else ''}; the shop's limit is {most}"
    )


def _below(charge: ChargeHealth, preferences: Preferences) -> str:
    newest = charge.readings[-1]
    return (
        f"charge: {pressure(newest.at_20, preferences)} at {reference(preferences)} on "
        f"{newest.when[:10]}, below the least of {pressure(charge.least, preferences)}"
    )


def _falling(charge: ChargeHealth, preferences: Preferences) -> str:
    line, newest = charge.line, charge.readings[-1]
    assert line is not None
    lost, band = (
        show(_MONTH * each, "pressure", preferences.unit("pressure"), with_unit=True)
        for each in (-line.slope, line.band)
    )
    told = (
        f"charge: falls by {lost} in 30 days (±{band}), {len(charge.readings)} readings, "
        f"{pressure(newest.at_20, preferences)} at {reference(preferences)} on {newest.when[:10]}"
    )
    if charge.below_on is not None:
        day, earliest = charge.below_on
        told += (
            f"; below {pressure(charge.least, preferences)} on {day}, on {earliest} at the earliest"
        )
    return f"{told}: a leak, or gas let out by the gauge?"


def _off(chart: ForceChart) -> str:
    newest = chart.points[-1]
    way = "more" if newest.average > 0 else "less"
    return (
        f"{chart.direction} force: {abs(newest.average):.1%} {way} than on the first sheet of the "
        f"build, running average up to {chart.dates[-1]}; the bench's own scatter explains "
        f"{newest.limit:.1%}"
    ).replace("%", " %")


def _rubs(chart: FrictionChart, preferences: Preferences) -> str:
    newest = chart.points[-1]
    way = "more" if newest.average > 0 else "less"
    apart, limit = (newton(abs(x), preferences) for x in (newest.average, newest.limit))
    return (
        f"{chart.direction} friction: {apart} {way} than the {newton(chart.first, preferences)} of "
        f"the first sheet of the build, running average up to {chart.dates[-1]}; the bench's own "
        f"scatter explains {limit}: seals, or a gas force that was taken out wrongly?"
    )


def newton(force: float, preferences: Preferences) -> str:
    """A force with its unit."""
    return show(force, "force", preferences.unit("force"), with_unit=True)


def pressure(pascal: float | None, preferences: Preferences) -> str:
    """A gauge pressure with its unit."""
    return show(pascal, "pressure", preferences.unit("pressure"), with_unit=True)


def hours(seconds: float | None, preferences: Preferences) -> str:
    """A running time with its unit."""
    return show(seconds, "hours", preferences.unit("hours"), with_unit=True)
