"""Taking down what is said: the driver's note, the reason for a change, a set-up for the shelf."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from trackside.crew.corrections import ReasonWanted
from trackside.crew.notes import change_body, note_body
from trackside.errors import TracksideError
from trackside.logbook import Write, put
from trackside.preferences import data_folder
from trackside.records.fields import PHASES, VERDICTS
from trackside.tui.commands import no_session
from trackside.tui.messages import Failed, Printed
from trackside.tui.page import Page
from trackside.tui.widgets.ask import Ask, Question, Work

if TYPE_CHECKING:
    from trackside.analysis.shed import Shed

Answers = dict[str, str]


def _nothing() -> None:
    pass


@dataclass(frozen=True)
class Keeping:
    """What a form's answers come to: what is to be written, what is said when that is kept, and
    what is done then, the form being gone."""

    writes: tuple[Write, ...] = ()
    said: str = ""
    then: Callable[[], object] = _nothing


class NoteForms(Page):
    """A page on which words about the current session are taken down."""

    def ask(
        self,
        form: str,
        questions: Sequence[Question],
        keep: Callable[[Answers], str | Keeping],
        caution: str = "",
    ) -> None:
        """Put the questions; `keep` writes the answers down and says so, empty for nothing, or says
        what is to be written. The form goes when they are kept. What is refused stays in it; what
        was left by Escape, or by the end of the program, is in it when it is opened again for this
        session."""
        held = self.desk.held(form)
        asked = [replace(q, text=held.get(q.name, q.text), begun=q.text) for q in questions]
        hold = partial(self.desk.hold_form, form)
        keeping = Keeping()

        def accept(answers: Answers) -> Work | None:
            nonlocal keeping
            try:
                found = keep(answers)
            except ReasonWanted as wanted:
                self.host.ask_why(wanted, sheet.finish)
                raise
            keeping = Keeping(said=found) if isinstance(found, str) else found
            return partial(self.desk.write, *keeping.writes) if keeping.writes else None

        sheet = Ask(form, asked, caution, accept, hold)

        def answered(answers: Answers | None) -> None:
            if answers is None:
                hold(sheet.unfinished()[1])
                return
            hold(dict.fromkeys(answers, ""))
            if keeping.said:
                self.announce(keeping.said)
            keeping.then()

        self.app.push_screen(sheet, answered)

    def session_in_hand(self) -> bool:
        """Whether there is a session to speak of; a sentence where there is none."""
        if not self.desk.has_session:
            self.say(no_session(self.desk.shed is not None), "problem")
        return self.desk.has_session

    def action_note(self) -> None:
        """The driver's words."""
        if not self.session_in_hand():
            return
        questions = (
            Question("words", f"What {self.desk.session.driver or 'the driver'} says", many=True),
            Question("phase", "Phase", choices=PHASES),
            Question("turn", "Turn"),
            Question("balance", "Balance", hint="−3 much understeer … 0 … +3 much oversteer"),
            Question("rating", "Rating", hint="1 to 10"),
        )
        self.ask("Driver's note", questions, self._keep_note)

    def _keep_note(self, answers: Answers) -> Keeping:
        if not any(text.strip() for text in answers.values()):
            return Keeping()
        body, unread = note_body(answers, self.desk.entity, self.desk.session.driver)
        return Keeping((put("note", body),), "note kept" + (f"; {unread}" if unread else ""))

    def action_reason(self) -> None:
        """Why something was changed, and what came of it."""
        if not self.session_in_hand():
            return
        questions = (
            Question("reason", "Why", many=True),
            Question("what", "Change", text=self._changed()),
            Question("verdict", "Verdict", choices=VERDICTS),
            Question("verdict_words", "What it changed"),
        )
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
        return Keeping((put("change", change_body(answers, self.desk.entity)),), "reason kept")

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
        work = partial(self._print, desk.entity, desk.shed, page)
        self.run_worker(work, thread=True, group="paper")
        self.say("writing it …")

    def _print(self, entity: str, shed: Shed, page: str) -> None:
        """In a thread: what is under way is kept first, so that it stands on the paper."""
        from trackside.reports.printing import printed

        desk = self.desk
        try:
            desk.logbook.flush()
            folder = data_folder() / "paper"
            path = printed(desk.logbook, entity, shed, desk.preferences, page, folder)
        except TracksideError as error:
            self.app.post_message(Failed(error))
            return
        self.app.post_message(Printed(path))
