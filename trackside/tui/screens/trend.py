"""The trend: one corner over the runs of its car, what was turned, and what came of it."""

from __future__ import annotations

from collections.abc import Iterable

from rich.cells import cell_len, set_cell_size
from rich.text import Text
from textual.widget import Widget
from textual.widgets import Static

from trackside.analysis.trend_rows import TrendRows
from trackside.charts import Drawing
from trackside.errors import TracksideError
from trackside.reports import formatting
from trackside.tui.calculating import CornerPage
from trackside.tui.commands import bindings_of
from trackside.tui.page import OF_A_SESSION
from trackside.tui.palette import styled
from trackside.tui.trendline import (
    chart,
    force_words,
    in_chart,
    in_full,
    lap_words,
    laps,
    position_words,
    watched,
)
from trackside.tui.widgets.ledger import Ledger
from trackside.units import one_line


class _Sessions(Ledger, inherit_bindings=False):
    """The list; left and right belong to the page."""


class TrendPage(CornerPage):
    """Force at one reference speed, session by session; newest on top of the list, right in the
    chart."""

    PAGE = "trend"
    BINDINGS = bindings_of("trend")

    def __init__(self) -> None:
        super().__init__()
        self.rows: TrendRows | None = None
        self.at_speed = 1
        self._of = ""
        self._here = ""
        """The session in hand when last shown, and the one under the cursor."""

    def body(self) -> Iterable[Widget]:
        """What it is, chart, laps, sessions."""
        yield Static("", id="trend-of", markup=False)
        yield Static("", id="trend-watch", markup=False)
        yield Static("", id="trend-chart", markup=False)
        yield Static("", id="trend-laps", markup=False)
        yield _Sessions(self._row, id="trend-sessions")

    def on_mount(self) -> None:
        """The list has the keys."""
        self.query_one(Ledger).focus()

    @property
    def cursor(self) -> int:
        """The session under the cursor, counted from the oldest."""
        return len(self.rows or ()) - 1 - self.query_one(Ledger).cursor

    # ── drawing ─────────────────────────────────────────────────────────────────────────────

    def show(self) -> None:
        """Read the car's sessions again."""
        desk = self.desk
        speeds = desk.preferences.reference_speeds
        self.at_speed = min(self.at_speed, len(speeds) - 1)
        if waiting := self.not_yet():
            self._nothing(waiting)
            return
        assert desk.shed is not None
        if desk.entity != self._of:
            self._of = self._here = desk.entity
        logbook, car, shed = desk.logbook, desk.session.car, desk.shed
        corner, direction = self.view.corner, self.view.direction
        serial = desk.session.corner(corner).damper or ""

        def work() -> tuple[TrendRows, str]:
            rows = TrendRows(logbook, car, corner, direction, shed, speeds)
            return rows, watched(logbook, shed, serial)

        self.calculate(work, self._read)

    def _wanted(self, count: int, width: int) -> list[int]:
        """The rows in the chart, around the cursor, and in sight."""
        room, ledger = self.size.height, self.query_one(Ledger)
        in_sight = count - 1 - int(ledger.scroll_offset.y)
        return [
            *in_chart(count, self.cursor, width),
            *range(self.cursor - room, self.cursor + room),
            *range(in_sight - room, in_sight + 1),
        ]

    def _nothing(self, words: str) -> None:
        self.rows = None
        self.query_one("#trend-of", Static).update(Text(words), layout=False)
        self.query_one("#trend-watch").display = False
        for name in ("#trend-chart", "#trend-laps"):
            self.query_one(name, Static).update("", layout=False)
        self.query_one(Ledger).fill(0)

    def _read(self, answer: tuple[TrendRows, str] | TracksideError) -> None:
        if isinstance(answer, TracksideError) or not answer[0]:
            nothing = isinstance(answer, TracksideError)
            self._nothing(str(answer) if nothing else "no session of this car yet")
            return
        rows, told = answer
        self.rows, here = rows, self._here
        place = rows.entities.index(here) if here in rows.entities else len(rows) - 1
        watch = self.query_one("#trend-watch", Static)
        watch.display = bool(told)
        watch.update(Text(told, "bold", no_wrap=True, overflow="ellipsis"))
        self.query_one(Ledger).fill(len(rows), len(rows) - 1 - place)
        self._picture()

    def _picture(self) -> None:
        """The chart around the cursor, and the rows beside it."""
        rows, cursor = self.rows, self.cursor
        if not rows:
            return
        desk, at_speed, corner = self.desk, self.at_speed, self.view.corner
        self._here = rows.entities[cursor]
        preferences = desk.preferences
        rod = formatting.speed(preferences.reference_speeds[at_speed], preferences, with_unit=True)
        title = Text.assemble(
            (f"{corner} {self.view.direction} at {rod}", "bold"),
            "  band 95 %, ◆ turned or swapped, gap: no estimate",
            no_wrap=True,
            overflow="ellipsis",
        )
        self.query_one("#trend-of", Static).update(title, layout=False)
        room = self.query_one("#trend-chart", Static).size
        wanted = self._wanted(len(rows), room.width)

        def work() -> tuple[Text, str, Drawing | None]:
            rows.read(wanted)
            return (
                laps(rows, cursor, room.width, preferences.ink),
                one_line(in_full(rows[cursor], at_speed, preferences)),
                chart(rows, cursor, at_speed, corner, preferences, room.width, room.height)
                if room.width >= 20
                else None,
            )

        self.calculate(work, self._draw)

    def _draw(self, answer: tuple[Text, str, Drawing | None] | TracksideError) -> None:
        if isinstance(answer, TracksideError):
            self._nothing(str(answer))
        elif self.rows:
            lap_line, words, drawing = answer
            self.query_one("#trend-laps", Static).update(lap_line, layout=False)
            self.say(words)
            self.query_one(Ledger).refresh()
            if drawing is not None:
                picture = styled(drawing, self.app.theme)
                self.query_one("#trend-chart", Static).update(picture, layout=False)

    def _row(self, index: int) -> Text:
        row = self.rows.known(len(self.rows) - 1 - index) if self.rows else None
        if row is None:  # scrolled into sight, away from the cursor
            self.call_later(self._picture)
            return Text(" …")
        wide, narrow = self.has_class("wide"), self.has_class("narrow")
        lap = row.best_lap
        moved = row.point.moved or ("no estimate" if row.point.estimate is None else "")
        columns = [
            (row.start[5:10] or "–", 6) if narrow else (row.start[5:16] or "no time", 12),
            (row.title if wide else row.code, 17 if wide else 5),
            (row.driver if wide else "", 18 if wide else 0),
            (position_words(row), 11),
            (force_words(row, self.at_speed, self.desk.preferences, wide), 17 if wide else 12),
            (moved, 20 if wide else 16 if narrow else 15),
            ("" if lap is None else lap_words(lap), 10),
            (row.verdict, 14),
        ]
        return Text(" " + "".join(_cell(text, width) for text, width in columns if width))

    # ── commands ────────────────────────────────────────────────────────────────────────────

    def on_ledger_moved(self) -> None:
        """Another session."""
        self._picture()

    def on_ledger_chosen(self) -> None:
        """Enter on a session."""
        self.action_open()

    def action_open(self) -> None:
        """Open the session under the cursor."""
        if self.rows and self.hand_over("sheet"):
            self.go("sheet")

    def hand_over(self, page: str) -> bool:
        """The session under the cursor is the one that another page is about."""
        if self.rows and page in OF_A_SESSION and page != self.PAGE:
            try:
                self.take_in_hand(self.rows.entities[self.cursor])
            except TracksideError as error:
                self.say(str(error), "error")
                return False
        return True

    def action_older(self) -> None:
        """The session before."""
        ledger = self.query_one(Ledger)
        ledger.move(ledger.cursor + 1)

    def action_newer(self) -> None:
        """The session after."""
        ledger = self.query_one(Ledger)
        ledger.move(ledger.cursor - 1)

    def action_speed(self, by: int) -> None:
        """The next reference speed, or the one before."""
        speeds = self.desk.preferences.reference_speeds
        self.at_speed = max(0, min(len(speeds) - 1, self.at_speed + by))
        self._picture()


def _cell(text: str, width: int) -> str:
    text = one_line(text)
    if cell_len(text) >= width:
        text = set_cell_size(text, width - 2).rstrip() + "…"
    return set_cell_size(text, width)
