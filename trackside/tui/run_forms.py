"""The runs of a session from the run sheet: the next, one that was forgotten, one that moves, and a
session that was two."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trackside.errors import BadInput
from trackside.tui.commands import key_of
from trackside.tui.screens.which_build import with_builds
from trackside.tui.widgets.ask import Question

if TYPE_CHECKING:
    from trackside.tui.note_forms import Answers, NoteForms


def open_next(sheet: NoteForms) -> None:
    """Open the next run with the set-up of the one in hand."""
    if not sheet.session_in_hand():
        return
    sheet.leave()

    def go_on(values: dict[str, Any]) -> None:
        carried_from = sheet.desk.line().title
        sheet.desk.next_run(values)
        sheet.come_afresh()
        told = f"{sheet.desk.line().title} with the set-up of {carried_from}"
        sheet.announce(f"{told}; what is read starts empty")

    with_builds(sheet, None, None, go_on)


def put_in(sheet: NoteForms) -> None:
    """Ask when the forgotten run began, and write it down there."""
    if not sheet.session_in_hand():
        return
    sheet.leave()

    def keep(answers: Answers) -> str:
        if not answers["start"].strip():
            return ""
        sheet.desk.run_between(answers["start"])
        return _told(sheet)

    question = Question("start", "When it began", hint="10:45")
    sheet.ask("A run that was forgotten", (question,), keep)


def move(sheet: NoteForms) -> None:
    """Ask to which session of the event the run belongs, and move it."""
    if not sheet.session_in_hand():
        return
    sheet.leave()
    beside = sheet.desk.sessions_beside()
    if not beside:
        sheet.say("this car has no other session at this event", "problem")
        return

    def keep(answers: Answers) -> str:
        name = answers["to"].strip()
        if not name:
            return ""
        if name not in beside:
            raise BadInput(f"there is no session “{name}” here", "choose one of the list")
        sheet.desk.move_run(beside[name])
        return _told(sheet)

    question = Question("to", "To session", choices=tuple(beside))
    sheet.ask("Move this run", (question,), keep)


def split(sheet: NoteForms) -> None:
    """Make the run in hand, and those behind it, a session of their own."""
    if not sheet.session_in_hand():
        return
    sheet.leave()
    try:
        sheet.desk.split_session()
    except BadInput as error:
        sheet.say(str(error), "problem")
    else:
        sheet.say(_told(sheet), "kept")


def _told(sheet: NoteForms) -> str:
    sheet.redraw()
    return f"it is {sheet.desk.line().title} now; {key_of('undo')} takes it back"
