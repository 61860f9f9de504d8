"""A dyno sheet drawn: its points and the curves fitted to them, a letter for each count."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from string import ascii_lowercase
from typing import Final

from trackside.analysis.shed import gas_force, rows_of
from trackside.charts import Drawing, Series, canvas_rows, plot
from trackside.damper.sheet_fit import DirectionFit, SheetFit
from trackside.preferences import Preferences
from trackside.records import Build, DynoSheet
from trackside.reports.bench_words import counting
from trackside.units import from_si

_CURVE_POINTS: Final = 40
TITLE: Final = "letters measured, lines fitted; bump up"

_Points = Sequence[tuple[float, float]]


def sheet_drawing(
    sheet: DynoSheet, build: Build, fit: SheetFit, width: int, height: int, preferences: Preferences
) -> Drawing:
    """Each measured point as the letter of its count, and the fitted curve of each count, which
    says its letter at its end; rebound below the zero line. Where not all lines have room for
    their words, each count has them once."""
    found = [one for one in (fit.bump, fit.rebound) if one is not None]
    counts = [_counts(build, one) for one in found]
    letters = dict(
        zip(dict.fromkeys(c for of in counts for c in of), ascii_lowercase, strict=False)
    )
    room = canvas_rows(height)
    named: set[str] = set()
    lines: list[Series] = []
    points: list[Series] = []
    for one, of in zip(found, counts, strict=True):
        side = _Side(sheet, build, one, preferences)
        for position, count in zip(one.positions, of, strict=True):
            label = "" if sum(map(len, counts)) > room and count in named else count
            named.add(count)
            lines.append(side.curve(position, label, letters.get(count, "")))
            points += side.measured(position, letters.get(count, ""), most=max(1, width // 5))
    speed, force = preferences.unit("speed"), preferences.unit("force")
    return plot(
        [*lines, *points], width, height, x_label=speed, y_label=force, title=TITLE,
        ink=preferences.ink,
    )  # fmt: skip


def _counts(build: Build, found: DirectionFit) -> list[str]:
    """The measured positions as the crew counts them."""
    counted = counting(build.bleed_adjuster(found.direction))
    return [counted(position) for position in found.positions]


class _Side:
    """One direction of a sheet in the crew's units, the preload adjuster held where it was first
    measured."""

    def __init__(
        self, sheet: DynoSheet, build: Build, found: DirectionFit, preferences: Preferences
    ) -> None:
        self.found, self.direction, self.held = found, found.direction, found.preloads[0]
        self.sign = 1.0 if found.direction == "bump" else -1.0
        self._units = preferences.unit("speed"), preferences.unit("force")
        self._top = max(row.speed for row in sheet.of_direction(self.direction))
        self._sheet, self._columns = sheet, rows_of(sheet, build)
        self._gas = self.sign * (gas_force(sheet, build) or 0.0)

    def curve(self, position: float, label: str, letter: str) -> Series:
        """What was fitted at that position."""
        along = [self._top * (n + 1) / _CURVE_POINTS for n in range(_CURVE_POINTS)]
        force = self.found.predict(position, along, self.held).force
        speeds, forces = self._shown(list(zip(along, map(float, force), strict=True)))
        return Series(speeds, forces, self.direction, label, marker=letter, marked=[])

    def measured(self, position: float, letter: str, most: int) -> Iterator[Series]:
        """What was measured there, in series of so few points that each shows its letter."""
        points = list(self._points(position))
        for first in range(0, len(points), most):
            some = [point for at in points[first : first + most] for point in (at, _GAP)]
            yield Series(*self._shown(some), self.direction, marker=letter or "•")

    def _points(self, position: float) -> Iterator[tuple[float, float]]:
        """(speed, force without gas) of the rows at that position."""
        at, held = self._columns.position_from_hard, self._columns.preload_from_hard
        for n, row in enumerate(self._sheet.rows):
            if row.direction != self.direction or at[n] != position:  # type: ignore[index]
                continue
            if held is None or held[n] == self.held:  # type: ignore[index]
                yield row.speed, row.force - self._gas

    def _shown(self, points: _Points) -> tuple[list[float], list[float]]:
        speed, force = self._units
        return (
            [from_si(v, "speed", speed) for v, _ in points],
            [self.sign * from_si(f, "force", force) for _, f in points],
        )


_GAP: Final = (float("nan"), float("nan"))
