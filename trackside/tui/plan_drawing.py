"""The board of plans as it is painted, and its figures, worked out beside the thread that draws."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from rich.cells import set_cell_size
from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.message import Message
from textual.widgets import Static

from trackside.crew.plans import KnownPlan, Plans
from trackside.errors import TracksideError
from trackside.records import Session
from trackside.reports import plan_board
from trackside.reports.plan_board import Facts, Row
from trackside.reports.plan_words import cell_words
from trackside.tui.widgets.box import Box
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.analysis.estimate_cache import EstimateCache

KEYS: Final = "n new · h s step · H S axle · [ ] corner · t take · P print · ? how · Esc back"
LABEL: Final = 12
LEAST: Final = 15
"""Columns of a label, and the least of a plan."""
CELLS: Final = 5
"""So many cells are in sight at least."""


@dataclass
class Column:
    """One column: the run itself, or a plan of it."""

    name: str
    session: Session
    plan: KnownPlan | None = None


@dataclass
class Worked(Message):
    """The figures of a corner, by column, or why there are none."""

    corner: str
    facts: list[Facts] | TracksideError


class PlanDrawing(Box[tuple[str, str]]):
    """Columns and rows, the cursor on them, what is known of each figure. The keys are the box's
    own."""

    def __init__(self, shown: str = "") -> None:
        super().__init__()
        self.shown = shown
        """The plan to begin on, by its code."""
        self.columns: list[Column] = []
        self.rows: list[Row] = []
        self.at, self.line = 0, 0
        """The column and the row under the cursor."""
        self.corner, self.way = "FL", "rebound"
        self.facts: list[Facts] = []
        self.stale = True
        """Whether figures are on their way for what is shown."""
        self.known: EstimateCache | None = None
        self._memo: dict[tuple[Any, ...], Any] = {}
        self.day: list[dict[str, list[str]]] = []
        """By column and corner, what today's air asks for."""
        self._runs: list[Session] | None = None
        self._at_work = self._again = self._keeping = False

    @property
    def coming(self) -> bool:
        """Whether keys have to wait: something is being written."""
        return self._keeping or not self.is_mounted

    def compose(self) -> ComposeResult:
        """Heading, the board, what the cursor is on, keys."""
        yield Static("", id="heading", markup=False)
        yield Static("", id="plan-board", markup=False)
        yield Static("", id="job-said", markup=False)
        yield Static("", id="job-keys", markup=False)

    def on_mount(self) -> None:
        """The plans of the run in hand."""
        view = self.host.view
        self.corner, self.way = view.corner, view.direction
        self.query_one("#job-keys", Static).update(KEYS)
        self._read()

    # ── what is shown ───────────────────────────────────────────────────────────────────────

    def _read(self, said: str = "", stay: str = "") -> None:
        """Read the plans again, the cursor on the plan `stay`."""
        desk, run = self.desk, self.desk.session
        found = [one for one in Plans(desk.logbook).of_run(desk.entity) if one.is_open]
        plans = [Column(f"plan {p.record.name}", p.record.applied_to(run), p) for p in found]
        self.columns = [Column("as run" if run.ran else "as set", run), *plans]
        wanted = stay or self.shown
        codes = [column.plan.entity if column.plan else "" for column in self.columns]
        self.at = codes.index(wanted) if wanted in codes else min(self.at, len(codes) - 1)
        self.shown = ""
        words = f" {desk.line().title.capitalize()} · {desk.car_name()} · {len(found)} open"
        heading = Text.assemble((" PLANS ", "reverse bold"), words, no_wrap=True)
        self.query_one("#heading", Static).update(heading)
        self._lay_out()
        self._tell(said)

    def _lay_out(self) -> None:
        """The rows of the corner, painted with what is known; the figures follow."""
        desk = self.desk
        run = self.columns[0].session
        build = desk.shed.build_at(run, self.corner) if desk.shed else None
        sessions = [column.session for column in self.columns]
        self._cells = plan_board.cell_rows(run, sessions, build, self.corner)
        wide = self.size.height >= 34
        ways = (self.way, "bump" if self.way == "rebound" else "rebound") if wide else (self.way,)
        self._figures = plan_board.figure_rows(self.corner, ways, desk.preferences)
        self.rows = [*self._cells, *self._figures]
        self.line = min(self.line, len(self.rows) - 1)
        self.calculate()
        self._paint()

    @property
    def row(self) -> Row:
        """The row under the cursor."""
        return self.rows[self.line]

    @property
    def column(self) -> Column:
        """The column under the cursor."""
        return self.columns[self.at]

    def _paint(self) -> None:
        """The board as far as it is known: figures that are being worked out are dim."""
        room, width = self.query_one("#plan-board").size.height or 18, self.size.width
        many = max(1, (width - LABEL) // (LEAST + 1))
        first = max(1, min(self.at - many + 2, len(self.columns) - many + 1))
        seen = [0, *range(first, min(len(self.columns), first + many - 1))]
        each = max(LEAST, min(24, (width - LABEL) // len(seen) - 1))
        cells = max(CELLS, min(len(self._cells), room - 2 - len(self._figures)))
        top = max(0, min(self.line - cells + 1, len(self._cells) - cells))
        in_sight = [*range(top, min(top + cells, len(self._cells)))]
        head = Text(set_cell_size(f" {self.corner} {self.way}", LABEL), "bold")
        for n in seen:
            style = "reverse bold" if n == self.at else "bold"
            head.append(set_cell_size(one_line(self.columns[n].name), each), style).append(" ")
        lines = [head, *(self._line_of(n, seen, each) for n in in_sight)]
        force = self.desk.preferences.unit("force")
        speed = self.desk.preferences.unit("speed")
        lines.append(Text(set_cell_size(f" {force} at {speed}, step", width), "underline dim"))
        lines += [self._line_of(n, seen, each) for n in range(len(self._cells), len(self.rows))]
        board = Text("\n", no_wrap=True, overflow="crop").join(lines[:room] if room else lines)
        self.query_one("#plan-board", Static).update(board, layout=False)

    def _line_of(self, n: int, seen: Sequence[int], each: int) -> Text:
        row, here = self.rows[n], n == self.line
        text = Text(set_cell_size(f" {one_line(row.label)}", LABEL), "bold" if here else "")
        for at in seen:
            words, changed = self._said(row, at, each)
            lit = "reverse" if here and at == self.at else "bold" if changed else ""
            if row.kind != "cell" and self.stale:
                lit = f"{lit} dim".strip()
            text.append(set_cell_size(words, each), lit).append(" ")
        return text

    def _said(self, row: Row, at: int, each: int) -> tuple[str, bool]:
        column, preferences = self.columns[at], self.desk.preferences
        if row.kind == "cell":
            changed = column.plan is not None and row.path in column.plan.record.cells
            words = cell_words(column.session.value(row.path), row.path, preferences)
            return one_line(words), changed
        facts = self.facts[at] if at < len(self.facts) else {}
        return plan_board.figure(row, facts, preferences, each), False

    def _tell(self, said: str = "", problem: bool = False) -> None:
        """News, else what the cursor is on; until there is a plan, how to begin one."""
        if not said and len(self.columns) == 1:
            said = "no plan yet: press n for one from this run, which it leaves alone"
        elif not said and self.rows and self.row.kind != "cell" and self.at < len(self.facts):
            said = plan_board.in_words(self.row, self.facts[self.at], self.desk.preferences)
        elif not said:
            said = self._unknown() or self._today()
        self.query_one("#job-said", Static).update(Text(said, "bold" if problem else ""))

    def _unknown(self) -> str:
        """Why the column under the cursor has no estimate; empty where it has."""
        force = next((row for row in self._figures if row.kind == "force"), None)
        if force is None or self.at >= len(self.facts):
            return ""
        words = plan_board.in_words(force, self.facts[self.at], self.desk.preferences)
        return words if "no estimate" in words or "not known" in words else ""

    def _today(self) -> str:
        """With the cursor on a pressure, what today's air asks for there."""
        if not self.rows or self.at >= len(self.day):
            return ""
        corner, _, name = self.row.path.partition(".")
        begins = {"cold_pressure": "cold", "hot_target": "cold", "gas_pressure": "the same"}
        lines = self.day[self.at].get(corner, [])
        return next((one for one in lines if one.startswith(begins.get(name, "–"))), "")

    # ── figures ─────────────────────────────────────────────────────────────────────────────

    def calculate(self) -> None:
        """Work the figures out beside the drawing; of what is asked meanwhile only the newest."""
        self.stale = True
        if self._at_work:
            self._again = True
            return
        desk = self.desk
        if desk.shed is None:
            self.set_timer(0.1, self.calculate)
            return
        self._at_work = True
        sessions = [column.session for column in self.columns]
        self.run_worker(self._work(sessions, self.corner), thread=True, group="plan")

    def _work(self, sessions: Sequence[Session], corner: str) -> Callable[[], None]:
        def work() -> None:
            try:
                self.post_message(Worked(corner, self.figures(sessions, corner)))
            except TracksideError as error:
                self.post_message(Worked(corner, error))

        return work

    def figures(self, sessions: Sequence[Session], corner: str) -> list[Facts]:
        """The facts of that corner and of the other end on its side, column by column; what was
        worked out once is not again."""
        from trackside.analysis.estimate_cache import EstimateCache
        from trackside.analysis.outings import newest_that_ran
        from trackside.analysis.plan import plan_corner
        from trackside.reports.air_words import day_told

        desk, run = self.desk, sessions[0]
        shed, preferences = desk.shed, desk.preferences
        assert shed is not None
        if self.known is None or self.known.shed is not shed:
            self.known, self._memo = EstimateCache(shed, preferences.reference_speeds), {}
        found: list[Facts] = []
        for session in sessions:
            here = {}
            for at in plan_board.corners_of(corner):
                key = at, run.corner(at).model_dump_json(), session.corner(at).model_dump_json()
                if key not in self._memo:
                    peak = preferences.peak_speed
                    self._memo[key] = plan_corner(run, session, at, shed, self.known, peak)
                here[at] = self._memo[key]
            found.append(here)
        if self._runs is None:
            self._runs = newest_that_ran(desk.logbook, desk.entity)
        self.day = [day_told(self._runs, run, session, preferences) for session in sessions]
        return found

    def on_worked(self, message: Worked) -> None:
        """Draw them, or work out what was asked for meanwhile."""
        self._at_work = False
        if self._again or message.corner != self.corner:
            self._again = False
            self.calculate()
            return
        if isinstance(message.facts, TracksideError):
            self._tell(str(message.facts), problem=True)
            return
        self.facts, self.stale = message.facts, False
        self._paint()

    def on_resize(self, event: events.Resize) -> None:
        """Columns for the width."""
        if self.columns:
            self.call_after_refresh(self._lay_out)
