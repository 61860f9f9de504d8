"""What is asked in the damper shed: a damper, a strip-down, a dyno sheet, and which one counts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import partial

from textual.message import Message

from trackside.analysis.shed import Shed
from trackside.analysis.sheet_gas import GasUnknown
from trackside.analysis.sheet_intake import Intake, judged
from trackside.crew.copies import copied_damper, damper_design, names_in, next_serial
from trackside.crew.sheet_adding import SEEN, add_sheet, choice, let_count, sign_for, waiting
from trackside.crew.sheet_file import gas_of, sheet_of
from trackside.crew.strip_downs import StripDowns
from trackside.errors import BadColumns, BadInput, TracksideError
from trackside.logbook import dampers
from trackside.records import Build, DynoSheet
from trackside.reports import cautions
from trackside.reports.bench_words import sheet_change_words
from trackside.reports.copy_words import OF_ONE_DAMPER, copied_words, taken_words
from trackside.reports.sheet_warning_words import OTHER_COUNTS, waiting_words, warning_words
from trackside.tui.commands import key_of
from trackside.tui.note_forms import Answers, Keeping, NoteForms
from trackside.tui.screens.strip_down import open_job
from trackside.tui.sheet_columns import COLUMNS, column_questions, columns_of
from trackside.tui.widgets.ask import Question
from trackside.units import one_line

_PLAN, _RESEAL = "plan", "reseal"
_HOW = ("yes", "no", _PLAN, _RESEAL)
_HOW_SAID = "yes: at once · plan: a job · reseal: a job"
_COUNT, _KEEP, _DROP, _OTHER = "count", "keep", "drop", "other"


@dataclass
class Loaded(Message):
    """A sheet of a build was read from a file and judged, or could not be; `form` and `answers`
    named it."""

    found: Intake | TracksideError
    build: Build
    form: str
    answers: Answers


def new_damper(page: NoteForms) -> None:
    """A damper: its serial first."""

    def named(answers: Answers) -> Keeping:
        serial = one_line(answers["serial"])
        if not serial:
            return Keeping()
        logbook = page.desk.logbook
        return Keeping(
            tuple(dampers.new_damper(logbook, serial)),
            then=lambda: page.open_record(dampers.records_of(logbook, serial)),
        )

    page.ask("New damper", [Question("serial", "Serial, as engraved")], named)


def copy_damper(page: NoteForms, serial: str, saved: Callable[[str], None]) -> None:
    """More dampers of the same design, under the serials that follow; `saved` is told the first."""
    logbook = page.desk.logbook

    def named(answers: Answers) -> Keeping:
        serials = names_in(answers["serials"])
        if not serials:
            return Keeping()
        copies = copied_damper(logbook, serial, serials)
        told = copied_words(copies, OF_ONE_DAMPER)

        def there() -> None:
            saved(copies.names[0])
            page.announce(f"{told}; {key_of('undo')} takes it back")

        return Keeping(copies.writes, then=there)

    next_one = next_serial(logbook, serial)
    hint = "as engraved; several: TW-2242, TW-2243"
    question = Question("serials", "Serials", next_one, hint=hint, guess=True)
    takes = taken_words(damper_design(logbook, serial), OF_ONE_DAMPER)
    guess = f" {next_one} is a guess: typing replaces it." if next_one else ""
    page.ask(f"Dampers like {serial}", [question], named, f"{takes.capitalize()}.{guess}")


def new_build(page: NoteForms, serial: str) -> None:
    """A strip-down: the job in hand where there is one, else a plan, or a new build at once."""
    jobs = StripDowns(page.desk.logbook)
    if job := jobs.in_hand(serial):
        open_job(page, jobs, job)
        return
    questions = [
        Question("work", "What is done, and why", many=True),
        Question("sure", "Write it down?", choices=_HOW, hint=_HOW_SAID),
    ]
    caution = cautions.whole(cautions.on_record("build", "version"))
    page.ask(f"Strip-down of {serial}", questions, partial(_stripped, page, serial), caution)


def _stripped(page: NoteForms, serial: str, answers: Answers) -> str | Keeping:
    work, sure = answers["work"].strip(), answers["sure"].strip()
    if sure not in ("", *_HOW):
        raise BadInput(f"“{sure}” is not an answer here", f"type {' or '.join(_HOW)}")
    if sure == "no" or not (work or sure):
        return "no new build"
    logbook = page.desk.logbook
    if sure in (_PLAN, _RESEAL):
        jobs = StripDowns(logbook)
        plan = jobs.planned(serial, work, reseal=sure == _RESEAL)
        return Keeping((plan,), then=lambda: _show_planned(page, jobs, serial))
    build = dampers.strip_down(logbook, serial, work)
    told = (
        f"build {build.body['version']} is a copy of the one before: put right what "
        "was changed; charge and dyno sheet are not known yet"
    )
    return Keeping(
        (build,), then=lambda: page.open_record(dampers.records_of(logbook, serial), text=told)
    )


def _show_planned(page: NoteForms, jobs: StripDowns, serial: str) -> None:
    if job := jobs.in_hand(serial):
        open_job(page, jobs, job)


class SheetForms:
    """What is asked on a page about the dyno sheets of a build; `saved` is told the serial of the
    damper that has a new one."""

    def __init__(self, page: NoteForms, saved: Callable[[str], None]) -> None:
        self._page = page
        self._saved = saved

    def ask(self, build: Build, missing: str = "") -> None:
        """Which file, and what is to be known of it; `missing` says what was not said."""
        questions = [
            Question("path", "File of the bench", hint="a table as CSV or text; two files: a ; b"),
            Question("date", "Date", date.today().isoformat(), guess=True),
            Question(
                "counted", "Counted from", choices=("hard", "soft"),
                hint="hard / soft; empty: as its adjusters count",
            ),
            Question(
                "gas", "Gas force in it", choices=("no", "yes"),
                hint="no / yes; empty: as the file says",
            ),
            Question(
                "zeroed", "Load cell zeroed", choices=("empty", "damper"),
                hint="empty / damper in it; empty: not known",
            ),
            Question("charge", "Gas charge then", hint="where gas is in it; empty: the build's"),
        ]  # fmt: skip
        form = f"Dyno sheet of {build.damper}, build {build.version}"
        self._page.ask(form, questions, partial(self._named_sheet, build, form), missing)

    def _named_sheet(self, build: Build, form: str, answers: Answers) -> str:
        if answers["path"].strip():
            self._load_later(build, form, answers, {})
        return ""

    def _load_later(
        self, build: Build, form: str, answers: Answers, columns: dict[str, str]
    ) -> None:
        self._page.say("reading and fitting the sheet …")
        work = partial(self._load, build, form, answers, columns)
        self._page.run_worker(work, thread=True, exclusive=True, group="load")

    def _load(self, build: Build, form: str, answers: Answers, columns: dict[str, str]) -> None:
        """In a thread: read, fit; a sheet that cannot be fitted is not taken in."""
        try:
            if self._page.desk.shed is None:
                raise BadInput("the shed is not read yet", "try again in a moment")
            said = gas_of(answers, self._page.desk.preferences.unit("pressure"))
            sheet = sheet_of(build, answers, columns)
            found = judged(sheet, build, self._page.desk.shed, said)
        except TracksideError as error:
            self._page.post_message(Loaded(error, build, form, answers))
        else:
            self._page.post_message(Loaded(found, build, form, answers))

    def loaded(self, message: Loaded) -> None:
        """Keep the sheet, once its serious warnings were looked at; what named one that cannot be
        kept is in the form again."""
        found = message.found
        here = self._page.app.screen is self._page
        if here and isinstance(found, BadColumns) and found.columns:
            self._page.desk.hold_form(message.form, message.answers)
            self._ask_columns(found, message)
        elif here and isinstance(found, GasUnknown):
            self._page.desk.hold_form(message.form, message.answers)
            self.ask(message.build, str(found))
        elif isinstance(found, TracksideError):
            self._not_taken(found, message)
        elif found.sheet.waits:
            self._page.desk.hold_form(message.form, message.answers)
            if here:
                self._look_at(found.sheet, (_COUNT, _KEEP, _DROP), partial(self._looked, message))
            else:
                doubt = f"{found.sheet.source} has serious warnings"
                self._page.announce(
                    f"{doubt}: {key_of('load_sheet')} in the shed shows them", "problem"
                )
        else:
            self._keep_sheet(found, message)

    def _ask_columns(self, error: BadColumns, message: Loaded) -> None:
        """What the columns of a file are: said once, and known from then on."""
        form = f"Columns of {message.answers['path'].strip()}"
        again = partial(self._named_columns, error.columns, message)
        self._page.ask(form, column_questions(error.columns), again, f"{error.cause}. {COLUMNS}")

    def _named_columns(self, names: tuple[str, ...], message: Loaded, answers: Answers) -> str:
        columns = columns_of(names, answers)
        if columns:
            self._load_later(message.build, message.form, message.answers, columns)
        return ""

    def _look_at(
        self, sheet: DynoSheet, choices: tuple[str, ...], decided: Callable[[Answers], str]
    ) -> None:
        """Show what keeps a sheet from counting, and ask."""
        serious = [w for w in sheet.warnings if w.serious]
        words = "\n".join(f"! {warning_words(w, self._page.desk.preferences)}" for w in serious)
        question = Question("sure", "Count it?", choices=choices, hint=" / ".join(choices))
        self._page.ask(f"Look at {sheet.source} before it counts", [question], decided, words)

    def _looked(self, message: Loaded, answers: Answers) -> str:
        found, answer = message.found, _choice(answers["sure"], _COUNT, _KEEP, _DROP)
        assert isinstance(found, Intake)
        if answer == _DROP:
            return "not taken in; what you typed is in the form again"
        self._keep_sheet(found, message, self._page.desk.logbook.author if answer == _COUNT else "")
        return ""

    def _not_taken(self, error: TracksideError, message: Loaded) -> None:
        self._page.desk.hold_form(message.form, message.answers)
        self._page.say(f"not taken in: {error}", "error")

    def _keep_sheet(self, intake: Intake, message: Loaded, seen_by: str = "") -> None:
        taken = add_sheet(intake, message.build, seen_by)
        try:
            ticks = StripDowns(self._page.desk.logbook).benched(taken.sheet)
            self._page.desk.write(taken.write, *ticks, reason=taken.reason)
        except TracksideError as error:
            self._not_taken(error, message)
            return
        self._page.desk.hold_form(message.form, dict.fromkeys(message.answers, ""))
        sheet = taken.sheet
        self._saved(sheet.damper)
        if sheet.waits:
            told, kind = f"saved, but {waiting_words(sheet)}: {key_of('counts')}", "problem"
        elif taken.lost:
            lost = "; ".join(map(sheet_change_words, taken.lost))
            told, kind = f"saved, but against the first sheet {lost}", "problem"
        elif sheet.warnings:
            doubt = warning_words(sheet.warnings[0], self._page.desk.preferences)
            more = f" (and {len(sheet.warnings) - 1} more)" if len(sheet.warnings) > 1 else ""
            told, kind = f"{len(sheet.rows)} rows saved, but {doubt}{more}", "problem"
        else:
            told, kind = f"{sheet.source}: {len(sheet.rows)} rows saved", "kept"
        if taken.other_counts and not sheet.waits:
            told, kind = f"{told}; {OTHER_COUNTS}: {key_of('counts')}", "problem"
        if ticks:
            from trackside.reports.strip_down_words import BENCH_TICKED

            told = f"{told}; {BENCH_TICKED}"
        self._page.announce(told, kind)

    def choose(self, shed: Shed, build: Build) -> None:
        """Let another dyno sheet of the build count: first look at one that waits, else the next;
        the newest one counts by itself."""
        if unseen := waiting(shed, build):
            name, sheet = unseen[-1]
            self._look_at(sheet, (_COUNT, _OTHER), partial(self._sign, name, build))
        else:
            self._next_counts(build)

    def _sign(self, name: str, build: Build, answers: Answers) -> str:
        """Whoever saw the warnings of that sheet signs, and it counts."""
        if _choice(answers["sure"], _COUNT, _OTHER) == _OTHER:
            self._next_counts(build)
            return ""
        logbook, shed = self._page.desk.logbook, self._page.desk.shed
        writes = sign_for([name], logbook.author)
        if shed is not None:
            writes += let_count(logbook, build, shed, name)
        self._page.desk.write(*writes, reason=SEEN)
        return "seen, and it counts"

    def _next_counts(self, build: Build) -> None:
        shed = self._page.desk.shed
        sheets = [s for s in shed.named_sheets(build) if not s[1].waits] if shed else []
        if shed is None or len(sheets) < 2:
            self._page.say("nothing to choose: the build has one dyno sheet, or none", "problem")
            return
        now = next(n for n, (_, sheet) in enumerate(sheets) if sheet is shed.sheet(build))
        at = (now + 1) % len(sheets)
        name, sheet = sheets[at]
        chosen = choice(build, shed, name)
        entity = dampers.records_of(self._page.desk.logbook, build.damper)["build"]
        self._page.desk.amend("build", entity, chosen)
        why = "chosen: newer ones do not" if chosen["sheet"] else "the newest"
        self._page.announce(f"sheet {sheet.date} {sheet.source} counts, {why}")


def _choice(typed: str, *known: str) -> str:
    """The word that was chosen; BadInput for any other."""
    word = typed.strip().casefold()
    if word not in known:
        raise BadInput(f"“{one_line(typed)}” is not an answer here", f"type {' or '.join(known)}")
    return word
