"""Taking down what is said: the driver's note, the reason for a change, a set-up for the shelf."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING

from trackside.crew.notes import change_body, counted_as_run, files_named, note_body
from trackside.errors import TracksideError, UnknownRecord
from trackside.logbook import put
from trackside.logbook.attached import folder_of
from trackside.preferences import data_folder
from trackside.reports.run_state import RAN_NOW
from trackside.tui.asking import Answers, Keeping, note_questions, put_questions, reason_questions
from trackside.tui.commands import no_session
from trackside.tui.messages import Failed, Printed
from trackside.tui.page import Page
from trackside.tui.screens.jobs import list_jobs
from trackside.tui.screens.verdicts import judge
from trackside.tui.widgets.ask import Question

if TYPE_CHECKING:
    from trackside.analysis.shed import Shed


class NoteForms(Page):
    """A page on which words about the current session are taken down."""

    def ask(
        self,
        form: str,
        questions: Sequence[Question],
        keep: Callable[[Answers], str | Keeping],
        caution: str = "",
    ) -> None:
        """Put the questions over the page: see `put_questions`."""
        put_questions(self, form, questions, keep, self.announce, caution)

    def session_in_hand(self) -> bool:
        """Whether there is a session to speak of; a sentence where there is none."""
        if not self.desk.has_session:
            self.say(no_session(self.desk.shed is not None), "problem")
        return self.desk.has_session

    def action_note(self) -> None:
        """The driver's words."""
        if not self.session_in_hand():
            return
        questions = note_questions(self.desk.session.driver)
        self.ask("Driver's note", questions, self._keep_note)

    def _keep_note(self, answers: Answers) -> Keeping:
        if not any(text.strip() for text in answers.values()):
            return Keeping()
        body, unread = note_body(answers, self.desk.entity, self.desk.session.driver)
        if files := files_named(folder_of(self.desk.path), answers["file"]):
            body["files"] = files
        ran = counted_as_run(self.desk.line(), body, datetime.now())
        told = ("note saved", RAN_NOW if ran else "", unread)
        said = "; ".join(part for part in told if part)
        keeping = Keeping((put("note", body), *ran), said)
        return replace(keeping, then=self._read_again) if ran else keeping

    def _read_again(self) -> None:
        """The run in hand was changed by what was said of it."""
        self.desk.again()
        self.redraw()

    def action_reason(self) -> None:
        """Why something was changed, and what came of it."""
        if not self.session_in_hand():
            return
        questions = reason_questions({"what": self._changed()})
        self.ask("Reason and verdict", questions, self._keep_reason)

    def _changed(self) -> str:
        """What was set differently from the session before, on one line."""
        from trackside.analysis.changes import changes
        from trackside.reports.change_words import sentences

        desk = self.desk
        if desk.before is None or desk.shed is None:
            return ""
        speeds = desk.preferences.reference_speeds
        found = changes(desk.before, desk.session, desk.shed, speeds)
        return "; ".join(sentences(found, desk.preferences))

    def _keep_reason(self, answers: Answers) -> Keeping:
        if not any(answers[name].strip() for name in ("reason", "verdict", "verdict_words")):
            return Keeping()
        return Keeping((put("change", change_body(answers, self.desk.entity)),), "reason saved")

    def action_verdicts(self) -> None:
        """What waits for its verdict; what was said of this session."""
        self.leave()
        judge(self, self.desk.entity)

    def action_jobs(self) -> None:
        """What is to be done on the car."""
        self.leave()
        session = self.desk.session if self.desk.has_session else None
        list_jobs(self, session.car if session else "", self.desk.entity)

    def action_shelve(self) -> None:
        """Put the set-up on the shelf."""
        if not self.session_in_hand():
            return
        line = self.desk.line()
        questions = (
            Question("why", "Why it is worth keeping", many=True),
            Question("title", "Name", text=f"{line.venue} {line.title}".strip()),
            Question("result", "Result", text=line.result),
        )
        self.ask("Keep this set-up", questions, self._keep_on_shelf)

    def _keep_on_shelf(self, answers: Answers) -> Keeping:
        return Keeping((put("kept", {"session": self.desk.entity, **answers}),), "on the shelf")

    def action_print(self) -> None:
        """The page as a file that a browser prints, beside the logbook's own folder."""
        desk, page = self.desk, self.PAGE
        if not self.session_in_hand():
            return
        if desk.shed is None:
            self.say("the dyno sheets are still being read: press it again in a moment", "problem")
            return
        self.leave()
        to_set = page == "sheet" and not desk.session.ran
        work = partial(self._print, desk.entity, desk.shed, page, to_set)
        self.run_worker(work, thread=True, group="paper")
        self.say("writing it …")

    def _print(self, entity: str, shed: Shed, page: str, to_set: bool) -> None:
        """In a thread: what is under way is kept first, so that it stands on the paper. A run that
        is still to be set has a mechanic's sheet, too, if the car ran before."""
        from trackside.reports.printing import printed

        desk = self.desk
        try:
            desk.logbook.flush()
            folder = data_folder() / "paper"
            write = partial(printed, desk.logbook, entity, shed, desk.preferences, folder=folder)
            path, to_do = write(page=page), None
            if to_set:
                with suppress(UnknownRecord):
                    to_do = write(page="to-do")
        except TracksideError as error:
            self.app.post_message(Failed(error))
            return
        self.app.post_message(Printed(path, to_do))
