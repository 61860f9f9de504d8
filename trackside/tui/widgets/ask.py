"""A few questions over the page: words in lines, kept with Ctrl+S or with Enter on the last.

Escape writes nothing down; what was typed stays in the form for the next time. Answers that are
refused stay in the form too, and it says why.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from typing import Final

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.css.query import NoMatches
from textual.widgets import Input, Static

from trackside.errors import TracksideError
from trackside.tui.widgets.box import Box
from trackside.tui.widgets.lines import Lines
from trackside.tui.widgets.picking import Offer, Picking
from trackside.tui.widgets.writing import Line

HOLD_AFTER: Final = 0.3
"""Seconds after which what is half typed is held beside the truth."""
_LONG: Final = 0.3
"""Seconds after which a form says that its answers are still being kept."""
_KEEPING = "being saved …"

Work = Callable[[], object]
"""Keeps answers; may wait for the disk or for another window, so it is done in a thread."""
Accept = Callable[[dict[str, str]], Work | None]
"""Takes answers: what is still to be done to keep them; None where nothing is. TracksideError, from
either, says why they are refused."""


@dataclass(frozen=True)
class Question:
    """One line, or with `many` a box of lines; `choices` are offered below it,
    narrowed down by what is typed."""

    name: str
    label: str
    text: str = ""
    begun: str = ""
    """What it would hold if nothing had been typed before."""
    choices: tuple[str, ...] = ()
    many: bool = False
    hint: str = ""
    guess: bool = False
    """Whether the text is only what it may be: the first letter typed takes its place."""


class Ask(Box[dict[str, str] | None]):
    """Gives what was typed, by name; None when it was left by Escape. `last` holds what stood in
    it either way. `accept` sees the answers first, while the form is still there; `hold` is given
    what is half typed, by name, whenever it has changed."""

    def __init__(
        self,
        title: str,
        questions: Sequence[Question],
        caution: str = "",
        accept: Accept | None = None,
        hold: Callable[[dict[str, str]], object] | None = None,
    ) -> None:
        super().__init__()
        self._accept = accept
        self._hold = hold
        self._held = {question.name: question.text for question in questions}
        self._keeping = False
        self._picking = {
            question.name: Picking(Offer(question.choices), question.text)
            for question in questions
            if question.choices
        }
        """What is typed for a choice, by name."""
        self._hints = {question.name: question.hint for question in questions}
        self.heading = title
        self.questions = tuple(questions)
        self.caution = caution
        self.last: dict[str, str] = {}

    def compose(self) -> ComposeResult:
        """The questions, one below the other."""
        with Vertical(id="ask"):
            yield Static(Text(self.heading, "bold"), markup=False)
            if self.caution:
                yield Static(Text(self.caution, "italic"), markup=False)
            for question in self.questions:
                if question.many:
                    yield Static(question.label, classes="asked", markup=False)
                    yield Lines(question.text, id=question.name, soft_wrap=True)
                else:
                    with Horizontal(classes="line"):
                        yield Static(question.label, classes="asked", markup=False)
                        yield Line(
                            question.text,
                            placeholder=question.hint or " / ".join(question.choices),
                            id=question.name,
                            select_on_focus=question.guess and question.text == question.begun,
                        )
                    if question.choices:
                        yield Static("", id=f"{question.name}-offered", classes="offered")
            many = any(question.many for question in self.questions)
            save = "Enter save"
            if many or len(self.questions) > 1:
                save = "Ctrl+S save"
            yield Static("", id="refused", markup=False)
            yield Static(f"Tab next · {save} · Esc not now", classes="asked", markup=False)

    def on_mount(self) -> None:
        """The first question has the keys."""
        self.query_one("#refused").display = False
        self.query_one(f"#{self.questions[0].name}").focus()
        if self._hold is not None:
            self.set_interval(HOLD_AFTER, self._hold_changes)

    def on_descendant_focus(self) -> None:
        """The list is open where one is."""
        self._show_offers()

    def on_input_changed(self, event: Input.Changed) -> None:
        """The list follows what is typed."""
        name = event.input.id or ""
        if name in self._picking and self._picking[name].text != event.value:
            self._picking[name] = Picking(self._picking[name].offer, event.value)
            self.say("")
            self._show_offers()

    def _show_offers(self) -> None:
        for name, picking in self._picking.items():
            line = self.query_one(f"#{name}-offered", Static)
            field = self.query_one(f"#{name}", Input)
            line.display = field.has_focus
            words = "" if line.display else " / ".join(picking.offer.words)
            field.placeholder = self._hints[name] or words  # the list says them below
            rows = [row.text for row in picking.rows]
            none = "" if rows else "none of "
            told = Text(none)
            for at, word in enumerate(rows or picking.offer.words):
                told.append(" · " if at else "")
                told.append(word, "reverse" if rows and at == picking.at else "")
            line.update(told)

    @property
    def coming(self) -> bool:
        """Whether keys have to wait: the answers are being kept."""
        return self._keeping or not self.is_mounted

    def _hold_changes(self) -> None:
        if self._hold is None or self._keeping or self.last:
            return
        _, texts = self.unfinished()
        typed = self.typed()
        changed = {name: texts[name] for name in texts if typed[name] != self._held.get(name)}
        if changed:
            self._held = typed
            self._hold(changed)

    def say(self, text: str) -> None:
        """One sentence above the keys; none for empty."""
        with suppress(NoMatches):  # the form was left meanwhile
            line = self.query_one("#refused", Static)
            line.update(Text(text, "bold"))
            line.display = bool(text)

    def typed(self) -> dict[str, str]:
        """What stands in the fields, by name."""
        found = {}
        for question in self.questions:
            field = self.query_one(f"#{question.name}")
            found[question.name] = field.text if isinstance(field, Lines) else field.value  # type: ignore[attr-defined]
        return found

    def unfinished(self) -> tuple[str, dict[str, str]]:
        """The form's heading and what was typed, empty where it is what the form began with."""
        stood = self.last or self.typed()
        texts = {q.name: "" if stood[q.name] == q.begun else stood[q.name] for q in self.questions}
        return self.heading, texts

    def answers(self) -> dict[str, str]:
        """What was typed; of a choice the word that is lit, where no other fits or it was chosen
        with the arrows."""
        typed = self.typed()
        return typed | {
            name: picking.sole or typed[name] for name, picking in self._picking.items()
        }

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter takes the choice that is lit; it keeps, or goes on to the next question."""
        picking = self._picking.get(event.input.id or "")
        if picking is not None:
            taken = picking.enter()
            if taken is None:
                self.say(f"{picking.said()} · Tab goes on without it")
                return
            event.input.value, event.input.cursor_position = taken, len(taken)
            self._picking[event.input.id or ""] = Picking(picking.offer, taken)
        names = [question.name for question in self.questions]
        after = names.index(event.input.id or "") + 1
        if after < len(names):
            self.query_one(f"#{names[after]}").focus()
        else:
            self.finish()

    def finish(self) -> None:
        """Give the answers, once they are accepted."""
        if self._keeping:
            return
        answers = self.answers()
        try:
            work = self._accept(answers) if self._accept else None
        except TracksideError as error:
            self.say(f"not saved: {error}")
            return
        if work is None:
            self._done(answers)
        else:
            self._keeping = True
            self.run_worker(self._keep(work, answers))

    async def _keep(self, work: Work, answers: dict[str, str]) -> None:
        later = self.set_timer(_LONG, partial(self.say, _KEEPING))
        try:
            await asyncio.to_thread(work)
        except TracksideError as error:
            self.say(f"not saved: {error}")
        else:
            self._done(answers)
        finally:
            later.stop()
            self._keeping = False

    def _done(self, answers: dict[str, str]) -> None:
        self.last = answers
        self.dismiss(answers)

    def on_key(self, event: events.Key) -> None:
        """Ctrl+S gives the answers, Escape none; the arrows light another choice."""
        picking = self._picking.get((self.focused.id if self.focused else None) or "")
        if picking is not None and event.key in ("up", "down"):
            event.stop()
            picking.move(-1 if event.key == "up" else 1)
            self._show_offers()
            return
        if event.key not in ("escape", "ctrl+s"):
            return
        event.stop()
        event.prevent_default()
        if event.key == "ctrl+s":
            self.finish()
        else:
            self.last = self.typed()
            self.dismiss(None)
