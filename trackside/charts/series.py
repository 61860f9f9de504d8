"""What is to be drawn: series of points, and the finite part of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from trackside.charts.drawing import ASCII_MARKERS, MARKERS, SERIES_ROLES
from trackside.charts.ticks import LARGEST
from trackside.charts.words import cells

Numbers = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Series:
    """One curve: x and y of equal length, in the units shown; not-a-number is a gap.

    `low` and `high` bound the 95 % band about y, or are None. `role` is one of SERIES_ROLES and
    decides style and marker; `marker` is one character that takes the marker's place. Markers
    stand at `marked` (x within the curve) where that is given, else at the points, or along the
    curve where these are many.
    """

    x: npt.ArrayLike
    y: npt.ArrayLike
    role: str
    label: str = ""
    low: npt.ArrayLike | None = None
    high: npt.ArrayLike | None = None
    marker: str = ""
    marked: npt.ArrayLike | None = None

    def glyph(self, plain: bool) -> str:
        """The one-cell marker of this series."""
        chosen = cells(self.marker)
        if len(chosen) == 1 and chosen[0] != " " and (chosen[0].isascii() or not plain):
            return chosen[0]
        markers = ASCII_MARKERS if plain else MARKERS
        return markers.get(self.role, markers["other"])


@dataclass(frozen=True, eq=False)
class Curve:
    """A series made safe to draw: equal lengths, gaps as NaN in x and y alike."""

    series: Series
    x: Numbers
    y: Numbers
    low: Numbers
    high: Numbers

    @property
    def role(self) -> str:
        """The role of its line and marker: a known one, or "other"."""
        return self.series.role if self.series.role in SERIES_ROLES else "other"

    def marks(self) -> tuple[Numbers, Numbers]:
        """Where its markers are asked for: those x that lie within it, and the curve there."""
        known = ~np.isnan(self.x)
        order = np.argsort(self.x[known], kind="stable")
        x, y = self.x[known][order], self.y[known][order]
        asked = _numbers(self.series.marked)
        asked = asked[(asked >= x[0]) & (asked <= x[-1])]
        return asked, np.interp(asked, x, y)


def curves(series: Sequence[Series]) -> list[Curve]:
    """The series that have at least one point, checked; a band needs both its bounds."""
    found = []
    for one in series:
        x, y = _numbers(one.x), _numbers(one.y)
        count = min(len(x), len(y))
        low, high = _bound(one.low, count), _bound(one.high, count)
        x, y = x[:count].copy(), y[:count].copy()
        bare = np.isnan(x) | np.isnan(y)
        x[bare] = y[bare] = np.nan
        bare |= np.isnan(low) | np.isnan(high)
        low, high = np.where(bare, np.nan, low), np.where(bare, np.nan, high)
        if not np.isnan(x).all():
            found.append(Curve(one, x, y, np.minimum(low, high), np.maximum(low, high)))
    return found


def _numbers(values: Any) -> Numbers:
    if isinstance(values, (list, tuple)):
        values = [np.nan if value is None else value for value in values]
    given = np.atleast_1d(np.asarray(values, dtype=float)).ravel()
    return np.where(np.abs(given) <= LARGEST, given, np.nan)


def _bound(values: Any, count: int) -> Numbers:
    bound = np.full(count, np.nan)
    if values is not None:
        given = _numbers(values)[:count]
        bound[: len(given)] = given
    return bound
