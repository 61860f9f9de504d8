"""A few questions over the page: words in lines, kept with Ctrl+S or Enter, never thrown away."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static, TextArea


@dataclass(frozen=True)
class Question:
    """One line, or with `many` a box of lines; `choices` are offered by their first letters."""

    name: str
    label: str
    text: str = ""
    choices: tuple[str, ...] = ()
    many: bool = False
    hint: str = ""


class Ask(ModalScreen[dict[str, str]]):
    """Gives what was typed, by name. Escape keeps it too; an empty answer stays empty."""

    def __init__(self, title: str, questions: Sequence[Question], caution: str = "") -> None:
        super().__init__()
        self.heading = title
        self.questions = tuple(questions)
        self.caution = caution

    def compose(self) -> ComposeResult:
        """The questions, one below the other."""
        with Vertical(id="ask"):
            yield Static(Text(self.heading, "bold"), markup=False)
            if self.caution:
                yield Static(Text(self.caution, "italic"), markup=False)
            for question in self.questions:
                if question.many:
                    yield Static(question.label, classes="asked", markup=False)
                    yield TextArea(question.text, id=question.name, soft_wrap=True)
                else:
                    with Horizontal(classes="line"):
                        yield Static(question.label, classes="asked", markup=False)
                        yield Input(
                            question.text,
                            placeholder=question.hint or " / ".join(question.choices),
                            id=question.name,
                            select_on_focus=False,
                        )
            many = any(question.many for question in self.questions)
            keys = "Tab next · Esc keep and close" + (" · Ctrl+S keep" if many else " · Enter keep")
            yield Static(keys, classes="asked", markup=False)

    def on_mount(self) -> None:
        """The box of words first, else the first question."""
        first = next((q for q in self.questions if q.many), self.questions[0])
        self.query_one(f"#{first.name}").focus()

    def answers(self) -> dict[str, str]:
        """What stands in the fields; a choice is completed from its first letters."""
        found = {}
        for question in self.questions:
            field = self.query_one(f"#{question.name}")
            text = field.text if isinstance(field, TextArea) else field.value  # type: ignore[attr-defined]
            found[question.name] = _complete(text, question.choices)
        return found

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter keeps, or goes on to the next question."""
        names = [question.name for question in self.questions]
        after = names.index(event.input.id or "") + 1
        if after < len(names):
            self.query_one(f"#{names[after]}").focus()
        else:
            self.dismiss(self.answers())

    def on_key(self, event: events.Key) -> None:
        """Escape and Ctrl+S keep what was typed."""
        if event.key in ("escape", "ctrl+s"):
            event.stop()
            event.prevent_default()
            self.dismiss(self.answers())


def _complete(text: str, choices: Sequence[str]) -> str:
    typed = text.strip().casefold()
    if not typed or not choices:
        return text
    return next((choice for choice in choices if choice.casefold().startswith(typed)), text)
