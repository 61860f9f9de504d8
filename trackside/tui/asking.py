"""Questions over a page, or over a box: put, held while they are open, and kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

from trackside.crew.corrections import ReasonWanted
from trackside.logbook import Write
from trackside.records.fields import PHASES, VERDICTS
from trackside.tui.layer import Layer
from trackside.tui.widgets.ask import Ask, Question, Work

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


def put_questions(
    over: Layer,
    form: str,
    questions: Sequence[Question],
    keep: Callable[[Answers], str | Keeping],
    announce: Callable[[str], object],
    caution: str = "",
) -> None:
    """Put the questions; `keep` writes the answers down and says so, empty for nothing, or says
    what is to be written. The form goes when they are kept. What is refused stays in it; what was
    left by Escape, or by the end of the program, is in it when it is opened again for this
    session."""
    desk = over.desk
    held = desk.held(form)
    asked = [replace(q, text=held.get(q.name, q.text), begun=q.text) for q in questions]
    hold = partial(desk.hold_form, form)
    keeping = Keeping()

    def accept(answers: Answers) -> Work | None:
        nonlocal keeping
        try:
            found = keep(answers)
        except ReasonWanted as wanted:
            over.host.ask_why(wanted, sheet.finish)
            raise
        keeping = Keeping(said=found) if isinstance(found, str) else found
        return partial(desk.write, *keeping.writes) if keeping.writes else None

    sheet = Ask(form, asked, caution, accept, hold)

    def answered(answers: Answers | None) -> None:
        if answers is None:
            hold(sheet.unfinished()[1])
            return
        hold(dict.fromkeys(answers, ""))
        if keeping.said:
            announce(keeping.said)
        keeping.then()

    over.app.push_screen(sheet, answered)


def note_questions(driver: str, texts: Mapping[str, str] | None = None) -> tuple[Question, ...]:
    """What is asked of a driver's note; `texts` are what it says already, by question."""
    said = texts or {}
    questions = (
        Question("words", f"What {driver or 'the driver'} says", many=True),
        Question("phase", "Phase", choices=PHASES),
        Question("turn", "Turn"),
        Question("balance", "Balance", hint="−3 much understeer … 0 … +3 much oversteer"),
        Question("rating", "Rating", hint="1 to 10"),
        Question("file", "Photo, file", hint="its path; a copy is kept beside the logbook"),
    )
    return tuple(replace(question, text=said.get(question.name, "")) for question in questions)


def reason_questions(texts: Mapping[str, str]) -> tuple[Question, ...]:
    """What is asked of the reason for a change; `texts` are what it says already, by question."""
    questions = (
        Question("reason", "Why", many=True),
        Question("what", "Change"),
        Question("verdict", "Verdict", choices=VERDICTS),
        Question("verdict_words", "What it changed"),
    )
    return tuple(replace(question, text=texts.get(question.name, "")) for question in questions)
