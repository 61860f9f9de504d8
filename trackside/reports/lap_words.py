"""What the lap times say of a run, beside what was typed."""

from __future__ import annotations

from collections.abc import Iterator

from trackside.analysis.lap_figures import (
    LapFigure,
    best_contradicted,
    best_lap,
    count_contradicted,
    lap_count,
)
from trackside.records import Session
from trackside.reports.document import Said
from trackside.units import show_lap


def from_laps_words(session: Session) -> str:
    """`8 timed laps, best 1:34.987`: as much of it as the lap times give and nobody typed."""
    count, best = lap_count(session), best_lap(session)
    told = []
    if count and count.from_laps:
        told.append(_timed(count.number))
    if best and best.from_laps:
        told.append(f"best {show_lap(best.number)}")
    return ", ".join(told)


def best_words(session: Session) -> str:
    """`1:34.987 (from the lap times)`, or as it was typed; empty when unknown."""
    found = best_lap(session)
    return "" if found is None else f"{show_lap(found.number)}{_origin(found)}"


def count_words(session: Session) -> str:
    """`8 laps`, or `8 timed laps (from the lap times)`; empty when unknown."""
    found = lap_count(session)
    if found is None:
        return ""
    if found.from_laps:
        return f"{_timed(found.number)}{_origin(found)}"
    return f"{found.number:g} lap{'' if found.number == 1 else 's'}"


def _timed(count: float) -> str:
    return f"{count:g} timed lap{'' if count == 1 else 's'}"


def laps_said(before: Session | None, now: Session) -> Iterator[Said]:
    """The best lap, that of the outing before, and the number of laps; then what contradicts
    them."""
    then, best = best_words(before) if before else "", best_words(now)
    compared = f", the outing before {then}" if then else ""
    told = [f"best lap {best}{compared}" if best else "", count_words(now)]
    if any(told):
        yield Said(" · ".join(part for part in told if part))
    for sentence in contradicted(now):
        yield Said(sentence, "caution")


def _origin(figure: LapFigure) -> str:
    return " (from the lap times)" if figure.from_laps else ""


def contradicted(session: Session) -> Iterator[str]:
    """A sentence for each typed figure that the lap times contradict."""
    best, count = best_contradicted(session), count_contradicted(session)
    if best is not None and session.best_lap is not None:
        yield f"best lap {not_the_best(session.best_lap.typed, best)}"
    if count is not None and session.laps is not None:
        yield not_so_many(session.laps.typed, count)


def not_the_best(typed: str, best: float) -> str:
    """That a best lap was typed that is another than the best of the lap times."""
    return f"{typed} is not the best of the lap times, {show_lap(best)}: which is right?"


def not_so_many(typed: str, count: int) -> str:
    """That a number of laps was typed that the lap times contradict."""
    return f"{typed} laps, but the lap times have {count} timed: which is right?"
