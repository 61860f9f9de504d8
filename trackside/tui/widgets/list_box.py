"""A box with a list: the row under the cursor said whole beneath it, then news, then the keys."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.screen import ScreenResultType
from textual.widgets import Static

from trackside.errors import TracksideError
from trackside.tui.commands import READING_ONLY
from trackside.tui.widgets.box import Box
from trackside.tui.widgets.ledger import Ledger

if TYPE_CHECKING:
    from trackside.logbook import Write

WIDE, HIGH = 110, 34
"""From this size on (columns, lines) the row under the cursor is said beside the list."""
Help = tuple[tuple[str, str], ...]


class ListBox(Box[ScreenResultType]):
    """What the boxes with a list have in common. `row` gives a row's line, `empty` stands where
    there is none; `help_card` is the title of the card of its keys, and its lines."""

    def __init__(
        self, row: Callable[[int], Text], help_card: tuple[str, Help], empty: str = ""
    ) -> None:
        super().__init__()
        self._line_of, self._empty, self._help_card = row, empty, help_card
        self._keeping = self._explains = False
        self._said = ""

    @property
    def coming(self) -> bool:
        """Whether keys have to wait: something is being kept."""
        return self._keeping or not self.is_mounted

    def compose(self) -> ComposeResult:
        """Heading, the list, the row under the cursor whole, news, keys."""
        yield Static("", id="heading", markup=False)
        yield Ledger(self._line_of, empty=self._empty, id="job-list")
        with VerticalScroll(id="job-whole", can_focus=False):
            yield Static("", id="job-told", markup=False)
        yield Static("", id="job-said", markup=False)
        yield Static("", id="job-keys", markup=False)

    def on_mount(self) -> None:
        """The list has the keys."""
        self.set_class(self.size.width >= WIDE and self.size.height >= HIGH, "wide")
        self.ledger.focus()

    @property
    def ledger(self) -> Ledger:
        """The list."""
        return self.query_one(Ledger)

    def head(self, name: str, words: str) -> None:
        """What the box is, and of what."""
        heading = Text.assemble((f" {name} ", "reverse bold"), f" {words}", no_wrap=True)
        self.query_one("#heading", Static).update(heading)

    def show_whole(self, lines: Iterable[tuple[str, str]], keys: str) -> None:
        """The row under the cursor, in lines with their style, and the keys for it."""
        self._explains = False
        text = Text()
        for style, line in lines:
            text.append(f"{line}\n", style)
        self.query_one("#job-told", Static).update(text)
        self.query_one("#job-whole", VerticalScroll).scroll_home(animate=False)
        self.query_one("#job-keys", Static).update(keys)

    def news(self, said: str, error: bool = False) -> None:
        """Over the keys; what was done goes to the page when the box is left."""
        self.query_one("#job-said", Static).update(Text(said, "bold" if error else ""))
        self._said = "" if error else said or self._said

    def refuses(self) -> bool:
        """Whether the logbook is only read, which is said."""
        if self.desk.logbook.read_only:
            self.query_one("#job-said", Static).update(Text(READING_ONLY, "bold"))
        return self.desk.logbook.read_only

    async def write(self, writes: Sequence[Write]) -> TracksideError | None:
        """Write while the box goes on being drawn, as another program may hold the file; the error
        of a save that was refused."""
        try:
            await asyncio.to_thread(self.desk.write, *writes)
        except TracksideError as error:
            return error
        finally:
            self._keeping = False
        return None

    def formula(self) -> Sequence[str]:
        """How the figures of the box are calculated, from what, and by which source."""
        return ()

    def _about(self) -> None:
        """Say the row under the cursor whole."""

    def action_formula(self) -> None:
        """How the figures are calculated; pressed again, the row under the cursor."""
        if self._explains:
            self._about()
            return
        self.query_one("#job-told", Static).update(Text("\n".join(self.formula())))
        self.query_one("#job-whole", VerticalScroll).scroll_home(animate=False)
        self._explains = True

    def action_more(self) -> None:
        """Further down."""
        self.query_one("#job-whole", VerticalScroll).scroll_page_down(animate=False)

    def action_help(self) -> None:
        """The keys, each with what it does."""
        from trackside.tui.screens.help import HelpCard

        self.app.push_screen(HelpCard("", None, self._help_card))
