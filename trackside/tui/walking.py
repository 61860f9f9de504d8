"""The walk round the car on the run sheet: where it begins, its sign, and the word at its end."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from rich.text import Text

from trackside.crew import walk_round
from trackside.reports import walk_words
from trackside.tui.widgets.walk_sign import WalkSign

if TYPE_CHECKING:
    from trackside.tui.page import Page
    from trackside.tui.widgets.grid import Grid

SAID_FOR: Final = 4.0
"""Seconds for which it is said what the walk read, whatever key comes next."""
ALL_READ: Final = "walk-round: all values are read; ↑ ↓ go to one, typing replaces it"


def first(page: Page, walk: tuple[str, ...]) -> str:
    """The first value that nobody has read; where all are read the first, and a sentence."""
    empty = walk_round.empty(page.desk.session, walk)
    if not empty:
        page.view.tell(ALL_READ, "problem", SAID_FOR)
    return empty[0] if empty else walk[0]


def over(page: Page, walk: tuple[str, ...]) -> None:
    """A word on what was read, and on what is still empty."""
    left = walk_round.empty(page.desk.session, walk)
    said = walk_words.walked(page.desk.session, walk)
    page.view.tell(said, "problem" if left else "kept", SAID_FOR)


def heading(page: Page, grid: Grid) -> Text:
    """In place of the tabs: how far the walk is, and the keys that are its own."""
    where = walk_words.where(grid.path, page.desk.session, grid.walk)
    keys = "↑ back · Esc ends"
    return Text.assemble(
        *(" ", (" Walk-round ", "reverse bold"), f" {where}   ", keys),
        no_wrap=True,
        overflow="ellipsis",
    )


def draw_sign(page: Page, path: str, typed: str) -> None:
    """Large over the cells: the wheel, the place, and what stands there or is being typed."""
    plain = page.desk.preferences.ink == "ascii"
    role = f"role-{path.partition('.')[0]}"
    sign = page.query_one(WalkSign)
    sign.show(walk_words.sign(path), typed, role, plain, page.has_class("wide"))
