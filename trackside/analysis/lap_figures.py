"""Best lap and number of laps: as somebody typed them, else as the lap times give them.

The lap times never overwrite what was typed. Where the two disagree, `analysis.plausible_ranges`
flags it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from trackside.records import Reading, Session
from trackside.records.laps import Lap, lap_of, timed

if TYPE_CHECKING:
    from trackside.logbook.driven import Driven

UNTIMED: Final = 2
"""Laps that a count may have beyond the lap times: out-lap and in-lap are seldom timed (our own,
no source)."""


@dataclass(frozen=True)
class LapFigure:
    """A figure of a run, in its base unit, and whether it comes from the lap times."""

    number: float
    from_laps: bool


def best_lap(session: Session) -> LapFigure | None:
    """The best lap in s; None when unknown."""
    return _figure(session, "best_lap", min(timed(session.lap_times), default=None))


def lap_count(session: Session) -> LapFigure | None:
    """How many laps; of the lap times, the timed ones."""
    return _figure(session, "laps", len(timed(session.lap_times)) or None)


def laps_driven(session: Session | Driven, read: Sequence[Lap] | None = None) -> LapFigure | None:
    """How many laps the car did, in-laps and out-laps among them: as typed, else as many as are in
    the list of lap times. None when unknown, or when a lap of the list cannot be read. `read` are
    its laps, where they are at hand."""
    all_read = _all_read(session) if read is None else all(lap.is_read for lap in read)
    listed = len(session.lap_times) if all_read else 0
    return _figure(session, "laps", listed or None)


def _figure(session: Session | Driven, path: str, of_laps: float | None) -> LapFigure | None:
    typed = session.si(path)
    if typed is not None:
        return LapFigure(typed, from_laps=False)
    return None if of_laps is None else LapFigure(float(of_laps), from_laps=True)


def best_contradicted(session: Session) -> float | None:
    """The best of the lap times in s, where another one was typed as the best lap. A typed `1:35.2`
    agrees with 95.246 s: it is as exact as it was typed."""
    typed, laps = session.best_lap, timed(session.lap_times)
    if typed is None or typed.si is None or not laps or not _all_read(session):
        return None
    return None if abs(min(laps) - typed.si) < _grain(typed) - 1e-6 else min(laps)


def count_contradicted(session: Session) -> int | None:
    """How many lap times there are, where the number of laps typed is less, or more by more than
    out-lap and in-lap."""
    typed, laps = session.si("laps"), len(session.lap_times)
    if typed is None or not laps or not _all_read(session):
        return None
    fits = len(timed(session.lap_times)) <= typed <= laps + UNTIMED
    return None if fits else len(timed(session.lap_times))


def _all_read(session: Session | Driven) -> bool:
    """Whether every lap can be read: one that cannot may be the best."""
    return all(lap_of(lap).is_read for lap in session.lap_times)


def _grain(typed: Reading) -> float:
    """The last place of a lap time as it was typed, in s."""
    _, point, decimals = typed.typed.replace(",", ".").rpartition(".")
    return 10.0 ** -sum(map(str.isdigit, decimals)) if point else 1.0
