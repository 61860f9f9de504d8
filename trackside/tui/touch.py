"""What a finger on a browser's buttons asks for: actions by name, never letters that would type."""

from __future__ import annotations

from typing import Final

from textual.message import Message

from trackside.tui.commands import COMMANDS, Command, navigation, writes

PLACE: Final = "TRACKSIDE_PLACE"
"""The variable that says where a browser's last program was: page, session, corner, direction and
cell, with blanks between."""
KEEP: Final = "keep"
"""Keeps what is half typed: a form, or the cell under the cursor."""
_LABELS: Final = {
    "new_session": "Next",
    "next_run": "Run",
    "click_harder": "Harder",
    "click_softer": "Softer",
    "click_harder_both": "Both harder",
    "click_softer_both": "Both softer",
    "undo": "Undo",
    "note": "Note",
}
_PAGES: Final = {c.action[6:-2]: c.name for c in COMMANDS if c.action.startswith("page(")}
_WRITES: Final = {c.name for c in COMMANDS if writes(c.action)} | {KEEP}
_JOBS: Final = "jobs"
NAMES: Final = frozenset((*_PAGES.values(), *_LABELS, KEEP, _JOBS, "help", "quit"))
"""All that a browser may ask for."""


class Touched(Message):
    """A button was touched."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.name = name


class DrawAgain(Message):
    """The browser has a new, empty terminal."""


def page_buttons() -> list[tuple[str, str]]:
    """(name, label) of the buttons that lead to pages, and to the job list; in the row of the
    others it would take a line of the page away."""
    pages = [(_PAGES[page], label) for _, label, page in navigation() if page in _PAGES]
    at = next(n for n, (name, _) in enumerate(pages) if name == _PAGES["shed"])
    more = [(_PAGES["book"], "Book"), (_JOBS, "Jobs")]
    return [*pages[: at + 1], *more, *pages[at + 1 :]]


def action_buttons(reading: bool) -> list[tuple[str, str]]:
    """(name, label) of the buttons that do something; those that write only where that may be."""
    told = [(KEEP, "Save"), *_LABELS.items()]
    return [(name, label) for name, label in told if not (reading and name in _WRITES)]


def command_of(name: str, page: str) -> Command | None:
    """The command of that name on that page; None where it has none."""
    return next((c for c in COMMANDS if c.name == name and (not c.pages or page in c.pages)), None)


def where_it_works(name: str) -> tuple[str, ...]:
    """The pages on which there is a command of that name."""
    return tuple(dict.fromkeys(p for c in COMMANDS if c.name == name for p in c.pages))
