"""What undo would take back, shown before it does: field, from → to, whose and when."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.cells import cell_len
from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.geometry import Size
from textual.widgets import Static

from trackside.errors import TracksideError
from trackside.logbook.history import Undone
from trackside.reports.naming import moment_in_words, place_in_words, record_in_words
from trackside.reports.undone import spoken, whole_in_words
from trackside.tui.commands import COMMANDS, key_of
from trackside.tui.widgets.box import Box

SHARE = 0.6
"""Of the screen's height, at most; lines that go beyond it are counted."""
_AROUND = 4
"""Rows of the rule, the question, the count and the keys."""


class Undoing(Box[list[Undone]]):
    """Gives what was taken back; nothing when it was left. The key that opened it does it."""

    BINDINGS = [
        ("enter", "do", "Do it"),
        ("escape", "leave", "Leave"),
        ("down", "reach(1)", "One step further"),
        ("up", "reach(-1)", "One step less"),
    ]

    def __init__(self, step: str) -> None:
        super().__init__()
        self.step = step
        self.steps = 1
        self.found: list[Undone] = []
        for command in COMMANDS:
            if command.action == step and command.keys:
                self._bindings.bind(",".join(command.keys), "do")

    def compose(self) -> ComposeResult:
        """What would be taken back, and the keys."""
        with Vertical(id="undoing"):
            yield Static("", id="undoing-told", markup=False)
            yield Static("", id="undoing-keys", markup=False)

    def on_mount(self) -> None:
        """Look at the first step."""
        self._show(self._look(1))

    def _look(self, steps: int) -> list[Undone]:
        logbook = self.desk.logbook
        look = logbook.preview_undo if self.step == "undo" else logbook.preview_redo
        return look(steps=steps)

    def _show(self, found: list[Undone], said: str = "") -> None:
        self.found = found
        text = Text()
        for style, line in self._told():
            text.append(f"{line}\n", style)
        text.rstrip()
        self.query_one("#undoing-told", Static).update(text)
        keys = f"{key_of(self.step)} or Enter does it · Esc leaves it · ↓ one more step, ↑ one less"
        self.query_one("#undoing-keys", Static).update(said or keys)

    def _told(self) -> Iterator[tuple[str, str]]:
        deed = "Take back" if self.step == "undo" else "Set again"
        last = f"the last {self.steps} changes" if self.steps > 1 else "the last change"
        yield "bold", f"{deed} {last}?"
        lines = [line for item in self.found for line in self._lines(item)]
        shown = lines[: _that_fit([line for _, line in lines], self.app.size)]
        yield from shown
        if len(lines) > len(shown):
            yield "", f"… and {len(lines) - len(shown)} more"

    def _lines(self, item: Undone) -> Iterator[tuple[str, str]]:
        desk = self.desk
        where = record_in_words(desk.logbook, item.entity, item.kind)
        if item.entity == desk.entity:
            where = "this session"
        whose = f"{item.author or 'unsigned'}, {moment_in_words(item.recorded_at)}"
        why = f": {item.reason}" if item.reason else ""
        if item.whole:
            deed = "leaves the logbook" if item.whole == "goes" else "comes back"
            yield "", f"{whole_in_words(desk.logbook, item)}, {deed}  ({whose}{why})"
            return
        if not item.changes and not item.left:
            yield "", f"{where}: a change without effect  ({whose}{why})"
        told = f"in {where}  ({whose}{why})"
        several = len(item.changes) > 1
        if several:
            yield "italic", told
        for path, (before, after) in item.changes.items():
            was, to = (
                spoken(desk.logbook, item.kind, path, v, desk.preferences) for v in (before, after)
            )
            value = f"{place_in_words(path)}: {was} → {to}"
            yield "", f"  {value}" if several else f"{value}  {told}"
        for path in item.left:
            yield "italic", f"{place_in_words(path)} was changed again since, so it stays"

    def action_reach(self, by: int) -> None:
        """So many steps more; only as far as there are any."""
        steps = max(1, self.steps + by)
        found = self._look(steps)
        if steps > self.steps and len(found) == len(self.found):
            self._show(self.found, "there is nothing before that · Enter does it · Esc leaves it")
            return
        self.steps = steps
        self._show(found)

    def action_do(self) -> None:
        """Do it, if it is still what was shown."""
        now = self._look(self.steps)
        if now != self.found:
            self._show(now, "something was written meanwhile: this is what it takes back now")
            return
        logbook = self.desk.logbook
        act = logbook.undo if self.step == "undo" else logbook.redo
        try:
            self.dismiss(act(steps=self.steps))
        except TracksideError as error:
            self._show(self.found, str(error))

    def press_again(self, action: str) -> bool:
        """The action that opened it does it."""
        if action == self.step:
            self.action_do()
        return action == self.step

    def action_leave(self) -> None:
        """Nothing is changed."""
        self.dismiss([])


def _that_fit(lines: Sequence[str], size: Size) -> int:
    """How many of the lines, each in as many rows as it takes, leave the keys on the screen."""
    room, width = int(SHARE * size.height) - _AROUND, max(1, size.width - 4)
    for count, line in enumerate(lines):
        room -= -(-cell_len(line) // width)
        if room < 0:
            return max(1, count)
    return len(lines)
