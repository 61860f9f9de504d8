"""One line of the pit board: its columns are as wide as the names need, while there is room."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from typing import NamedTuple

from rich.cells import cell_len
from rich.text import Text

from trackside.logbook import SessionLine
from trackside.records.laps import FROM_LAPS
from trackside.reports.when_words import when_short
from trackside.tui.widgets.cells import fit
from trackside.units import one_line, show_lap

_START, _TITLE, _LAP, _LAPS, _MARKS = 12, 14, 10, 8, 3
_WIDE, _RUN = 100, 5
"""A list as wide as that has so many cells more for a title: `qualifying 1 run 2`."""
_INDENT = 1
_OPEN = 7
"""Cells kept for what is missing, at the end of the line: `aborted`, `not run`, `lacks 3`."""


class Columns(NamedTuple):
    """The width of the list, and what car and driver take of it; a narrow one leaves out laps."""

    width: int
    narrow: bool
    car: int
    driver: int
    title: int

    @classmethod
    def for_names(cls, width: int, narrow: bool, names: Collection[tuple[str, str]]) -> Columns:
        """Wide enough for those cars and drivers; without room for all the longer give way."""
        gap = 1 if narrow else 2
        title = _TITLE + _RUN * (width >= _WIDE)
        car = max((cell_len(car) for car, _ in names), default=0) + gap
        driver = max((cell_len(driver) for _, driver in names), default=0) + gap
        taken = _INDENT + _START + title + _LAP + _MARKS + _OPEN + _LAPS
        room = max(0, width - taken + (_LAPS + 1 if narrow else 0))
        if car + driver > room:
            car = min(car, max(room - driver, room // 2))
            driver = min(driver, room - car)
        return cls(width, narrow, car, driver, title)

    def found(self, line: SessionLine, said: str) -> Text:
        """The line of a run that a search found: which it is, and the value that fits."""
        title = self.title - self.narrow
        cells = (
            (when_short(line) or "no time", _START),
            (_title(line, title - 1), title),
            (line.car_name, self.car),
            (line.driver, self.driver),
        )
        text = " " * _INDENT + "".join(f"{fit(words, room - 1)} " for words, room in cells)
        room = max(_OPEN, self.width - cell_len(text))
        return Text.assemble(text, (fit(one_line(said), room).rstrip(), "bold"))

    def row(self, line: SessionLine) -> Text:
        """The line of a session; at its end what is missing, in figures where words are long."""
        title = self.title - self.narrow
        laps = "" if line.laps is None else f"{line.laps:.0f} laps"
        if line.laps is None and line.timed_laps:
            laps = f"{line.timed_laps} timed"
        best = show_lap(line.best_lap_s) if line.best_lap_s else ""
        if not best and line.best_timed_s:
            best = show_lap(line.best_timed_s) + FROM_LAPS
        cells = (
            (when_short(line) or "no time", _START),
            (_title(line, title - 1), title),
            (line.car_name, self.car),
            (line.driver, self.driver),
            (best, _LAP),
            *([] if self.narrow else [(laps, _LAPS)]),
            (("★" if line.kept else " ") + ("≈" if line.wet else " "), _MARKS),
        )
        text = " " * _INDENT + "".join(f"{fit(words, room - 1)} " for words, room in cells)
        points = unfinished(line)
        told = ", ".join(points)
        if cell_len(text + told) > self.width and len(points) > 1:
            told = f"lacks {len(points)}"
        return Text.assemble(text, (told, "italic"))


def _title(line: SessionLine, room: int) -> str:
    """The title in that many cells: of a long one the run's word is short, then the kind."""
    if line.run and cell_len(line.title) > room:
        end = f"{line.number} r{line.run}".strip()
        return f"{fit(line.kind, room - cell_len(end) - 1).rstrip()} {end}"
    return line.title


def from_laps(line: SessionLine) -> str:
    """What that line says of the run that nobody typed, and the lap times give; "" as a rule."""
    best = f"best {show_lap(line.best_timed_s)}" if not line.best_lap_s else ""
    count = f"{line.timed_laps} timed" if line.laps is None else ""
    said = ", ".join(part for part in (best, count) if part)
    return f"{FROM_LAPS} from the lap times: {said}" if line.timed_laps and said else ""


def unfinished(line: SessionLine) -> list[str]:
    """What is missing of a session that ran; of another that it is to run, or did not."""
    if not line.ran:
        late = line.is_dated and line.start[:10] < date.today().isoformat()
        return ["not run" if late else "to run"]
    if line.status == "aborted":
        return ["aborted"]
    points = (
        ("no hot pressures", not line.hot_pressures),
        ("no note", not line.notes),
        ("no best lap", not line.best_lap_s and not line.best_timed_s),
    )
    return [words for words, missing in points if missing]
