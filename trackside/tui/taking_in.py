"""What is taken into the damper shed: a damper, a strip-down, a dyno sheet."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import partial

from textual.message import Message

from trackside.errors import BadInput, TracksideError
from trackside.logbook import dampers, put
from trackside.records import Build, Damper, DynoSheet
from trackside.review.shed import fit_of
from trackside.review.sheet_change import SheetChange, change_words, sheet_changes
from trackside.tui.commands import key_of
from trackside.tui.forms import CHARGING, OPENING
from trackside.tui.sheet_file import sheet_of
from trackside.tui.taking import Answers, Taking
from trackside.tui.widgets.ask import Question
from trackside.units import one_line


@dataclass
class Loaded(Message):
    """A sheet was read from a file and fitted, or could not be; `form` and `answers` named it."""

    found: DynoSheet | TracksideError
    form: str
    answers: Answers
    lost: str = ""
    """A loss of force against the first sheet of the build, in words."""


class TakingIn(Taking):
    """A page with a damper under its cursor, into whose shed things are taken."""

    wanted = ""
    """The serial that is to be under the cursor."""

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
        if self.damper is None:
            self.say(self.unread or f"no damper yet: {key_of('new_damper')} enters one", "problem")
        return self.damper

    def action_new_damper(self) -> None:
        """A damper: its serial first."""
        self.ask("New damper", [Question("serial", "Serial, as engraved")], self._named, CHARGING)

    def _named(self, answers: Answers) -> str:
        serial = one_line(answers["serial"])
        if serial:
            self.desk.write(*dampers.new_damper(self.desk.logbook, serial))
            self.wanted = serial
            self.open_record(dampers.records_of(self.desk.logbook, serial))
        return ""

    def action_new_build(self) -> None:
        """A strip-down."""
        if damper := self.damper_in_hand():
            questions = [
                Question("work", "What is done, and why", many=True),
                Question("sure", "Write it down?", choices=("yes", "no")),
            ]
            keep = partial(self._stripped, damper.serial)
            self.ask(f"Strip-down of {damper.serial}", questions, keep, OPENING)

    def _stripped(self, serial: str, answers: Answers) -> str:
        work, sure = answers["work"].strip(), answers["sure"].strip()
        if sure not in ("", "yes", "no"):
            raise BadInput(f"“{sure}” is not an answer here", "type yes or no")
        if sure == "no" or not (work or sure):
            return "no new build"
        build = dampers.strip_down(self.desk.logbook, serial, work)
        self.desk.write(build)
        self.open_record(
            dampers.records_of(self.desk.logbook, serial),
            text=f"build {build.body['version']} is a copy of the one before: put right what "
            "was changed; charge and dyno sheet are not known yet",
        )
        return ""

    def action_load_sheet(self) -> None:
        """A CSV file for the present build of the damper under the cursor."""
        damper, shed = self.damper, self.desk.shed
        build = shed.build(damper.serial) if shed and damper else None
        if build is None:
            self.say("a sheet belongs to a build: enter the damper first (n)", "problem")
            return
        questions = [
            Question("path", "CSV file", hint="position,direction,speed_mm_s,force_N[,oil_C]"),
            Question("date", "Date", date.today().isoformat()),
            Question(
                "counted", "Counted from", choices=("hard", "soft"),
                hint="hard / soft; empty: as its adjusters count",
            ),
            Question("gas", "Gas force in it", "no", choices=("no", "yes")),
        ]  # fmt: skip
        form = f"Dyno sheet of {build.damper}, build {build.version}"
        self.ask(form, questions, partial(self._named_sheet, build, form))

    def _named_sheet(self, build: Build, form: str, answers: Answers) -> str:
        if answers["path"].strip():
            self.say("reading and fitting the sheet …")
            work = partial(self._load, build, form, answers)
            self.run_worker(work, thread=True, exclusive=True, group="load")
        return ""

    def _load(self, build: Build, form: str, answers: Answers) -> None:
        """In a thread: read, fit; a sheet that cannot be fitted is not taken in."""
        try:
            sheet = sheet_of(build, answers)
            if self.desk.shed is not None:
                self.desk.shed.refuse_stranger(sheet)
            fit_of(sheet, build)
            lost = self._lost(sheet, build)
        except TracksideError as error:
            self.post_message(Loaded(error, form, answers))
        else:
            self.post_message(Loaded(sheet, form, answers, lost))

    def _lost(self, sheet: DynoSheet, build: Build) -> str:
        earlier = self.desk.shed.sheets_of(build) if self.desk.shed else ()
        changes = sheet_changes(earlier[0], sheet, build).values() if earlier else ()
        lost = [c for c in changes if isinstance(c, SheetChange) and c.lost]
        return "; ".join(map(change_words, lost))

    def on_loaded(self, message: Loaded) -> None:
        """Keep the sheet; what named one that cannot be kept stands in the form again."""
        sheet = message.found
        try:
            if isinstance(sheet, TracksideError):
                raise sheet
            self.desk.write(put("sheet", sheet.body()))
        except TracksideError as error:
            self.desk.hold_form(message.form, message.answers)
            self.say(f"not taken in: {error}", "error")
            return
        self.wanted = sheet.damper
        self.show_sheet()
        if message.lost:
            self.announce(f"kept, but against the first sheet {message.lost}", "problem")
        else:
            self.announce(f"{sheet.source}: {len(sheet.rows)} rows kept")

    def action_counts(self) -> None:
        """Let the next dyno sheet of the present build count; the newest one counts by itself."""
        damper, shed = self.damper, self.desk.shed
        build = shed.build(damper.serial) if shed and damper else None
        if shed is None or build is None:
            self.say(self.unread or "no build on record", "problem")
            return
        sheets = shed.named_sheets(build)
        if len(sheets) < 2:
            self.say("nothing to choose: the build has one dyno sheet, or none", "problem")
            return
        now = next(n for n, (_, sheet) in enumerate(sheets) if sheet is shed.sheet(build))
        at = (now + 1) % len(sheets)
        name, sheet = sheets[at]
        newest = at == len(sheets) - 1
        entity = dampers.records_of(self.desk.logbook, build.damper)["build"]
        self.desk.amend("build", entity, {"sheet": None if newest else name})
        why = "the newest" if newest else "chosen: newer ones do not"
        self.announce(f"sheet {sheet.date} {sheet.source} counts, {why}")
