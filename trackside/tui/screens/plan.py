"""Plans side by side with the run as it is: cells stepped with a key, and what that does."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Final

from trackside.crew import plans as verbs
from trackside.crew.plans import Plans
from trackside.errors import TracksideError
from trackside.preferences import data_folder
from trackside.records import Reading, value_body
from trackside.records.fields import CORNERS, OTHER_SIDE
from trackside.reports import plan_board
from trackside.reports.plan_words import cell_words
from trackside.tui.asking import Answers, Keeping, put_questions
from trackside.tui.commands import READING_ONLY, key_of
from trackside.tui.plan_drawing import PlanDrawing
from trackside.tui.widgets.ask import Question
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.logbook import Write
    from trackside.tui.page import Page

DIRECTIONS: Final = ("bump", "rebound")
HELP: Final = (
    ("n", "a new plan, begun as the column under the cursor is"),
    ("h s", "one step harder or softer; what is no knob: more or less"),
    ("H S", "the same on both sides of the axle"),
    ("Enter", "type what the cell is to be"),
    ("Del", "the cell as in the run again"),
    ("[ ]", "another corner"),
    ("x", "bump or rebound in the figures"),
    ("t", "take the plan: a new run with its settings, for a reason"),
    ("P", "print the plan's mechanic's sheet"),
    ("e", "another name for the plan"),
    ("X", "strike the plan off"),
    ("Esc", "back to the run sheet"),
    ("", "No run is touched until a plan is taken. Figures are against the run."),
)


class PlanBoard(PlanDrawing):
    """Gives the run that a plan became, with what is said of it; nothing else where none was."""

    BINDINGS = [
        ("left", "column(-1)", ""),
        ("right", "column(1)", ""),
        ("up", "row(-1)", ""),
        ("down", "row(1)", ""),
        ("home", "row(-99)", ""),
        ("end", "row(99)", ""),
        ("h", "step(1)", "Harder"),
        ("s", "step(-1)", "Softer"),
        ("H", "step(1, True)", "Both"),
        ("S", "step(-1, True)", ""),
        ("enter", "type", "Type"),
        ("delete", "as_run", "As run"),
        ("left_square_bracket", "corner(-1)", ""),
        ("right_square_bracket", "corner(1)", "Corner"),
        ("x", "flip", "Bump/reb"),
        ("n", "new_plan", "New"),
        ("e", "rename", "Name"),
        ("X", "strike_plan", "Strike"),
        ("t", "take_plan", "Take"),
        ("P", "print_plan", "Print"),
        ("question_mark,f3", "help", "How"),
        ("escape", "leave", "Back"),
    ]

    # ── keys ────────────────────────────────────────────────────────────────────────────────

    def action_column(self, by: int) -> None:
        """Another column."""
        self.at = max(0, min(self.at + by, len(self.columns) - 1))
        self._paint()
        self._tell()

    def action_row(self, by: int) -> None:
        """Another row."""
        self.line = max(0, min(self.line + by, len(self.rows) - 1))
        knob = self.row.path.partition(".")[2].partition("_")[0]
        if knob in DIRECTIONS and knob != self.way:
            self.way = knob
            self._lay_out()
        self._paint()
        self._tell()

    def action_corner(self, by: int) -> None:
        """The next corner, or the one before."""
        self.corner = CORNERS[(CORNERS.index(self.corner) + by) % len(CORNERS)]
        self.facts = []
        self._lay_out()
        self._tell()

    def action_flip(self) -> None:
        """Bump or rebound."""
        self.way = "bump" if self.way == "rebound" else "rebound"
        self._lay_out()
        self._tell()

    def action_step(self, steps: int, both: bool = False) -> None:
        """So many steps harder, or more; on both sides of the axle if asked."""
        if not self._may_change():
            return
        corner, _, name = self.row.path.partition(".")
        paths = [self.row.path]
        if both and corner in OTHER_SIDE:
            paths.append(f"{OTHER_SIDE[corner]}.{name}")
        cells: dict[str, Reading | str | None] = {}
        troubles = []
        for path in paths:
            try:
                cells[path] = verbs.stepped(
                    self.column.session, path, steps, self.desk.shed, self.desk.preferences
                )
            except TracksideError as error:
                troubles.append(str(error))
        self._set(cells, " · ".join(troubles))

    def action_as_run(self) -> None:
        """The cell as in the run again."""
        if self._may_change():
            self._set({self.row.path: None})

    def _may_change(self) -> bool:
        """Whether a cell of a plan is under the cursor and may be written; else it is said why."""
        if self.desk.logbook.read_only:
            self._tell(READING_ONLY, problem=True)
        elif self.column.plan is None:
            self._tell("this is the run: press n for a plan of it", problem=True)
        elif self.row.kind != "cell":
            self._tell("move to a cell first", problem=True)
        else:
            return True
        return False

    def _set(self, cells: dict[str, Reading | str | None], trouble: str = "") -> None:
        """Paint the cells, hand them to the logbook, then the figures."""
        column, run = self.column, self.columns[0].session
        plan = column.plan
        assert plan is not None
        record, body = plan.record, {}
        for path, value in cells.items():
            if value is not None and verbs.says_the_same(run.value(path), value, path):
                value = None
            record = record.with_cell(path, value)
            body[path] = value_body(value)
        column.plan, column.session = plan._replace(record=record), record.applied_to(run)
        if body:
            self.stale = True
        self._paint()
        if body:
            self.desk.amend("plan", plan.entity, body)
            self.calculate()
        self._tell(trouble, problem=bool(trouble))

    def action_type(self) -> None:
        """Type what the cell is to be."""
        if not self._may_change():
            return
        path, session, desk = self.row.path, self.column.session, self.desk
        value = session.value(path)
        text = "" if value is None else cell_words(value, path, desk.preferences)

        def keep(answers: Answers) -> str:
            value = verbs.typed(session, path, answers["value"], desk.shed, desk.preferences)
            self._set({path: value})
            return " "

        question = Question("value", one_line(self.row.label), text=text)
        put_questions(self, f"Plan {self.row.path}", (question,), keep, lambda said: None)

    def action_new_plan(self) -> None:
        """A new plan from the run, begun as the column under the cursor is."""
        if self.desk.logbook.read_only:
            self._tell(READING_ONLY, problem=True)
            return
        cells = self.column.plan.record.cells if self.column.plan else {}
        self.desk.flush()
        write = Plans(self.desk.logbook).begun(self.desk.entity, "", cells)
        self._write(write, "begun: step its cells with h and s", write.entity)

    def action_rename(self) -> None:
        """Another name."""
        plan = self.column.plan
        if plan is None or self.desk.logbook.read_only:
            return

        def keep(answers: Answers) -> Keeping:
            write = Plans(self.desk.logbook).renamed(plan, answers["name"])
            return Keeping((write,), "renamed")

        question = Question("name", "Name", text=plan.record.name)
        put_questions(
            self, "Name of the plan", (question,), keep, lambda said: self._read(said, plan.entity)
        )

    def action_strike_plan(self) -> None:
        """Off the list."""
        plan = self.column.plan
        if plan is None or self.desk.logbook.read_only:
            return
        self.desk.flush()
        write = Plans(self.desk.logbook).taken_away(plan)
        said = f"plan {plan.record.name} is gone; {key_of('undo')} on the page brings it back"
        self._write(write, said)

    def _write(self, write: Write, said: str, stay: str = "") -> None:
        if not self._keeping:
            self._keeping = True
            self.run_worker(self._keep(write, said, stay))

    async def _keep(self, write: Write, said: str, stay: str) -> None:
        try:
            await asyncio.to_thread(self.desk.write, write)
        except TracksideError as error:
            self._tell(f"not saved: {error}", problem=True)
        else:
            self._read(said, stay)
        finally:
            self._keeping = False

    def action_take_plan(self) -> None:
        """A new run with the plan's settings, and the reason."""
        plan, desk = self.column.plan, self.desk
        if plan is None or desk.logbook.read_only:
            self._tell("move to a plan first" if plan is None else READING_ONLY, problem=True)
            return
        desk.flush()
        entity = ""

        def keep(answers: Answers) -> Keeping:
            nonlocal entity
            made = Plans(desk.logbook).taken(plan, answers["reason"])
            entity = made.entity
            return Keeping(made.writes, "taken", then)

        def then() -> None:
            name = one_line(plan.record.name)
            self.dismiss((entity, f"plan {name} is to be set now: {key_of('print')} prints it"))

        question = Question("reason", "What it is to bring")
        put_questions(self, "Take this plan", (question,), keep, lambda said: None)

    def action_print_plan(self) -> None:
        """The plan's mechanic's sheet as a file."""
        if self.column.plan is None or self.desk.shed is None:
            self._tell("move to a plan first", problem=True)
            return
        self._tell("writing it …")
        self.run_worker(self._print(self.column.plan.entity))

    async def _print(self, entity: str) -> None:
        from trackside.reports.printing import printed

        desk, shed = self.desk, self.desk.shed
        assert shed is not None
        folder = data_folder() / "paper"
        try:
            await asyncio.to_thread(desk.flush)
            path = await asyncio.to_thread(
                printed, desk.logbook, entity, shed, desk.preferences, "plan", folder
            )
        except TracksideError as error:
            self._tell(str(error), problem=True)
        else:
            self._tell(f"printed to {path}")

    def action_help(self) -> None:
        """How the figure under the cursor is made, then the keys."""
        from trackside.tui.screens.help import HelpCard

        facts = self.facts[self.at] if self.at < len(self.facts) else {}
        made = plan_board.made(self.row, facts, self.desk.preferences)
        card = (*made, ("", ""), *HELP)
        self.app.push_screen(HelpCard("", None, (one_line(self.row.label), card)))

    def action_leave(self) -> None:
        """Back to the page."""
        self.dismiss(None)


def show_plans(page: Page, shown: str = "") -> None:
    """Open it over that page, on that plan."""

    def left(taken: tuple[str, str] | None) -> None:
        if taken:
            page.desk.take(taken[0])
            page.come_afresh()
            page.go("sheet", taken[1])
        else:
            page.redraw()

    page.app.push_screen(PlanBoard(shown), left)
