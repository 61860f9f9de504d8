"""What the run made of the tyres, and what the watch said: treads as on the car, laps in order."""

from __future__ import annotations

from rich.text import Text

from trackside.charts import INKS, Drawing, Series, live, tread_map
from trackside.preferences import Preferences
from trackside.records import Session
from trackside.records.fields import CORNERS
from trackside.records.laps import QUICKEST, lap_of, timed
from trackside.units import from_si, show_lap

PLACES = ("tread_inner", "tread_middle", "tread_outer")
LEAST_CHART = 7
LAPS_APART = 3
"""Cells that a lap needs at least so that its marker stands clear of the next."""
SLOW = 1.07
"""A lap this much over the best is an in or out lap, and would flatten the rest: our own,
no source."""


def treads(session: Session, preferences: Preferences, width: int) -> Drawing:
    """The four treads in the crew's unit; unknown is a dash."""
    unit = preferences.unit("temperature")

    def read(path: str) -> float | None:
        si = session.si(path)
        return None if si is None else float(from_si(si, "temperature", unit))

    temps = {c: tuple(read(f"{c}.{place}") for place in PLACES) for c in CORNERS}
    return tread_map(temps, unit=unit, ink=preferences.ink, width=width)  # type: ignore[arg-type]


def laps_told(session: Session) -> Text:
    """How many laps there are, the best of them, and those that the chart leaves out."""
    laps = flying(session)
    if not laps:
        return Text("no lap times yet: see Session")
    known = [lap for lap in laps if lap is not None]
    out = len(timed(session.lap_times)) - len(known)
    left = f", {out} slow not drawn" if out else ""
    if marked := sum(bool(lap_of(lap).mark) for lap in session.lap_times):
        left += f", {marked} in or out"
    return Text.assemble(("lap times ", "bold"), f"{len(known)}, best {show_lap(min(known))}{left}")


def flying(session: Session) -> list[float | None]:
    """Lap times in s, in their order; None for one that is slow, marked or cannot be right. Empty
    without any."""
    known = timed(session.lap_times)
    slowest = SLOW * min(known, default=0.0)
    return [
        lap if isinstance(lap, float) and QUICKEST <= lap <= slowest else None
        for lap in (session.lap_times if known else ())
    ]


def laps(session: Session, width: int, height: int, preferences: Preferences) -> Drawing | None:
    """Lap times over laps, each marked while there is room, and the best; None where there is
    nothing to draw, or no room."""
    times = flying(session)
    if not times or height < LEAST_CHART:
        return None
    known = [lap for lap in times if lap is not None]
    best = Series([times.index(min(known)) + 1], [min(known)], "after")
    number = range(1, len(times) + 1)
    marked = [n for n, lap in zip(number, times, strict=True) if lap is not None]
    if len(times) > width // LAPS_APART:
        marked = []
    return live(
        [
            Series(list(number), times, "before", marked=marked),  # type: ignore[arg-type]
            best,
        ],
        width,
        height,
        x_label="lap",
        y_label=f"low is quick   {best.glyph(INKS[preferences.ink].plain_marks)} best",
        zero=False,
        y_text=_lap_words,
        ink=preferences.ink,
    )


def _lap_words(seconds: float) -> str:
    return show_lap(seconds).rstrip("0").rstrip(".")
