"""A few questions over the page: words in lines, kept with Ctrl+S or with Enter on the last.

Escape writes nothing down; what was typed stays in the form for the next time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from trackside.tui.widgets.lines import Lines
from trackside.tui.widgets.writing import Line


@dataclass(frozen=True)
class Question:
    """One line, or with `many` a box of lines; `choices` are offered by their first letters."""

    name: str
    label: str
    text: str = ""
    begun: str = ""
    """What it would hold if nothing had been typed before."""
    choices: tuple[str, ...] = ()
    many: bool = False
    hint: str = ""


class Ask(ModalScreen[dict[str, str] | None]):
    """Gives what was typed, by name; None when it was left by Escape. `last` holds what stood in
    it either way."""

    def __init__(self, title: str, questions: Sequence[Question], caution: str = "") -> None:
        super().__init__()
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
                            select_on_focus=False,
                        )
            many = any(question.many for question in self.questions)
            keep = "Ctrl+S keep" if many else "Enter keep"
            yield Static(f"Tab next · {keep} · Esc not now", classes="asked", markup=False)

    def on_mount(self) -> None:
        """The first question has the keys."""
        self.query_one(f"#{self.questions[0].name}").focus()

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
        """What was typed; a choice is completed where its first letters leave no doubt."""
        choices = {question.name: question.choices for question in self.questions}
        return {name: _complete(text, choices[name]) for name, text in self.typed().items()}

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter keeps, or goes on to the next question."""
        names = [question.name for question in self.questions]
        after = names.index(event.input.id or "") + 1
        if after < len(names):
            self.query_one(f"#{names[after]}").focus()
        else:
            self.finish()

    def finish(self) -> None:
        """Give the answers."""
        self.last = self.answers()
        self.dismiss(self.last)

    def on_key(self, event: events.Key) -> None:
        """Ctrl+S gives the answers, Escape none."""
        if event.key not in ("escape", "ctrl+s"):
            return
        event.stop()
        event.prevent_default()
        if event.key == "ctrl+s":
            self.finish()
        else:
            self.last = self.typed()
            self.dismiss(None)


def _complete(text: str, choices: Sequence[str]) -> str:
    typed = text.strip().casefold()
    if not typed or not choices:
        return text
    begun = [choice for choice in choices if choice.casefold().startswith(typed)]
    return begun[0] if len(begun) == 1 else text
