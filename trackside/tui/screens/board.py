"""The pit board: events and sessions, newest first, and what is still open."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from rich.text import Text
from textual import events
from textual.widget import Widget
from textual.widgets import Input

from trackside.logbook import SessionLine
from trackside.tui.board_row import Columns, unfinished
from trackside.tui.commands import bindings_of, key_of
from trackside.tui.listing import Heading, Listing
from trackside.tui.messages import FirstPaint
from trackside.tui.page import Page
from trackside.tui.widgets.ledger import Ledger
from trackside.tui.widgets.writing import Line


def first_steps() -> str:
    """The card of an empty logbook, with the keys in force."""
    event, car, shed, session = map(key_of, ("new_event", "new_car", "damper_shed", "new_session"))
    return f"""
 The logbook is empty. Three steps to the first session:

 1  {event} begins an event: venue and date · {car} enters a car
 2  {shed} opens the shed: dampers, with dyno sheets
 3  {session} opens the session; a cell is kept as you leave it

 `trackside demo` on the command line shows two weekends
 of an invented team.
"""


NOTHING_FITS = "\n No session fits these words."

GLANCE = 100
"""Sessions that are read before the first paint; the rest follows it."""
TO_PAINT = 0.03
"""Seconds from the first layout until it is on the screen, with time to spare."""


class Board(Page):
    """Events and sessions."""

    PAGE = "board"
    BINDINGS = bindings_of("board")

    def __init__(self) -> None:
        super().__init__()
        self.rows: Sequence[SessionLine | Heading] = ()
        self.wanted = ""
        self._read_at: tuple[object, ...] = ()
        self._laid_out = self._painted = False
        self._put: tuple[SessionLine | Heading, tuple[str, str]] | None = None
        """The row where a person put the cursor, and what was in hand then."""
        self._laid_for: tuple[object, ...] = ()
        self._laid = Columns(0, False, 0, 0)

    def body(self) -> Iterable[Widget]:
        """The list, and the line that searches it."""
        yield Ledger(self._row, empty=first_steps(), id="sessions")
        finder = Line(placeholder="venue, driver, kind, date …", id="finder")
        finder.display = False
        yield finder

    def subject(self) -> str:
        """Which logbook."""
        return str(self.desk.path)

    def on_mount(self) -> None:
        """The list has the keys."""
        self.query_one(Ledger).focus()

    def show(self) -> None:
        """Read the sessions again if the logbook has grown; the cursor stays where it was put, else
        with the session in hand."""
        if not self._laid_out:
            self.call_after_refresh(self._stands)  # though the sessions cannot be read
        listing, ledger = self._listing(), self.query_one(Ledger)
        ledger.empty = NOTHING_FITS if self.wanted.strip() else first_steps()
        ledger.fill(len(listing), self._place(listing))
        self.say(_counted(listing))
        self.call_after_refresh(self._once_drawn, listing)

    def _listing(self) -> Listing:
        """The sessions; a glance at the newest until the page stands on the screen."""
        newest = None if self._painted else GLANCE
        read_at = (self.desk.logbook.extent(), self.wanted, newest)
        if read_at != self._read_at or not isinstance(self.rows, Listing):
            words = self.wanted.casefold().split()
            self.rows, self._read_at = Listing(self.desk.logbook, words, newest), read_at
        return self.rows

    def _stands(self) -> None:
        if not self._laid_out:
            self._laid_out = True
            self.set_timer(TO_PAINT, self._read_on)

    def _once_drawn(self, listing: Listing) -> None:
        """Counting what is unfinished in ten seasons takes longer than the first lines may wait."""
        if self._painted and listing is self.rows and (count := listing.unfinished):
            self.say(f"{_counted(listing)}, {count} with something still open (right column)")

    def _read_on(self) -> None:
        """What the first lines do not wait for: all that is heavy."""
        self._painted = True
        self.post_message(FirstPaint())
        self.redraw()

    def _place(self, listing: Listing) -> int:
        """The row where a person put the cursor, else of the event just entered, else of the
        session in hand."""
        entered, in_hand = self._in_hand()
        if self._put is not None:
            row, (entered_then, in_hand_then) = self._put
            place = listing.place_of(row)
            if place is not None and entered_then == entered and in_hand_then in ("", in_hand):
                return place
        for entity in (entered, in_hand):
            place = listing.place(entity)
            if place is not None:
                return place
        return 1

    def _in_hand(self) -> tuple[str, str]:
        """The event just entered, and the session."""
        return self.desk.form.get("event", ""), self.desk.entity

    def _row(self, index: int) -> Text:
        row = self.rows[index]
        if isinstance(row, Heading):
            return Text.assemble((f"▌{row.text}", "bold"))
        return self._columns().row(row)

    def _columns(self) -> Columns:
        """As wide as the names on the list need; reckoned anew when list or terminal change."""
        names = self.rows.names if isinstance(self.rows, Listing) else ()
        of = (self.query_one(Ledger).size.width, self.has_class("narrow"), names)
        if self._laid_for != of:
            self._laid_for, self._laid = of, Columns.for_names(*of)
        return self._laid

    def action_open(self) -> None:
        """Open the session under the cursor."""
        rows, ledger = self.rows, self.query_one(Ledger)
        if rows:
            self._open(ledger.cursor)

    def on_ledger_chosen(self, message: Ledger.Chosen) -> None:
        """Enter on a row."""
        if message.index < len(self.rows):
            self._open(message.index)

    def on_ledger_moved(self, message: Ledger.Moved) -> None:
        """Say what the session under the cursor is."""
        if message.index >= len(self.rows):
            return  # another window shortened the list meanwhile
        row = self.rows[message.index]
        self._put = row, self._in_hand()
        if isinstance(row, SessionLine):
            more = [row.status, row.surface, row.result, ", ".join(unfinished(row))]
            self.say(f"{row.short}  " + " · ".join(part for part in more if part))

    def _open(self, index: int) -> None:
        row = self.rows[index]
        if isinstance(row, Heading):
            index = min(index + 1, len(self.rows) - 1)
            row = self.rows[index]
        if isinstance(row, SessionLine):
            self._put = None
            self.desk.take(row.entity)
            self.app.action_page("sheet")  # type: ignore[attr-defined]

    def action_find(self) -> None:
        """Search the list."""
        finder = self.query_one("#finder", Input)
        finder.display = True
        self.set_focus(finder)  # at once: the next key belongs to it

    def on_input_changed(self, event: Input.Changed) -> None:
        """Narrow the list while typing."""
        self.wanted = event.value
        self.show()

    def on_input_submitted(self) -> None:
        """Back to the list."""
        self._leave_search()

    def on_key(self, event: events.Key) -> None:
        """Down and Escape leave the search line."""
        if event.key in ("down", "escape") and isinstance(self.focused, Input):
            self._leave_search()
            event.stop()

    def _leave_search(self) -> None:
        finder = self.query_one("#finder", Input)
        finder.display = bool(finder.value)
        self.query_one(Ledger).focus()

    def action_new_session(self) -> None:
        """Open the next session with the set-up under the cursor, or the newest one."""
        row, self._put = self._under_cursor(), None
        if isinstance(row, SessionLine):
            self.desk.take(row.entity)
        self.desk.new_session(row.event if row else None)
        self.app.action_page("sheet")  # type: ignore[attr-defined]

    def _under_cursor(self) -> SessionLine | Heading | None:
        return self.rows[self.query_one(Ledger).cursor] if self.rows else None

    def action_new_event(self) -> None:
        """Begin an event today; its venue is typed at once."""
        body = {"venue": "new venue", "date": date.today().isoformat()}
        self.open_record({"event": self.desk.add("event", body)}, begin="event.venue")

    def action_new_car(self) -> None:
        """Enter a car; its name is typed at once."""
        self.open_record({"car": self.desk.add("car", {"name": "new car"})}, begin="car.name")

    def action_edit_event(self) -> None:
        """Edit the event under the cursor."""
        row = self._under_cursor()
        if row is None or not row.event:
            self.say(f"no event here yet: {key_of('new_event')} begins one", "problem")
        else:
            self.open_record({"event": row.event})

    def action_edit_car(self) -> None:
        """Edit the car of the session under the cursor, or the one entered last."""
        row = self._under_cursor()
        cars = [entity for entity, _ in self.desk.logbook.all("car")]
        car = row.car if isinstance(row, SessionLine) else cars[-1] if cars else ""
        if car:
            self.open_record({"car": car})
        else:
            self.say(f"no car here yet: {key_of('new_car')} enters one", "problem")


def _counted(listing: Listing) -> str:
    if not listing.sessions:
        return ""
    return f"★ kept  ≈ wet  {listing.sessions} session{'' if listing.sessions == 1 else 's'}"
