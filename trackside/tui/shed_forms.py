"""What is taken into the damper shed: a damper, a strip-down, a dyno sheet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import partial

from textual.message import Message

from trackside.analysis.sheet_gas import GasUnknown
from trackside.analysis.sheet_intake import Intake, judged
from trackside.crew.sheet_adding import SEEN, add_sheet, choice, let_count, sign_for, waiting
from trackside.crew.sheet_file import gas_of, sheet_of
from trackside.errors import BadColumns, BadInput, TracksideError
from trackside.logbook import dampers
from trackside.records import Build, Damper, DynoSheet
from trackside.reports import cautions
from trackside.reports.bench_words import sheet_change_words
from trackside.reports.sheet_warning_words import OTHER_COUNTS, waiting_words, warning_words
from trackside.tui.commands import key_of
from trackside.tui.note_forms import Answers, Keeping, NoteForms
from trackside.tui.sheet_columns import COLUMNS, column_questions, columns_of
from trackside.tui.widgets.ask import Question
from trackside.units import one_line

_COUNT, _KEEP, _DROP, _OTHER = "count", "keep", "drop", "other"


@dataclass
class Loaded(Message):
    """A sheet of a build was read from a file and judged, or could not be; `form` and `answers`
    named it."""

    found: Intake | TracksideError
    build: Build
    form: str
    answers: Answers


class ShedForms(NoteForms):
    """A page with a damper under its cursor, into whose shed things are taken."""

    wanted = ""
    """The serial that is to be under the cursor."""
    opened = ""
    """The damper whose record was opened last; the cursor is on it until a person moves it."""

    @property
    def damper(self) -> Damper | None:
        """The damper under the cursor."""
        raise NotImplementedError

    @property
    def unread(self) -> str:
        """The sentence under the cursor about a record that cannot be read; empty elsewhere."""
        raise NotImplementedError

    def show_sheet(self) -> None:
        """Turn to the dyno sheet."""
        raise NotImplementedError

    def damper_in_hand(self) -> Damper | None:
        """The damper under the cursor; a sentence where there is none."""
        if self.damper is None and self.desk.shed is None:
            self.say("the damper shed is still being read: press it again in a moment")
        elif self.damper is None:
            self.say(self.unread or f"no damper yet: {key_of('new_damper')} enters one", "problem")
        return self.damper

    def open_record(self, records: dict[str, str], begin: str = "", text: str = "") -> None:
        """Show these records; the cursor is on their damper when they are left."""
        self.opened = records.get("damper", "")
        super().open_record(records, begin, text)

    def present_build(self) -> Build | None:
        """The present build of the damper under the cursor, as the logbook has it: the shed may
        still be read."""
        builds = dampers.builds_of(self.desk.logbook, self.damper.serial) if self.damper else []
        body = self.desk.outbox.state(builds[-1][0]) if builds else None
        return Build.checked(body) if body else None

    def action_new_damper(self) -> None:
        """A damper: its serial first."""
        self.ask("New damper", [Question("serial", "Serial, as engraved")], self._named)

    def _named(self, answers: Answers) -> Keeping:
        serial = one_line(answers["serial"])
        if not serial:
            return Keeping()
        return Keeping(
            tuple(dampers.new_damper(self.desk.logbook, serial)),
            then=lambda: self.open_record(dampers.records_of(self.desk.logbook, serial)),
        )

    def action_new_build(self) -> None:
        """A strip-down."""
        if damper := self.damper_in_hand():
            questions = [
                Question("work", "What is done, and why", many=True),
                Question("sure", "Write it down?", choices=("yes", "no")),
            ]
            keep = partial(self._stripped, damper.serial)
            self.ask(
                f"Strip-down of {damper.serial}",
                questions,
                keep,
                cautions.whole(cautions.on_record("build", "version")),
            )

    def _stripped(self, serial: str, answers: Answers) -> str | Keeping:
        work, sure = answers["work"].strip(), answers["sure"].strip()
        if sure not in ("", "yes", "no"):
            raise BadInput(f"“{sure}” is not an answer here", "type yes or no")
        if sure == "no" or not (work or sure):
            return "no new build"
        build = dampers.strip_down(self.desk.logbook, serial, work)
        told = (
            f"build {build.body['version']} is a copy of the one before: put right what "
            "was changed; charge and dyno sheet are not known yet"
        )
        return Keeping(
            (build,),
            then=lambda: self.open_record(dampers.records_of(self.desk.logbook, serial), text=told),
        )

    def action_load_sheet(self) -> None:
        """A file with a dyno sheet for the present build of the damper under the cursor."""
        if damper := self.damper_in_hand():
            build = self.present_build()
            if build is None:
                key = key_of("new_build")
                self.say(f"{damper.serial} has no build yet: {key} enters one", "problem")
                return
            self._ask_sheet(build)

    def _ask_sheet(self, build: Build, missing: str = "") -> None:
        """Which file, and what is to be known of it; `missing` says what was not said."""
        questions = [
            Question("path", "File of the bench", hint="a table as CSV or text; two files: a ; b"),
            Question("date", "Date", date.today().isoformat()),
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
        self.ask(form, questions, partial(self._named_sheet, build, form), missing)

    def _named_sheet(self, build: Build, form: str, answers: Answers) -> str:
        if answers["path"].strip():
            self._load_later(build, form, answers, {})
        return ""

    def _load_later(
        self, build: Build, form: str, answers: Answers, columns: dict[str, str]
    ) -> None:
        self.say("reading and fitting the sheet …")
        work = partial(self._load, build, form, answers, columns)
        self.run_worker(work, thread=True, exclusive=True, group="load")

    def _load(self, build: Build, form: str, answers: Answers, columns: dict[str, str]) -> None:
        """In a thread: read, fit; a sheet that cannot be fitted is not taken in."""
        try:
            if self.desk.shed is None:
                raise BadInput("the shed is not read yet", "try again in a moment")
            said = gas_of(answers, self.desk.preferences.unit("pressure"))
            sheet = sheet_of(build, answers, columns)
            found = judged(sheet, build, self.desk.shed, said)
        except TracksideError as error:
            self.post_message(Loaded(error, build, form, answers))
        else:
            self.post_message(Loaded(found, build, form, answers))

    def on_loaded(self, message: Loaded) -> None:
        """Keep the sheet, once its serious warnings were looked at; what named one that cannot be
        kept is in the form again."""
        found = message.found
        here = self.app.screen is self
        if here and isinstance(found, BadColumns) and found.columns:
            self.desk.hold_form(message.form, message.answers)
            self._ask_columns(found, message)
        elif here and isinstance(found, GasUnknown):
            self.desk.hold_form(message.form, message.answers)
            self._ask_sheet(message.build, str(found))
        elif isinstance(found, TracksideError):
            self._not_taken(found, message)
        elif found.sheet.waits:
            self.desk.hold_form(message.form, message.answers)
            if here:
                self._look_at(found.sheet, (_COUNT, _KEEP, _DROP), partial(self._looked, message))
            else:
                doubt = f"{found.sheet.source} has serious warnings"
                self.announce(f"{doubt}: {key_of('load_sheet')} in the shed shows them", "problem")
        else:
            self._keep_sheet(found, message)

    def _ask_columns(self, error: BadColumns, message: Loaded) -> None:
        """What the columns of a file are: said once, and known from then on."""
        form = f"Columns of {message.answers['path'].strip()}"
        again = partial(self._named_columns, error.columns, message)
        self.ask(form, column_questions(error.columns), again, f"{error.cause}. {COLUMNS}")

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
        words = "\n".join(f"! {warning_words(w, self.desk.preferences)}" for w in serious)
        question = Question("sure", "Count it?", choices=choices, hint=" / ".join(choices))
        self.ask(f"Look at {sheet.source} before it counts", [question], decided, words)

    def _looked(self, message: Loaded, answers: Answers) -> str:
        found, answer = message.found, _choice(answers["sure"], _COUNT, _KEEP, _DROP)
        assert isinstance(found, Intake)
        if answer == _DROP:
            return "not taken in; what you typed is in the form again"
        self._keep_sheet(found, message, self.desk.logbook.author if answer == _COUNT else "")
        return ""

    def _not_taken(self, error: TracksideError, message: Loaded) -> None:
        self.desk.hold_form(message.form, message.answers)
        self.say(f"not taken in: {error}", "error")

    def _keep_sheet(self, intake: Intake, message: Loaded, seen_by: str = "") -> None:
        taken = add_sheet(intake, message.build, seen_by)
        try:
            self.desk.write(taken.write, reason=taken.reason)
        except TracksideError as error:
            self._not_taken(error, message)
            return
        self.desk.hold_form(message.form, dict.fromkeys(message.answers, ""))
        sheet = taken.sheet
        self.wanted, self.opened = sheet.damper, ""
        self.show_sheet()
        if sheet.waits:
            told, kind = f"kept, but {waiting_words(sheet)}: {key_of('counts')}", "problem"
        elif taken.lost:
            lost = "; ".join(map(sheet_change_words, taken.lost))
            told, kind = f"kept, but against the first sheet {lost}", "problem"
        elif sheet.warnings:
            doubt = warning_words(sheet.warnings[0], self.desk.preferences)
            more = f" (and {len(sheet.warnings) - 1} more)" if len(sheet.warnings) > 1 else ""
            told, kind = f"{len(sheet.rows)} rows kept, but {doubt}{more}", "problem"
        else:
            told, kind = f"{sheet.source}: {len(sheet.rows)} rows kept", "kept"
        if taken.other_counts and not sheet.waits:
            told, kind = f"{told}; {OTHER_COUNTS}: {key_of('counts')}", "problem"
        self.announce(told, kind)

    def action_counts(self) -> None:
        """Let another dyno sheet of the present build count: first look at one that waits, else
        the next; the newest one counts by itself."""
        damper, shed = self.damper, self.desk.shed
        build = shed.build(damper.serial) if shed and damper else None
        if shed is None or build is None:
            self.say(self.unread or "no build on record", "problem")
            return
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
        logbook, shed = self.desk.logbook, self.desk.shed
        writes = sign_for([name], logbook.author)
        if shed is not None:
            writes += let_count(logbook, build, shed, name)
        self.desk.write(*writes, reason=SEEN)
        return "seen, and it counts"

    def _next_counts(self, build: Build) -> None:
        shed = self.desk.shed
        sheets = [s for s in shed.named_sheets(build) if not s[1].waits] if shed else []
        if shed is None or len(sheets) < 2:
            self.say("nothing to choose: the build has one dyno sheet, or none", "problem")
            return
        now = next(n for n, (_, sheet) in enumerate(sheets) if sheet is shed.sheet(build))
        at = (now + 1) % len(sheets)
        name, sheet = sheets[at]
        chosen = choice(build, shed, name)
        entity = dampers.records_of(self.desk.logbook, build.damper)["build"]
        self.desk.amend("build", entity, chosen)
        why = "chosen: newer ones do not" if chosen["sheet"] else "the newest"
        self.announce(f"sheet {sheet.date} {sheet.source} counts, {why}")


def _choice(typed: str, *known: str) -> str:
    """The word that was chosen; BadInput for any other."""
    word = typed.strip().casefold()
    if word not in known:
        raise BadInput(f"“{one_line(typed)}” is not an answer here", f"type {' or '.join(known)}")
    return word
