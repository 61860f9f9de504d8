"""One corner over the runs of a car: a row for each, worked out a page at a time."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from trackside.analysis.estimate import Speeds
from trackside.analysis.lap_figures import LapFigure, best_lap
from trackside.analysis.shed import Shed
from trackside.analysis.trend import TrendPoint, trend
from trackside.logbook import Logbook
from trackside.logbook.pitboard import title_of
from trackside.records import Change, Session

PAGE = 64
BACK = 8
"""How many sessions before a page are looked at for what its first row was turned from."""


@dataclass(frozen=True)
class TrendRow:
    """One session on the line: how it is called, its point, and what was said of its change. The
    record itself is let go: a page of them is 5 MB."""

    start: str
    kind: str
    number: float | None
    run: float | None
    driver: str
    best_lap: LapFigure | None
    point: TrendPoint
    reasons: tuple[Change, ...]

    @classmethod
    def of(cls, session: Session, point: TrendPoint, reasons: tuple[Change, ...]) -> TrendRow:
        """The row of a session."""
        number, run = (session.si(name) for name in ("number", "run"))
        best = best_lap(session)
        return cls(session.start, session.kind, number, run, session.driver, best, point, reasons)

    @property
    def name(self) -> str:
        """Date, and kind with number, as short as a tick needs them: `05-09 P1`."""
        return f"{self.start[5:10]} {self.code}".strip()

    @property
    def code(self) -> str:
        """`P1` for the first practice, `P1r2` for its second run."""
        run = "" if self.run is None else f"r{self.run:.0f}"
        return self.kind[:1].upper() + _count(self.number) + run

    @property
    def title(self) -> str:
        """`practice 1 run 2`."""
        return title_of(self.kind, _count(self.number), _count(self.run))

    @property
    def verdict(self) -> str:
        """The last verdict written for this session."""
        return next((r.verdict for r in reversed(self.reasons) if r.verdict), "")


class TrendRows(Sequence[TrendRow]):
    """The car's sessions, oldest first, with the force at those rod speeds (m/s).

    Taking a row works its page out, which takes longer than a key may: `read` does it beforehand,
    in a thread, and `known` never does.
    """

    def __init__(
        self,
        logbook: Logbook,
        car: str,
        corner: str,
        direction: str,
        shed: Shed,
        speeds: Speeds,
    ) -> None:
        self.entities = logbook.session_entities(car)[::-1]
        self._logbook, self._shed = logbook, shed
        self._of = corner, direction
        self._speeds = speeds
        self._pages: dict[int, list[TrendRow]] = {}

    def __len__(self) -> int:
        return len(self.entities)

    def __getitem__(self, index: int) -> TrendRow:  # type: ignore[override]
        if not -len(self) <= index < len(self):
            raise IndexError(index)
        page, place = divmod(index % len(self), PAGE)
        if page not in self._pages:
            self._pages[page] = self._worked_out(page * PAGE)
        return self._pages[page][place]

    def read(self, wanted: Iterable[int]) -> None:
        """Work out the pages of these rows; those outside the list are passed over."""
        for index in {n // PAGE * PAGE for n in wanted if 0 <= n < len(self)}:
            self[index]

    def known(self, index: int) -> TrendRow | None:
        """The row, if its page was worked out."""
        page = self._pages.get(index // PAGE)
        return page[index % PAGE] if page else None

    def _worked_out(self, start: int) -> list[TrendRow]:
        first = max(0, start - BACK)
        sessions = self._logbook.session_records(self.entities[first : start + PAGE])
        points = trend(sessions, *self._of, self._shed, self._speeds)
        return [
            TrendRow.of(session, point, self._reasons(entity))
            for (entity, session), point in zip(sessions, points, strict=True)
        ][start - first :]

    def _reasons(self, session: str) -> tuple[Change, ...]:
        return tuple(change for _, change in self._logbook.records(Change, "change", session))


def _count(number: float | None) -> str:
    return "" if number is None else f"{number:.0f}"
