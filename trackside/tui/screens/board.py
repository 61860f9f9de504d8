"""The pit board: events and runs, newest first, and what is still open."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from functools import cached_property, partial
from typing import TYPE_CHECKING, Any

from rich.text import Text
from textual import events
from textual.widget import Widget
from textual.widgets import Input, Static

from trackside.analysis.time_table import TimeTables, day_of
from trackside.errors import TracksideError
from trackside.logbook import SessionLine
from trackside.reports.run_state import state_words
from trackside.reports.time_table import next_said, running_said, slot_said
from trackside.reports.when_words import when_words
from trackside.tui.board_row import Columns, from_laps, unfinished
from trackside.tui.board_watch import RangesWatched, RangeWatch
from trackside.tui.commands import Command, bindings_of, key_of
from trackside.tui.listing import Heading, Listing
from trackside.tui.messages import FirstPaint
from trackside.tui.page import OF_A_SESSION, Page
from trackside.tui.widgets.ledger import Ledger
from trackside.tui.widgets.writing import Line
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.tui.searching import FoundListing, RunSearch, Searched


def first_steps(cars: str = "") -> str:
    """The card of an empty logbook, with the keys in force, and the cars entered already."""
    event, car, shed, session = map(key_of, ("new_event", "new_car", "damper_shed", "new_session"))
    entered = (
        f"\n Cars entered already: {cars}. {key_of('edit_car')} edits the last.\n" if cars else ""
    )
    return f"""
 The logbook is empty. Three steps to the first session:

 1  {event} begins an event: venue and date · {car} enters a car
 2  {shed} opens the shed: dampers, with dyno sheets
 3  {session} opens the session; a cell is kept as you leave it

 `trackside demo` on the command line shows two weekends
 of an invented team.
{entered}"""


NOTHING_FITS = """
 No run fits.

 Words are looked for in everything on record: venue, driver, serial, tyre set,
 bump stop, notes, reasons. A condition names a value as the run sheet does:

 rebound > 8               hot fl between 1.8 and 1.95 bar
 driver = Vannick          date > 2026-05-01
 best lap < 1:35           “nose stays down”

 Several may be side by side: all of them must fit.
"""

PLACEHOLDER = "venue, driver, serial, phrase, rebound > 8, date > 2026-05 …"

GLANCE = 100
"""Sessions that are read before the first paint; the rest follows it."""
MINUTE = 60.0
"""Seconds between two looks at the time-table."""
TO_PAINT = 0.03
"""Seconds from the first layout until it is on the screen, with time to spare."""


class Board(Page):
    """Events and sessions."""

    PAGE = "board"
    BINDINGS = bindings_of("board")

    def __init__(self) -> None:
        super().__init__()
        self.rows: Listing | FoundListing | tuple[()] = ()
        self.wanted = ""
        self._read_at: tuple[object, ...] = ()
        self._laid_out = self._painted = False
        self._put: SessionLine | Heading | None = None
        """The row where a person put the cursor."""
        self._in_hand_then = ("", "")
        """The event entered last and the current session when the cursor was put there."""
        self._range_watch, self._at_ends = RangeWatch(self), ""
        self._laid_for: tuple[object, ...] = ()
        self._laid = Columns(0, False, 0, 0, 0)
        self._next = ""
        self._search: RunSearch | None = None
        self._found: FoundListing | None = None
        """What was found last, while something is looked for; None where nothing could be."""
        self._trouble = ""
        """Why what is asked cannot be looked for: what was expected."""
        self._found_at: tuple[object, ...] = ()
        """The words, and how far the logbook reached then."""

    def body(self) -> Iterable[Widget]:
        """The list, and the line that searches it."""
        yield Ledger(self._row, empty=first_steps(), id="sessions")
        finder = Line(placeholder=PLACEHOLDER, id="finder")
        finder.display = False
        yield finder

    @cached_property
    def _tables(self) -> TimeTables:
        return TimeTables(self.desk.logbook)

    def subject(self) -> str:
        """What is next by the time-table, and which logbook."""
        return " · ".join(part for part in (self._next, str(self.desk.path)) if part)

    def on_mount(self) -> None:
        """The list has the keys."""
        self.query_one(Ledger).focus()
        self.set_interval(MINUTE, self._look_at_time_table)

    def show(self) -> None:
        """Read the sessions again if the logbook has grown; the cursor stays where it was put, else
        with the current session."""
        if not self._laid_out:
            self.call_after_refresh(self._stands)  # though the sessions cannot be read
        listing, ledger = self._listing(), self.query_one(Ledger)
        ledger.empty = NOTHING_FITS if self.wanted.strip() else first_steps(self._cars(listing))
        ledger.fill(len(listing), self._place(listing))
        self.say(self._trouble or _counted(listing), "problem" if self._trouble else "")
        self.call_after_refresh(self._once_drawn, listing)

    def _cars(self, listing: Listing | FoundListing) -> str:
        """The names of the cars, where no event is listed yet on which they could be seen."""
        if len(listing) or not self._painted:
            return ""
        bodies = (body for _, body in self.desk.logbook.all("car"))
        names = (one_line(str(body.get("name") or "")) for body in bodies)
        return ", ".join(name for name in names if name)

    def _listing(self) -> Listing | FoundListing:
        """The sessions; a glance at the newest until the page stands on the screen. Of what is
        looked for, what was found last: the newest search is in a thread."""
        newest = None if self._painted else GLANCE
        extent = self.desk.logbook.extent()
        if self.wanted.strip():
            if (self.wanted, extent) != self._found_at:
                self._look_for(self.wanted)
            if self._found is not None:
                self.rows, self._read_at = self._found, ()
                return self._found
        else:
            self._found, self._found_at, self._trouble = None, (), ""
        read_at = (extent, newest)
        if read_at != self._read_at or not isinstance(self.rows, Listing):
            logbook, shown = self.desk.logbook, self.size.height
            self.rows = logbook.in_one_turn(lambda: Listing(logbook, newest, shown))
            self._read_at = read_at
        return self.rows

    def _look_for(self, text: str) -> None:
        from trackside.tui.searching import RunSearch

        if self._search is None:
            self._search = RunSearch(self)
        self._search.ask(text)

    def on_searched(self, message: Searched) -> None:
        """Show what was found, unless something else is looked for by now."""
        assert self._search is not None
        self._search.done()
        if message.text != self.wanted:
            return
        self._found_at = (message.text, message.extent)
        if isinstance(message.found, TracksideError):
            self._found, self._trouble = None, str(message.found)
            self.show()
            return
        self._found, self._trouble = message.found, ""
        self.show()
        self._tell_found(self.query_one(Ledger).cursor)
        self.name_unread()

    def _stands(self) -> None:
        if not self._laid_out:
            self._laid_out = True
            self.set_timer(TO_PAINT, self._read_on)

    def _once_drawn(self, listing: Listing | FoundListing) -> None:
        """Counting what is unfinished in ten seasons takes longer than the first lines may wait."""
        self._look_at_time_table()
        if not (self._painted and listing is self.rows and isinstance(listing, Listing)):
            return
        self._range_watch.look()
        if self.wanted.strip():
            return
        if count := listing.unfinished:
            lack = "lacks" if count == 1 else "lack"
            self.say(f"{_counted(listing)}, {count} {lack} something (right column)")
            self.repeat_news()  # what was just saved stays on the line until the next key

    def on_ranges_watched(self, message: RangesWatched) -> None:
        """Say it with what waits on the board."""
        self._at_ends = message.told
        self._notices()

    def notices(self) -> list[str]:
        """Which adjusters live at an end of their travel, and the app's."""
        return [*([self._at_ends] if self._at_ends else []), *super().notices()]

    def _look_at_time_table(self) -> None:
        """Say in the heading what begins next: a crew looks there between sessions."""
        if not self._painted or not self.is_current:
            return
        now = datetime.now()
        logbook, minute = self.desk.logbook, now.strftime("%Y-%m-%d %H:%M")
        said = (
            running_said(self._tables.of(minute[:10]), now),
            next_said(logbook.next_planned(minute), now),
        )
        told = " · ".join(part for part in said if part)
        if told != self._next:
            self._next = told
            self.query_one("#heading", Static).update(self._heading(), layout=False)

    def _read_on(self) -> None:
        """What the first lines do not wait for: all that is heavy."""
        self._painted = True
        self.post_message(FirstPaint())
        self.redraw()

    def _place(self, listing: Listing | FoundListing) -> int:
        """The row of an event entered since the cursor was put anywhere, else where a person put
        it, else of the current session."""
        entered, in_hand = self._in_hand()
        entered_then, in_hand_then = self._in_hand_then
        places = [
            listing.place(entered) if entered != entered_then else None,
            listing.place_of(self._put) if self._put and in_hand_then in ("", in_hand) else None,
            listing.place(in_hand),
            listing.place(entered),
        ]
        return next((place for place in places if place is not None), 1)

    def _put_on(self, row: SessionLine | Heading | None) -> None:
        """A person put the cursor on that row, or opened something on it."""
        self._put, self._in_hand_then = row, self._in_hand()

    def _in_hand(self) -> tuple[str, str]:
        """The event just entered, and the session."""
        return self.view.form.get("event", ""), self.desk.entity

    def _row(self, index: int) -> Text:
        row = self.rows[index]
        if isinstance(row, Heading):
            return Text.assemble((f"▌{row.text}", "bold"))
        if self._found is not None and self.rows is self._found:
            return self._columns().found(row, self._said_of(index))
        return self._columns().row(row)

    def _said_of(self, index: int) -> str:
        """What fits of the run in that row, in words; empty where nothing is looked for."""
        from trackside.reports.find_words import hits_words

        found = self._found.found(index) if self._found is not None else None
        return hits_words(found, self.desk.preferences) if found else ""

    def _tell_found(self, index: int) -> None:
        row = self.rows[index] if index < len(self.rows) else None
        if isinstance(row, SessionLine) and (said := self._said_of(index)):
            self.say(f"{row.short}  {said}", "long")

    def _columns(self) -> Columns:
        """As wide as the names on the list need; calculated anew when list or terminal change."""
        names = self.rows.names if self.rows else ()
        of = (
            self.query_one(Ledger).scrollable_content_region.width,
            self.has_class("narrow"),
            names,
        )
        if self._laid_for != of:
            self._laid_for, self._laid = of, Columns.for_names(*of)
        return self._laid

    def works(self, command: Command) -> bool:
        """Only what is on the list can be opened, edited or searched."""
        if (
            command.action in ("open", "next_run", "edit_car", "edit_event", "find")
            and not self.rows
        ):
            if command.action == "edit_car":
                return not self.wanted and bool(self.desk.logbook.newest("car"))
            return command.action == "find" and bool(self.wanted)
        if command.action in ("open", "next_run"):
            return self._session_at(self.query_one(Ledger).cursor) is not None
        return super().works(command)

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
        self._put_on(row)
        self.on_grid_keys_changed()
        if self._found is not None:
            self._tell_found(message.index)
        elif isinstance(row, SessionLine):
            open_still = ", ".join(unfinished(row)) if row.ran else ""
            state = state_words(row.status, row.ran, at_length=True)
            slot = slot_said(self._tables.of(day_of(row)), row.entity)
            opened = f"{when_words(row)}, start not typed" if row.opened else ""
            more = [
                opened,
                state,
                slot if not opened else "",
                row.surface,
                row.result,
                open_still,
                from_laps(row),
            ]
            self.say(f"{row.short}  " + " · ".join(part for part in more if part))

    def _open(self, index: int) -> None:
        if self._take(index):
            found = self._found.found(index) if self._found is not None else None
            cells = [hit.path for hit in found.hits if hit.path] if found else []
            self.view.cell = cells[0] if cells else self.view.cell
            self.go("sheet")

    def _take(self, index: int) -> bool:
        """Take the session of that row in hand, of a heading its newest one; a sentence when there
        is none."""
        session = self._session_at(index)
        if session is None:
            self.say(f"no session in this event yet: {key_of('new_session')} opens one", "problem")
            return False
        self.take_in_hand(session.entity)
        self._put_on(self.rows[index])
        return True

    def _session_at(self, index: int) -> SessionLine | None:
        """The session of that row; below a heading, the newest one of its event."""
        row = self.rows[index]
        below = self.rows[index + 1] if index + 1 < len(self.rows) else None
        if isinstance(row, Heading) and below is not None and below.event == row.event:
            row = below
        return row if isinstance(row, SessionLine) else None

    def hand_over(self, page: str) -> bool:
        """The session under the cursor is the one that the next page is about."""
        if page not in OF_A_SESSION or not self.rows:
            return True
        return self._take(self.query_one(Ledger).cursor)

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
        from trackside.crew.next_session import cars_at
        from trackside.tui.screens.which_car import with_car

        row = self._under_cursor()
        if isinstance(row, SessionLine):
            self.desk.take(row.entity)
            self._new_session(row.event)
        elif row is None:
            self._new_session(None)
        else:  # a heading does not say which car
            event = row.event
            with_car(self, cars_at(self.desk.logbook, event), partial(self._new_session, event))

    def _new_session(self, event: str | None, car: str | None = None) -> None:
        from trackside.tui.screens.which_build import with_builds

        def open_next(values: dict[str, Any]) -> None:
            self.desk.new_session(event, car, values)
            self._put_on(None)
            self.go("sheet")

        with_builds(self, event, car, open_next)

    def action_next_run(self) -> None:
        """Open the next run of the session under the cursor, with the set-up of the run there."""
        if not self.rows or not self._take(self.query_one(Ledger).cursor):
            return

        from trackside.tui.screens.which_build import with_builds

        def open_next(values: dict[str, Any]) -> None:
            self.desk.next_run(values)
            self._put_on(None)
            self.go("sheet")

        with_builds(self, None, None, open_next)

    def _under_cursor(self) -> SessionLine | Heading | None:
        return self.rows[self.query_one(Ledger).cursor] if self.rows else None

    def action_verdicts(self) -> None:
        """What waits for its verdict; what was said of the session under the cursor."""
        from trackside.tui.screens.verdicts import judge

        session = self._session_at(self.query_one(Ledger).cursor) if self.rows else None
        judge(self, session.entity if session else "")

    def action_jobs(self) -> None:
        """What is to be done on each car, that of the session under the cursor first."""
        from trackside.tui.screens.jobs import list_jobs

        session = self._session_at(self.query_one(Ledger).cursor) if self.rows else None
        list_jobs(self, session.car if session else "", session.entity if session else "")

    def action_new_event(self) -> None:
        """Begin an event today; its venue is typed at once."""
        body = {"venue": "new venue"}
        if not self.desk.look_at_clock():
            body["date"] = date.today().isoformat()
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
        if car := self._car_here():
            self.open_record({"car": car})

    def action_copy_car(self) -> None:
        """A car like the one of the session under the cursor, or the one entered last."""
        from trackside.tui.board_forms import copy_car

        if car := self._car_here():
            copy_car(self, car)

    def action_import_rows(self) -> None:
        """Cars from a spreadsheet."""
        from trackside.tui.table_forms import import_rows

        import_rows(self, "car")

    def _car_here(self) -> str:
        session = self._session_at(self.query_one(Ledger).cursor) if self.rows else None
        cars = [entity for entity, _ in self.desk.logbook.all("car")]
        car = session.car if session else cars[-1] if cars else ""
        if not car:
            self.say(f"no car here yet: {key_of('new_car')} enters one", "problem")
        return car


def _counted(listing: Listing | FoundListing) -> str:
    if not listing.sessions:
        return ""
    if not isinstance(listing, Listing):
        runs = "1 run fits" if listing.sessions == 1 else f"{listing.sessions} runs fit"
        return f"{runs}; Enter opens it on the value that fits"
    return f"★ kept  ≈ wet  {listing.sessions} run{'' if listing.sessions == 1 else 's'}"
