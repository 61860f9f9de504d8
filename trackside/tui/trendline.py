"""One corner over the runs of a car, as chart and words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import nan

from rich.text import Text

from trackside.analysis.lap_figures import LapFigure
from trackside.analysis.range_watch import range_watch
from trackside.analysis.shed import Shed
from trackside.analysis.trend_rows import TrendRow
from trackside.analysis.used import last_corners
from trackside.charts import Drawing, Series, plot, spark
from trackside.logbook import Logbook
from trackside.preferences import Preferences
from trackside.records.laps import FROM_LAPS
from trackside.reports import formatting
from trackside.reports.origin_words import origin_words
from trackside.reports.range_words import range_words
from trackside.units import from_si, show_lap

BAR = 3
"""Cells of a session's bar: one less than a session has in the narrowest chart."""


def window(count: int, cursor: int, room: int) -> range:
    """So many neighbours of the cursor as fit, at the newest end as long as it is among them."""
    most = max(2, min(count, room))
    end = count if cursor >= count - most else max(most, min(count, cursor + most // 2 + 1))
    return range(max(0, end - most), end)


def in_chart(count: int, cursor: int, width: int) -> range:
    """The rows that a chart of that width shows."""
    return window(count, cursor, max(2, (width - 12) // 4))


def chart(
    rows: Sequence[TrendRow],
    cursor: int,
    at_speed: int,
    corner: str,
    preferences: Preferences,
    width: int,
    height: int,
) -> Drawing:
    """Force with band against session, oldest left; `◆` where something was turned or swapped; the
    best lap of each session as a bar below it."""
    shown = in_chart(len(rows), cursor, width)
    unit = preferences.unit("force")

    def column(name: str) -> list[float]:
        return [
            nan
            if (found := rows[n].point.estimate) is None
            else from_si(float(getattr(found, name)[at_speed]), "force", unit)
            for n in shown
        ]

    force = column("force")
    drawn = [
        Series(shown, force, corner, low=column("low"), high=column("high")),
        *(
            Series([n], [newton], "after")
            for n, newton in zip(shown, force, strict=True)
            if rows[n].point.moved
        ),
    ]
    return plot(
        drawn,
        width,
        height,
        y_label=unit,
        zero=False,
        marks=[(float(cursor), _here(rows[cursor], at_speed, preferences))],
        x_ticks=[(float(n), rows[n].name) for n in shown],
        foot=[
            (float(n), block * BAR)
            for n, block in zip(
                shown,
                spark(_best_laps(rows, shown), len(shown), ink=preferences.ink),
                strict=True,
            )
            if block != " "
        ],
        ink=preferences.ink,
    )


def _here(row: TrendRow, at_speed: int, preferences: Preferences) -> str:
    """The session under the cursor and its force, finer than the height of a cell tells."""
    force = (
        "no estimate"
        if row.point.estimate is None
        else force_words(row, at_speed, preferences, with_unit=False)
    )
    return f"{row.name}: {force}"


def laps(rows: Sequence[TrendRow], cursor: int, width: int, ink: str) -> Text:
    """What the bars below the sessions are: best laps, from the quickest to the slowest."""
    shown = in_chart(len(rows), cursor, width)
    known = [lap for lap in _best_laps(rows, shown) if lap is not None]
    if not known:
        return Text("best lap: none on record")
    quick, slow = min(known), max(known)
    from_laps = any(lap.from_laps for n in shown if (lap := rows[n].best_lap))
    origin = f"; {FROM_LAPS} from the lap times" if from_laps else ""
    if quick == slow:
        return Text(f"bars: best lap, {show_lap(quick)}{origin}")
    ends = spark([quick, slow], 2, ink=ink)
    return Text.assemble(
        "bars: best lap, ", (ends[0], "bold"), f" {show_lap(quick)} to ", (ends[1], "bold"),
        f" {show_lap(slow)}{origin}",
    )  # fmt: skip


def _best_laps(rows: Sequence[TrendRow], shown: Iterable[int]) -> list[float | None]:
    return [None if (lap := rows[n].best_lap) is None else lap.number for n in shown]


def lap_words(lap: LapFigure) -> str:
    """`1:35.200`; with a sign behind it where it comes from the lap times."""
    return show_lap(lap.number) + (FROM_LAPS if lap.from_laps else "")


def force_words(row: TrendRow, at_speed: int, preferences: Preferences, with_unit: bool) -> str:
    """`944 ±45`; an en dash where there is no estimate."""
    estimate = row.point.estimate
    if estimate is None:
        return "–"
    force, low, high = (
        float(edge[at_speed]) for edge in (estimate.force, estimate.low, estimate.high)
    )
    band = formatting.plus_minus(force, low, high, preferences)
    unit = f" {preferences.unit('force')}" if with_unit else ""
    return f"{formatting.force(force, preferences)} ±{band}{unit}"


def position_words(row: TrendRow) -> str:
    """`6/20 hard`: the count, of how many, from which end."""
    estimate = row.point.estimate
    if estimate is None:
        return "–"
    at = estimate.setting
    if at.adjuster is None or at.position is None:
        return "fixed"
    return f"{at.position:g}/{at.adjuster.clicks} {at.adjuster.counted_from}"


def in_full(row: TrendRow, at_speed: int, preferences: Preferences) -> str:
    """All about one session, on one line."""
    point = row.point
    parts = [f"{row.start[5:10]} {row.code}".strip()]
    if point.estimate is None:
        parts.append(f"no estimate: {point.why}")
    else:
        rod = formatting.speed(point.estimate.speed[at_speed], preferences, with_unit=True)
        band, unit = (
            formatting.banded(point.estimate, preferences)[at_speed],
            preferences.unit("force"),
        )
        parts.append(f"{band} {unit} at {rod}")
        parts.append(f"{point.estimate.basis}, {origin_words(point.estimate.origin)}")
    parts.append(point.moved)
    for reason in row.reasons:
        parts.append(" ".join(p for p in (reason.verdict, reason.verdict_words) if p))
    return " · ".join(part for part in parts if part)


def watched(logbook: Logbook, shed: Shed, serial: str) -> str:
    """Which adjusters of the damper live at an end of their travel; empty where none does."""
    build = shed.build(serial) if serial else None
    if build is None:
        return ""
    found = range_watch(build, last_corners(logbook, serial))
    return f"! {serial} {'; '.join(map(range_words, found))}" if found else ""
