"""The garage book: corner weights and what else is written down beside the runs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from rich.text import Text
from textual.containers import VerticalScroll
from textual.widget import Widget
from textual.widgets import Static

from trackside.crew.belonging import named
from trackside.crew.garage_book import BEGINS_AT, new_entry
from trackside.errors import NotEntered, TracksideError
from trackside.logbook import drop
from trackside.reports.garage_book import PARTS, BookPart
from trackside.reports.said_words import past_words
from trackside.tui.calculating import CalculatingPage
from trackside.tui.columns import Columns
from trackside.tui.commands import Command, bindings_of, key_of
from trackside.tui.widgets.ledger import Ledger

ONLY_NAMED = "not on record: only runs name it, on their run sheets"


class BookPage(CalculatingPage):
    """The list of one part above, the entry under the cursor below."""

    PAGE = "book"
    BINDINGS = bindings_of("book")

    def __init__(self) -> None:
        super().__init__()
        self.part: BookPart = PARTS[0]
        self.rows: Sequence[Any] = ()
        self.opened = ""
        """The entry that was opened last: the cursor is on it until a person moves it."""
        self._columns = Columns.for_words(self.part.heads, (), 0)

    def body(self) -> Iterable[Widget]:
        """The parts, the list under its headings, and the entry."""
        yield Static("", id="parts", markup=False)
        yield Static("", id="entry-heads", classes="heads", markup=False)
        yield Ledger(self._row, id="entries")
        with VerticalScroll(id="about", can_focus=False):
            yield Static("", id="words", markup=False)

    def on_mount(self) -> None:
        """The list has the keys."""
        self.query_one(Ledger).focus()

    def subject(self) -> str:
        """Whose book, and where."""
        of = self._of()
        return named(self.desk.logbook, self.part.of, of) if of else f"no {self.part.of} yet"

    def _of(self) -> str:
        """The car, or the event, of the session in hand; without one, the one entered last."""
        desk, of = self.desk, self.part.of
        if desk.has_session and (entity := str(desk.session.value(of) or "")):
            return entity
        return desk.logbook.newest(of)

    @property
    def under_cursor(self) -> Any | None:
        """The entry that keys act on."""
        cursor = self.query_one(Ledger).cursor
        return self.rows[cursor] if cursor < len(self.rows) else None

    def works(self, command: Command) -> bool:
        """Only an entry on the list can be opened or taken off."""
        if "book" in command.pages and command.action in ("edit", "strike", "more"):
            return bool(self.rows)
        return super().works(command)

    # ── drawing ─────────────────────────────────────────────────────────────────────────────

    def show(self) -> None:
        """Read the part again."""
        names = Text()
        for part in PARTS:
            names.append(" ")
            names.append(f" {part.title} ", "reverse bold" if part is self.part else "")
        self.query_one("#parts", Static).update(names, layout=False)
        part, of, logbook = self.part, self._of(), self.desk.logbook
        self.calculate(lambda: (part, part.read(logbook, of) if of else ()), self._draw)

    def _draw(self, answer: tuple[BookPart, Sequence[Any]] | TracksideError) -> None:
        """The list, unless another part was gone to meanwhile."""
        if isinstance(answer, TracksideError):
            self.say(str(answer), "error")
            return
        part, rows = answer
        if part is not self.part:
            return
        self.rows, ledger = rows, self.query_one(Ledger)
        told = [part.row(one, self.desk.preferences) for one in rows]
        room = max(20, self.size.width - 1)
        self._columns = Columns.for_words(part.heads, told, room, whole=part.whole)
        self.query_one("#entry-heads", Static).update(Text(self._columns.line(part.heads)))
        ledger.empty = f"\n {part.empty}\n {key_of('new_entry')} writes the first one down."
        entities = [one.entity for one in rows]
        places = [n for n, entity in enumerate(entities) if entity and entity == self.opened]
        ledger.fill(len(rows), places[0] if places else None)
        self._about()
        self.on_grid_keys_changed()
        self.repeat_news()

    def _row(self, index: int) -> Text:
        return Text(self._columns.line(self.part.row(self.rows[index], self.desk.preferences)))

    def _about(self) -> None:
        """All about the entry under the cursor."""
        one, text = self.under_cursor, Text()
        if one is not None:
            for line in self.part.lines(self.rows, one, self.desk.preferences):
                text.append(f"{line}\n")
            for line in past_words(self.desk.logbook, one.entity) if one.entity else ():
                text.append(f"\n{line}")
        self.query_one("#words", Static).update(text)
        self.query_one("#about", VerticalScroll).scroll_home(animate=False)

    def on_ledger_moved(self) -> None:
        """Another entry."""
        self.opened = ""
        self._about()

    def on_ledger_chosen(self) -> None:
        """Enter on a row."""
        self.action_edit()

    def turn_part(self, by: int) -> None:
        """Another part of the book."""
        self.part = PARTS[(PARTS.index(self.part) + by) % len(PARTS)]
        self.opened, self.rows = "", ()
        self.query_one(Ledger).fill(0, 0)
        self.redraw()

    # ── keys ────────────────────────────────────────────────────────────────────────────────

    def action_new_entry(self) -> None:
        """Write the next one down; it is typed at once."""
        if not self._of():
            raise NotEntered(self.part.of)
        self._enter(begin=f"{self.part.kind}.{BEGINS_AT[self.part.kind]}")

    def _enter(self, begin: str = "", **values: Any) -> None:
        """Write a record down and open it; typing begins in the cell `begin`."""
        kind = self.part.kind
        now = None if self.desk.look_at_clock() else datetime.now()
        write = new_entry(kind, self.part.of, self._of(), now, **values)
        self.desk.write(write)
        self.opened = write.entity
        self.open_record({kind: write.entity}, begin=begin)

    def action_edit(self) -> None:
        """Put the entry under the cursor right; a set that only runs name is entered first."""
        one = self.under_cursor
        if one is None:
            return
        if not one.entity:
            if self.desk.logbook.read_only:
                self.say(ONLY_NAMED, "problem")
            else:
                self._enter(name=one.name, date=None)
            return
        self.opened = one.entity
        self.open_record({self.part.kind: one.entity})

    def action_strike(self) -> None:
        """Take the entry under the cursor off; undo brings it back."""
        one = self.under_cursor
        if one is None:
            return
        if not one.entity:
            self.say(ONLY_NAMED, "problem")
            return
        self.desk.write(drop(self.part.kind, one.entity))
        self.redraw()
        self.announce(f"taken off; {key_of('undo')} brings it back", "kept")

    def action_more(self) -> None:
        """Further down."""
        self.query_one("#about", VerticalScroll).scroll_page_down(animate=False)
