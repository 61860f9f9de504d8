"""After a strip-down, which build is on the car: asked once, as the next session opens."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Static

from trackside.reports.when_words import made_words
from trackside.tui.widgets.box import Box
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.crew.swapping import Rebuilt
    from trackside.tui.page import Page

_NEW, _OLD = ("enter", "1"), ("2",)


class WhichBuild(Box[bool]):
    """True for the newest builds, False for those of the session before; nothing when it is left.

    One key answers: Enter or 1, or 2; the letters of the builds too, where all dampers have the
    same two.
    """

    def __init__(self, found: Sequence[Rebuilt]) -> None:
        super().__init__()
        self.found = found
        self.new = _common([one.newest.version for one in found])
        self.old = _common([one.carried.version for one in found])
        if self.new == self.old:
            self.new = self.old = ""

    def compose(self) -> ComposeResult:
        """What was stripped down, and the keys."""
        with Vertical(id="asking"):
            yield Static(self._told(), id="which-build", markup=False)

    def _told(self) -> Text:
        text = Text("Stripped down since: which build is on the car?\n\n", "bold")
        for one in self.found:
            work = one_line(one.newest.work)
            since = " ".join(part for part in (made_words(one.newest), work) if part)
            text.append(f"{one.corner} {one_line(one.damper)}: ", "bold")
            text.append(f"build {one_line(one.carried.version)} ran, ")
            text.append(f"build {one_line(one.newest.version)} is newer")
            text.append(f" ({since})\n" if since else "\n")
        text.append("\n")
        for keys, words in self._answers():
            text.append(f"{keys:<12}", "bold")
            text.append(f"{words}\n")
        return text

    def _answers(self) -> Iterator[tuple[str, str]]:
        new, old = (f" {letter}" if letter else "" for letter in (self.new, self.old))
        yield f"Enter 1{new}", f"the newest: build{new}" if new else "the newest builds"
        yield f"2{old}", f"as it ran: build{old}" if old else "the builds that ran"
        yield "Esc", "no new session"

    def on_key(self, event: events.Key) -> None:
        """One key answers; every other is nobody's while the question is open."""
        event.stop()
        event.prevent_default()
        typed = (event.character or "").casefold()
        if event.key in _NEW or (self.new and typed == self.new.casefold()):
            self.dismiss(True)
        elif event.key in _OLD or (self.old and typed == self.old.casefold()):
            self.dismiss(False)
        elif event.key == "escape":
            self.dismiss(None)


def _common(versions: Sequence[str]) -> str:
    """The one letter or figure that all of them are; empty where they are not."""
    first = versions[0]
    alike = all(version.casefold() == first.casefold() for version in versions)
    return first if alike and len(first) == 1 and first not in "12" else ""


def with_builds(
    page: Page, event: str | None, car: str | None, go_on: Callable[[dict[str, Any]], None]
) -> None:
    """Go on with the values that the next session needs beside the carried ones: none, or, where a
    damper was stripped down since, those of the build that the crew says is on the car."""
    from trackside.crew.swapping import newest_builds, rebuilt
    from trackside.records import Session
    from trackside.reports.swapped import swap_said
    from trackside.tui.view import SWAP_FOR

    desk = page.desk
    carried = Session.checked(desk.next_session(event, car))
    found = rebuilt(carried, desk.shed) if desk.shed else []
    if not found:
        go_on({})
        return

    def answered(newest: bool | None) -> None:
        assert desk.shed is not None
        if newest:
            values, swaps = newest_builds(found, carried, desk.shed)
            go_on(dict(values))
            if swaps:
                told = " · ".join(swap_said(swap, desk.preferences) for swap in swaps)
                page.view.tell(told, "problem", SWAP_FOR)
                page.host.repeat_news()
        elif newest is not None:
            go_on({})

    page.app.push_screen(WhichBuild(found), answered)
