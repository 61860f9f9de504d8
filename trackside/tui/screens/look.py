"""Which dampers need a look: all of the shed in a list, the one under the cursor told whole."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from rich.cells import set_cell_size
from rich.text import Text
from textual.message import Message

from trackside.errors import TracksideError
from trackside.tui.widgets.list_box import ListBox

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from trackside.analysis.health import Health
    from trackside.analysis.shed import Shed
    from trackside.tui.page import Page

KEYS: Final = "Enter to the damper · = how it is calculated · Space more · Esc back"
HELP: Final = (
    ("Enter", "go to the damper under the cursor"),
    ("f =", "how the figures are calculated, from what, and by which source"),
    ("Space", "further down in all that is known of the damper under the cursor"),
    ("Esc", "back to the shed"),
    ("", "The most urgent is at the top. A damper's limits stand in its record, part Limits."),
)
_WIDE: Final = ((12, 5), (18, 8))
"""Of serial and build, in columns: at 80 and from 100 columns on."""


@dataclass
class Looked(Message):
    """What was found, or why nothing could be."""

    found: list[Health] | TracksideError


class LookList(ListBox[str]):
    """Every damper, the most urgent first. Gives the serial of the one to go to; else empty."""

    BINDINGS = [
        ("f,equals_sign", "formula", "Formula"),
        ("question_mark,f3", "help", "Help"),
        ("escape", "leave", "Back"),
        ("space,pagedown", "more", "More"),
    ]

    def __init__(self, shed: Shed) -> None:
        super().__init__(self._row, ("Needs a look", HELP), " looking …")
        self.shed = shed
        self.found: list[Health] | None = None

    def formula(self) -> Sequence[str]:
        """How the figures are calculated."""
        from trackside.reports.formulas import LOOK

        return LOOK

    def on_mount(self) -> None:
        """The look begins; the list has the keys."""
        super().on_mount()
        self.head("NEEDS A LOOK", "")
        self.show_whole((), KEYS)
        self.run_worker(self._look, thread=True, group="look")

    def _look(self) -> None:
        from trackside.analysis.health import healths

        try:
            self.post_message(Looked(healths(self.desk.logbook, self.shed)))
        except TracksideError as error:
            self.post_message(Looked(error))

    def on_looked(self, message: Looked) -> None:
        """The list, or why there is none."""
        from trackside.reports.health_words import ALL_WELL, NONE

        if isinstance(message.found, TracksideError):
            self.ledger.empty = " nothing was looked at"
            self.ledger.fill(0)
            self.news(str(message.found), error=True)
            return
        self.found = message.found
        ill = sum(1 for one in self.found if one.needs)
        self.head("NEEDS A LOOK", f"{ill} of {len(self.found)} dampers")
        self.ledger.empty = f" {NONE}"
        self.ledger.fill(len(self.found), 0)
        self._about()
        self.news("" if ill or not self.found else ALL_WELL)

    def _row(self, index: int) -> Text:
        from trackside.reports.health_story import needs_short
        from trackside.reports.health_words import health_row

        if self.found is None:
            return Text("")
        one = self.found[index]
        serial, build, *_, ran, charge, _ = health_row(one, self.desk.preferences)
        wide = _WIDE[self.size.width >= 100]
        cells = ((serial, wide[0]), (build, wide[1]), (ran.rjust(8), 10), (charge.rjust(9), 11))
        cut = (set_cell_size(set_cell_size(words, n - 1), n) for words, n in cells)
        mark = "!" if one.needs else " "
        line = f" {mark} {''.join(cut)}{needs_short(one)}"
        return Text(line, no_wrap=True, overflow="ellipsis")

    @property
    def under_cursor(self) -> Health | None:
        """The damper that keys act on."""
        at = self.ledger.cursor
        return self.found[at] if self.found and at < len(self.found) else None

    def _about(self) -> None:
        from trackside.reports.health_story import story_lines

        one = self.under_cursor
        self.show_whole(story_lines(one, self.desk.preferences) if one else (), KEYS)

    # ── keys ────────────────────────────────────────────────────────────────────────────────

    def on_ledger_moved(self) -> None:
        """Another one."""
        self._about()

    def on_ledger_chosen(self) -> None:
        """To the damper."""
        if one := self.under_cursor:
            self.dismiss(one.serial)

    def action_leave(self) -> None:
        """Back to the page."""
        self.dismiss("")


def open_looks(page: Page, go_to: Callable[[str], None]) -> None:
    """Show it over that page; `go_to` is told the serial that was chosen."""
    shed = page.desk.shed
    if shed is None:
        page.say("the damper shed is still being read: press it again in a moment")
        return

    def left(serial: str | None) -> None:
        if serial:
            go_to(serial)

    page.app.push_screen(LookList(shed), left)
