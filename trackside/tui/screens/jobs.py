"""The job list: what is to be done on each car before its next run, ticked with one key."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Final

from rich.cells import set_cell_size
from rich.text import Text

from trackside.crew.belonging import named
from trackside.errors import BadInput, TracksideError
from trackside.tui.asking import Answers, Keeping, put_questions
from trackside.tui.commands import key_of
from trackside.tui.widgets.ask import Question
from trackside.tui.widgets.list_box import ListBox
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.crew.jobs import JobOnList
    from trackside.logbook import Write
    from trackside.tui.page import Page

EMPTY: Final = """
 No job yet. a adds one: what is to be done, and who does it.
 It stays on the list of every run that follows until it is ticked."""
KEYS: Final = "Enter tick · a add · e edit · x take away · Esc back · Space more"


HELP: Final = (
    ("Enter", "tick the job, or open it again"),
    ("a", "add a job: what is to be done, who does it, on which car"),
    ("e", "edit its words, or who does it"),
    ("x Del", "take it off the list"),
    ("Space", "further down in all that is said of the job under the cursor"),
    ("Esc o", "back to the page"),
    ("", "A job stays on the list of every run of its car until it is ticked; what is done is "
     "below, the last first."),
)  # fmt: skip


class JobList(ListBox[str]):
    """Open jobs, those of the car in hand first, then what is done. Gives what was done last, in
    words; nothing where nothing was."""

    BINDINGS = [
        ("a", "add", "Add"),
        ("e", "edit", "Edit"),
        ("x,delete", "take_away", "Take away"),
        ("escape,o", "leave", "Back"),
        ("space,pagedown", "more", "More"),
        ("question_mark,f3", "help", "Help"),
    ]

    def __init__(self, car: str, session: str) -> None:
        super().__init__(self._row, ("Job list", HELP), EMPTY)
        self.car, self.session = car, session
        self.rows: list[JobOnList] = []

    def on_mount(self) -> None:
        """What there is to do."""
        super().on_mount()
        self._read()

    def _read(self, said: str = "", error: bool = False, stay: str = "") -> None:
        """Read it again, the cursor on the job `stay`; `said` is news, over the keys."""
        from trackside.reports.job_words import counted

        jobs = self.desk.jobs
        self.rows = jobs.shown(self.car)
        places = [n for n, job in enumerate(self.rows) if job.entity == stay]
        self.ledger.fill(len(self.rows), places[0] if places else None)
        told = counted(jobs.open_counts()) or "nothing to do"
        car = named(self.desk.logbook, "car", self.car)
        self.head("JOBS", " · ".join(part for part in (car, told) if part))
        self._about()
        self.news(said, error)

    def _row(self, index: int) -> Text:
        from trackside.reports.job_words import job_words

        job = self.rows[index]
        room = self.size.width
        columns = [(job.car_name, 12), (job_words(job), max(24, room - 36))]
        columns += [(job.line.title if job.line else "", 22)]
        cut = (set_cell_size(set_cell_size(one_line(w), n - 1), n) for w, n in columns)
        return Text(" " + "".join(cut))

    @property
    def under_cursor(self) -> JobOnList | None:
        """The job that keys act on."""
        return self.rows[self.ledger.cursor] if self.rows else None

    def _about(self) -> None:
        """All of the job under the cursor, and who wrote what of it."""
        job, reading = self.under_cursor, self.desk.logbook.read_only
        keys = "Space more · Esc back" if reading else KEYS if job else "a add · Esc back"
        self.show_whole(self._told(job) if job else (), keys)

    def _told(self, job: JobOnList) -> Iterator[tuple[str, str]]:
        from trackside.reports.job_words import job_words, ticked_words, written_for
        from trackside.reports.said_words import past_words

        yield "bold", " · ".join(part for part in (job.car_name, job_words(job)) if part)
        if run := written_for(job):
            yield "", run
        if job.is_open:
            yield "italic", "to do: it stays on the list of every run until it is ticked"
        else:
            yield "", ticked_words(self.desk.jobs.ticked(job))
        yield "", ""
        for line in past_words(self.desk.logbook, job.entity):
            yield "not bold", line

    # ── keys ────────────────────────────────────────────────────────────────────────────────

    def on_ledger_moved(self) -> None:
        """Another one."""
        self._about()

    def on_ledger_chosen(self) -> None:
        """Tick it, or open it again."""
        job = self.under_cursor
        if job is None:
            return
        done = job.is_open
        said = f"{'done' if done else 'to do again'}: {job.record.words}"
        self._change(lambda: self.desk.jobs.turned(job, done), said, job.entity)

    def action_take_away(self) -> None:
        """Off the list."""
        job = self.under_cursor
        if job is not None:
            said = f"taken away: {job.record.words} · {key_of('undo')} on the page brings it back"
            self._change(lambda: self.desk.jobs.taken_away(job), said)

    def action_add(self) -> None:
        """Write one down for the car in hand."""
        from trackside.crew.jobs import cars

        if self.refuses():
            return
        known = dict(cars(self.desk.logbook))
        names = tuple(known.values())
        questions = [Question("words", "To do"), Question("who", "Who")]
        if len(known) > 1:
            here = known.get(self.car, names[0])
            questions.append(Question("car", "Car", text=here, choices=names))

        def keep(answers: Answers) -> Keeping:
            if not answers["words"].strip():
                return Keeping()
            named = answers.get("car", known.get(self.car, next(iter(names), "")))
            car = next((entity for entity, name in known.items() if name == named), "")
            if names and not car:
                raise BadInput(f"“{one_line(named)}” is no car here", ", ".join(names))
            session = self.session if car == self.car else self._newest(car)
            write = self.desk.jobs.added(answers["words"], answers["who"], car, session)
            return Keeping((write,), f"added: {one_line(answers['words'])}")

        put_questions(self, "New job", questions, keep, self._read)

    def _newest(self, car: str) -> str:
        lines = self.desk.logbook.session_lines(car=car, limit=1)
        return lines[0].entity if lines else ""

    def action_edit(self) -> None:
        """Other words, or another hand."""
        job = self.under_cursor
        if job is None or self.refuses():
            return
        questions = (
            Question("words", "To do", text=job.record.words),
            Question("who", "Who", text=job.record.who or ""),
        )

        def keep(answers: Answers) -> Keeping:
            write = self.desk.jobs.edited(job, answers["words"], answers["who"])
            return Keeping((write,), "job changed") if write else Keeping()

        def changed(said: str) -> None:
            self._read(said, stay=job.entity)

        put_questions(self, f"Edit job …{job.code}", questions, keep, changed)

    def _change(self, wanted: Callable[[], Write | None], said: str, stay: str = "") -> None:
        if self._keeping or self.refuses():
            return
        try:
            write = wanted()
        except TracksideError as error:
            self._read(f"not saved: {error}", error=True, stay=stay)
            return
        if write is not None:
            self._keeping = True
            self.run_worker(self._keep(write, said, stay))

    async def _keep(self, write: Write, said: str, stay: str) -> None:
        if error := await self.write((write,)):
            self._read(f"not saved: {error}", error=True, stay=stay)
        else:
            self._read(said)

    def action_leave(self) -> None:
        """Back to the page."""
        self.dismiss(self._said)


def list_jobs(page: Page, car: str, session: str) -> None:
    """Open it over that page, for that car and run."""

    def left(said: str | None) -> None:
        if said:
            page.announce(said)

    page.app.push_screen(JobList(car, session), left)
