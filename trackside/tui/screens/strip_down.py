"""The strip-down of a damper as a job: its steps in the order of the work, ticked one by one, the
caution of the step under the cursor whole beneath."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final

from rich.text import Text

from trackside.errors import TracksideError
from trackside.preferences import data_folder
from trackside.tui.asking import Answers, Keeping, put_questions
from trackside.tui.commands import key_of
from trackside.tui.widgets.ask import Question
from trackside.tui.widgets.list_box import ListBox

if TYPE_CHECKING:
    from trackside.crew.strip_downs import StripDownJob, StripDowns
    from trackside.logbook import Write
    from trackside.tui.page import Page

KEYS: Final = "Enter tick · v figures · f forecast · a e x · P card · = how · c close · Esc"
READING: Final = "f forecast · P card · = how · Space more · Esc back"
HELP: Final = (
    ("Enter", "tick the step under the cursor, or open it again"),
    ("v", "the figures of the job: gas, parts found, what goes in, torque, oil, charge"),
    ("f", "what the build is forecast to make, and the bench run beside it"),
    ("a e x", "a step added, reworded, taken away: the next job has it so too"),
    ("t", "take over what was entered on the build before since"),
    ("P", "the job's card, to be printed"),
    ("=", "how the figures are calculated, from what, and by which source"),
    ("c", "close the job; open steps are said first"),
    ("Space", "further down in all that is said of the step under the cursor"),
    ("Esc B", "back to the shed"),
)
PARTS: Final = "t · take them over"
VALUES, CARD = "values", "card"
CLOSED_UP: Final = "filled"
"""The step (`crew.strip_downs`) after which the parts are what they are."""


class StripDownSteps(ListBox[tuple[str, str]]):
    """The steps of one job. Gives what is to be done next and what was said last."""

    BINDINGS = [
        ("v", "values", "Figures"),
        ("a", "add_step", "Add"),
        ("e", "edit_step", "Reword"),
        ("x,delete", "take_away", "Take away"),
        ("t", "take_parts", "Take parts over"),
        ("f", "forecast", "Forecast"),
        ("P", "card", "Card"),
        ("equals_sign", "formula", "Formula"),
        ("c", "close", "Close"),
        ("escape,B", "leave", "Back"),
        ("space,pagedown", "more", "More"),
        ("question_mark,f3", "help", "Help"),
    ]

    def __init__(self, jobs: StripDowns, job: StripDownJob) -> None:
        super().__init__(self._row, ("Strip-down", HELP))
        self.jobs, self.job = jobs, job

    def formula(self) -> Sequence[str]:
        """How the figures are calculated."""
        from trackside.reports.formulas import STRIP_DOWN

        return STRIP_DOWN

    def on_mount(self) -> None:
        """The cursor is on the first step that is open."""
        super().on_mount()
        self._read(on_open=True)

    def _read(self, said: str = "", error: bool = False, on_open: bool = False) -> None:
        """Read it again; `said` is news, over the keys; `on_open` puts the cursor on the first step
        that is open."""
        from trackside.reports.strip_down_words import stage_words

        record = self.job.record
        if not error:
            try:
                self.job = self.jobs.again(self.job)
            except TracksideError as gone:
                said, error = str(gone), True
            record = self.job.record
        order, opened = record.in_order, record.open_steps
        at = order.index(opened[0]) if on_open and opened else None
        self.ledger.fill(len(order), at)
        build = f" · build {record.build}" if record.build else ""
        self.head("STRIP-DOWN", f"{record.damper} · {stage_words(self.job)}{build}")
        self._about()
        self.news(said, error)

    def _row(self, index: int) -> Text:
        from trackside.reports.strip_down_words import step_line

        step = self.job.record.in_order[index]
        line = step_line(self.job, step, self.desk.preferences)
        return Text(f" {line}", no_wrap=True, overflow="ellipsis")

    @property
    def under_cursor(self) -> str:
        """The step that keys act on; empty where there is none."""
        order = self.job.record.in_order
        at = self.ledger.cursor
        return order[at] if at < len(order) else ""

    def _about(self) -> None:
        """All of the step under the cursor: its caution first, since the hand acts there."""
        keys = READING if self.desk.logbook.read_only else KEYS
        self.show_whole(self._told(self.under_cursor), keys)

    def _told(self, step: str) -> Iterator[tuple[str, str]]:
        from trackside.reports import cautions
        from trackside.reports.forecast_words import kept_words
        from trackside.reports.strip_down_words import (
            about,
            cautions_at,
            doubts,
            planned_lines,
            step_line,
            taken_over_words,
            ticked_by,
        )

        record, preferences = self.job.record, self.desk.preferences
        if step:
            if caution := cautions.whole(cautions_at(step)):
                yield "bold", f"! {caution} {cautions.FIRST}"
            yield "bold", step_line(self.job, step, preferences)
            if who := ticked_by(self.jobs, self.job, step):
                yield "", f"done: {who}"
        for doubt in doubts(self.job, preferences):
            yield "bold", f"! {doubt}"
        if told := taken_over_words(self.jobs.entered_since(self.job), record.build):
            yield "bold", f"{told} ({PARTS})"
        for line in (*about(record), *planned_lines(self.job, preferences)):
            yield "not bold", line
        if record.forecast:
            yield "not bold", f"{kept_words(record.forecast)} (f)"

    # ── keys ────────────────────────────────────────────────────────────────────────────────

    def on_ledger_moved(self) -> None:
        """Another one."""
        self._about()

    def on_ledger_chosen(self) -> None:
        """Tick it, or open it again."""
        step = self.under_cursor
        if not step:
            return
        done = step not in self.job.record.done
        words = self.job.record.steps[step]
        self._change(lambda: self.jobs.turned(self.job, step, done), step, words, done)

    def action_take_away(self) -> None:
        """Off the list."""
        if step := self.under_cursor:
            words = self.job.record.steps[step]
            said = f"taken away: {words}; {key_of('undo')} in the shed brings it back"
            self._change_said(lambda: (self.jobs.taken_away(self.job, step),), said)

    def action_take_parts(self) -> None:
        """What was entered on the build before since."""
        from trackside.reports.strip_down_words import taken_over_words

        told = taken_over_words(self.jobs.entered_since(self.job), self.job.record.build)
        if not told:
            self._read("the build before has nothing that this one lacks")
            return

        def wanted() -> tuple[Write, ...]:
            write = self.jobs.taken_over(self.job)
            return (write,) if write else ()

        self._change_said(wanted, f"taken over into build {self.job.record.build}")

    def action_add_step(self) -> None:
        """One more step, behind the one under the cursor."""
        if self.refuses():
            return
        after = self.under_cursor

        def keep(answers: Answers) -> Keeping:
            if not answers["words"].strip():
                return Keeping()
            write = self.jobs.added(self.job, answers["words"], after)
            return Keeping((write,), "step added: the next job has it too")

        put_questions(self, "New step", (Question("words", "What is done"),), keep, self._read)

    def action_edit_step(self) -> None:
        """Other words for the step under the cursor."""
        step = self.under_cursor
        if not step or self.refuses():
            return

        def keep(answers: Answers) -> Keeping:
            write = self.jobs.reworded(self.job, step, answers["words"])
            return (
                Keeping((write,), "step reworded: the next job has it so too")
                if write
                else (Keeping())
            )

        question = Question("words", "What is done", text=self.job.record.steps[step])
        put_questions(self, f"Step of {self.job.record.damper}", (question,), keep, self._read)

    def action_close(self) -> None:
        """Put it away; which steps are open is said first."""
        if self.refuses():
            return
        try:
            write = self.jobs.closed(self.job)
        except TracksideError as left:
            self._ask_close(str(left))
        else:
            self._change_said(lambda: (write,), "closed")

    def _ask_close(self, why: str) -> None:
        def keep(answers: Answers) -> Keeping:
            if answers["sure"].strip().casefold() != "yes":
                return Keeping()
            return Keeping((self.jobs.closed(self.job, though_open=True),), "closed, steps open")

        question = Question("sure", "Close it all the same?", choices=("yes", "no"))
        put_questions(self, f"Close {self.job.record.damper}", (question,), keep, self._read, why)

    def _change(
        self, wanted: Callable[[], Sequence[Write]], step: str, words: str, done: bool
    ) -> None:
        """Tick it, and say what came of it."""

        def said(writes: Sequence[Write]) -> str:
            made = next(
                (w.body["version"] for w in writes if w.kind == "build" and w.op == "put"), ""
            )
            if made:
                return f"done: build {made} begun as a copy of the one before; enter its parts"
            charged = any(w.kind == "build" for w in writes)
            more = ", and the build's charge is set at 20 °C" if charged else ""
            return f"{'done' if done else 'to do again'}: {words}{more}"

        self._change_said(wanted, said, on_open=done, closes_up=done and step == CLOSED_UP)

    def _change_said(
        self,
        wanted: Callable[[], Sequence[Write]],
        said: str | Callable[[Sequence[Write]], str],
        on_open: bool = False,
        closes_up: bool = False,
    ) -> None:
        if self._keeping or self.refuses():
            return
        try:
            writes = wanted()
        except TracksideError as error:
            self._read(f"not saved: {error}", error=True)
            return
        if writes:
            self._keeping = True
            told = said if isinstance(said, str) else said(writes)
            self.run_worker(self._keep(writes, told, on_open, closes_up))

    async def _keep(
        self, writes: Sequence[Write], said: str, on_open: bool, closes_up: bool
    ) -> None:
        if error := await self.write(writes):
            self._read(f"not saved: {error}", error=True)
            return
        self._keeping = closes_up
        kept = closes_up and await self._forecast_kept()
        self._keeping = False
        more = "; its forecast is kept for the bench run" if kept else ""
        self._read(f"{said}{more}", on_open=on_open)

    async def _forecast_kept(self) -> bool:
        """The damper is closed up: keep what it is forecast to make, where that is known."""
        from trackside.crew.forecasts import kept_forecast

        desk = self.desk
        speeds = desk.preferences.reference_speeds
        try:
            write = await asyncio.to_thread(kept_forecast, desk.logbook, self.job, speeds)
            if write:
                await asyncio.to_thread(desk.write, write)
        except TracksideError:
            return False
        return write is not None

    def action_forecast(self) -> None:
        """What the build that comes of it is forecast to make."""
        from trackside.tui.screens.forecast import ForecastPage

        self.app.push_screen(ForecastPage(self.job), lambda _: self._read())

    def action_values(self) -> None:
        """The figures of the job, from the first that the step under the cursor lacks."""
        from trackside.crew.cell_text import spread
        from trackside.reports.strip_down_words import VALUES as OF_STEP

        known, names = spread(self.job.stored), OF_STEP.get(self.under_cursor, ())
        lacking = next((name for name in names if name not in known), next(iter(names), "date"))
        self.dismiss((VALUES, f"strip_down.{lacking}"))

    def action_card(self) -> None:
        """The card of the job, as a page to be printed."""
        self.dismiss((CARD, ""))

    def action_leave(self) -> None:
        """Back to the page."""
        self.dismiss(("", self._said))


def open_job(page: Page, jobs: StripDowns, job: StripDownJob) -> None:
    """Show its steps over that page."""

    def left(found: tuple[str, str] | None) -> None:
        what, told = found or ("", "")
        if what == VALUES:
            page.open_record({"strip_down": job.entity}, told)
        elif what == CARD:
            page.announce(_print(page, jobs, job))
        elif told:
            page.announce(told)

    page.app.push_screen(StripDownSteps(jobs, job), left)


def _print(page: Page, jobs: StripDowns, job: StripDownJob) -> str:
    from trackside.reports.html import html
    from trackside.reports.printing import file_name, write_new
    from trackside.reports.strip_down_words import job_card

    desk = page.desk
    now = datetime.now()
    document = job_card(jobs, jobs.again(job), desk.preferences)
    footer = f"{Path(desk.path).name} · printed {now:%Y-%m-%d %H:%M}"
    name = file_name(f"{now:%Y-%m-%d}", job.record.damper, "strip-down")
    path = write_new(data_folder() / "paper", name, html(document, desk.preferences.paper, footer))
    return f"open in a browser and print: {path}"
