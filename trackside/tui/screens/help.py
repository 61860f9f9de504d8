"""The keys of what has the focus, of its page, and those that hold everywhere."""

from __future__ import annotations

from collections.abc import Sequence

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widget import Widget
from textual.widgets import Static

from trackside.tui.commands import COMMANDS, PAGES, Command, key_of
from trackside.tui.widgets.box import Box
from trackside.tui.widgets.cells import UNKNOWN
from trackside.tui.wrapping import wrapped

Rows = tuple[tuple[str, str], ...]
"""Keys and what they do."""

_HELD: dict[str, tuple[str, Rows]] = {
    "Grid": (
        "Cells",
        (
            ("↑ ↓ ← →", "another cell; a click goes there too"),
            ("0 to 9", "type over it; letters too in words and on a form"),
            ("Enter", "type in it, take the list's row, or go on in the walk-round"),
            ("Del", "empty it"),
            ("Esc", "as it was before typing; else: a letter is a command"),
            (f"{UNKNOWN} last", "unknown; what was read last, with its day, counts for nothing"),
        ),
    ),
    "Ledger": (
        "List",
        (
            ("↑ ↓", "another row; a click goes there too"),
            ("PgUp PgDn", "a page further; Home and End to either end"),
            ("Enter", "take the row; so does a second click"),
        ),
    ),
    "VerticalScroll": ("Text", (("↑ ↓", "scroll"), ("PgUp PgDn", "a page further"))),
    "Input": ("Search", (("Enter", "back to the list"), ("Tab", "the next part"))),
}
"""What the focused part does with keys, by its kind."""


def told_of(focused: Widget | None) -> tuple[str, Rows]:
    """The name and the keys of the part that has the focus."""
    kinds = type(focused).__mro__ if focused is not None else ()
    return next((_HELD[kind.__name__] for kind in kinds if kind.__name__ in _HELD), ("", ()))


class HelpCard(Box[bool]):
    """Over the page it tells of, or over a box with the keys of that; True when the handbook is
    wanted, which a box does not give way to."""

    def __init__(
        self, page: str, focused: Widget | None, box: tuple[str, Rows] | None = None
    ) -> None:
        super().__init__()
        self.page, self.focused_part, self.box = page, focused, box

    def compose(self) -> ComposeResult:
        """One column that scrolls."""
        with VerticalScroll(id="help"):
            yield Static("", id="help-words", markup=False)

    def on_mount(self) -> None:
        """The column has the keys."""
        self.query_one("#help").focus()

    def on_resize(self) -> None:
        """Sentences are folded to the width."""
        self.query_one("#help-words", Static).update(self._words(max(20, self._room())))

    def _room(self) -> int:
        return min(int(self.size.width * 0.9), 100) - 5

    def _words(self, width: int) -> Text:
        own = [c for c in COMMANDS if self.page in c.pages]
        name, held = told_of(self.focused_part)
        if self.box is not None:
            blocks = [*_block(*self.box, width), *_block(name, held, width)]
            return Text("\n").join([Text("Esc back", "bold"), Text(), *blocks])
        lines = [
            Text(f"{key_of('help')} handbook · Esc back", "bold"),
            Text(),
            *_block(name, held, width),
            *_block(PAGES[self.page], _rows(own), width),
            *_block("Everywhere", _rows([c for c in COMMANDS if not c.pages]), width),
        ]
        return Text("\n").join(lines)

    def on_key(self, event: events.Key) -> None:
        """The same key once more is the handbook; Escape or q goes back."""
        again = next(c for c in COMMANDS if c.name == "help").keys
        if event.key in (*again, "escape", "q"):
            event.stop()
            event.prevent_default()
            self.dismiss(event.key in again and self.box is None)

    def on_click(self, event: events.Click) -> None:
        """A click beside the card goes back."""
        if event.widget is self:
            self.dismiss(False)


def _rows(commands: Sequence[Command]) -> list[tuple[str, str]]:
    return [(c.keys_shown, c.words) for c in commands]


def _block(title: str, rows: Sequence[tuple[str, str]], width: int) -> list[Text]:
    if not rows:
        return []
    lines = [Text(title.upper(), "bold underline")]
    for keys, words in rows:
        first, *more = wrapped(Text(words), max(10, width - 11))
        lines.append(Text.assemble((f"{keys:<10} ", "bold"), first))
        lines += [Text.assemble(" " * 11, line) for line in more]
    return [*lines, Text()]
