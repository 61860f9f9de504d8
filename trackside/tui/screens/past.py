"""The past of a value: who set it, when, what stood before, why; and the session as it stood."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from rich.cells import set_cell_size
from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from trackside.logbook import Entry
from trackside.logbook.fold import leaves
from trackside.reports.naming import moment_in_words, place_in_words, value_in_words, who_in_words
from trackside.tui.widgets.box import Box
from trackside.tui.widgets.ledger import Ledger
from trackside.units import one_line

EMPTY = "\n Nothing was ever written here."


class Past(Box[None]):
    """The history of one value of the current session; `a` shows that of the whole session."""

    BINDINGS = [
        ("escape,l", "leave", "Back"),
        ("a", "whole", "Whole session"),
        ("space,pagedown", "more", "More"),
    ]

    def __init__(self, path: str) -> None:
        super().__init__()
        self.path = path
        self.whole = False
        self.rows: list[Entry] = []

    def compose(self) -> ComposeResult:
        """Heading, the changes, the one under the cursor, keys."""
        yield Static("", id="heading", markup=False)
        yield Ledger(self._row, empty=EMPTY, id="past-list")
        with VerticalScroll(id="past-then", can_focus=False):
            yield Static("", id="past-told", markup=False)
        yield Static("", id="past-keys", markup=False)

    def on_mount(self) -> None:
        """The list has the keys."""
        self.set_class(self.size.width >= 110 and self.size.height >= 34, "wide")
        self.query_one(Ledger).focus()
        self._read()

    def _read(self) -> None:
        of = "the whole session" if self.whole else place_in_words(self.path)
        self.query_one("#heading", Static).update(Text(f" HISTORY  {of}"))
        self.rows = self.desk.logbook.history(self.desk.entity, None if self.whole else self.path)
        self.query_one(Ledger).fill(len(self.rows), 0)
        other = "a this value alone" if self.whole else "a whole session"
        keys = f"Enter the session as it was · {other} · Space more · Esc back"
        self.query_one("#past-keys", Static).update(keys)
        self._about()

    def _row(self, index: int) -> Text:
        entry = self.rows[index]
        changed = "; ".join(self._changed(entry)) or entry.step or "without effect"
        columns = (
            (moment_in_words(entry.recorded_at), 21),
            (one_line(entry.author) or "unsigned", 13),
            (one_line(changed), max(20, self.size.width - 37)),
        )
        return Text(" " + "".join(set_cell_size(set_cell_size(w, n - 1), n) for w, n in columns))

    def _changed(self, entry: Entry) -> Iterator[str]:
        for path, (before, after) in entry.changes.items():
            place = f"{place_in_words(path)} " if self.whole else ""
            was, now = (self._said(v, path) for v in (before, after))
            yield f"{place}{was} → {now}" + (" (current)" if path in entry.stands else "")
        for path in entry.stands:
            if path not in entry.changes:
                yield f"{place_in_words(path)} (current)" if self.whole else "(current)"

    def _said(self, value: Any, path: str) -> str:
        return value_in_words(value, path, self.desk.preferences, self.desk.logbook)

    def _about(self) -> None:
        """All about the change under the cursor."""
        text = Text()
        if self.rows:
            entry = self.rows[self.query_one(Ledger).cursor]
            here = self.desk.logbook.device
            text.append(f"{who_in_words(entry.author, entry.device, here)}\n", "bold")
            deed = {"undo": "taken back", "redo": "set again"}.get(entry.step or "", "")
            deed = "taken off the logbook" if entry.op == "drop" else deed
            deed = "kept, though another laptop took it off" if entry.kept else deed
            reason = f"why: {one_line(entry.reason)}" if entry.reason else "no reason was given"
            text.append(" · ".join(part for part in (deed, reason) if part) + "\n")
            for changed in self._changed(entry):
                text.append(f"  {changed}\n")
        self._tell(text)

    def _tell(self, text: Text) -> None:
        self.query_one("#past-told", Static).update(text)
        self.query_one("#past-then", VerticalScroll).scroll_home(animate=False)

    def on_ledger_moved(self) -> None:
        """Another change."""
        self._about()

    def on_ledger_chosen(self, message: Ledger.Chosen) -> None:
        """The session as it was recorded then."""
        entry = self.rows[message.index]
        body = self.desk.logbook.as_of(self.desk.entity, entry.recorded_at)
        text = Text(f"The session as recorded by {moment_in_words(entry.recorded_at)}\n", "bold")
        for path, value in leaves(body or {}):
            place = ".".join(path)
            shown = (
                self.desk.text.belongs(place, str(value))
                if place in ("event", "car")
                else self._said(value, place)
            )
            text.append(f"  {place_in_words(place):<22} {one_line(shown)}\n", "not bold")
        self._tell(text)

    def action_whole(self) -> None:
        """The whole session, or the value alone."""
        self.whole = not self.whole
        self._read()

    def action_more(self) -> None:
        """Further down."""
        self.query_one("#past-then", VerticalScroll).scroll_page_down(animate=False)

    def action_leave(self) -> None:
        """Back to the sheet."""
        self.dismiss()
