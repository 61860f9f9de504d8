"""The shelf: set-ups kept for another day; search, compare with today, bring back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from rich.text import Text
from textual import events
from textual.containers import VerticalScroll
from textual.widget import Widget
from textual.widgets import Input, Static

from trackside.analysis.recall import KeptSetUps, Recalled, find
from trackside.errors import TracksideError
from trackside.logbook import drop
from trackside.records import Note, Session
from trackside.records.fields import CORNER_FIELDS, CORNERS
from trackside.reports import formatting
from trackside.reports.recall_words import conditions_words, match_words
from trackside.tui.calculating import CalculatingPage
from trackside.tui.columns import Columns
from trackside.tui.commands import Command, bindings_of, key_of, no_session
from trackside.tui.note_forms import Keeping, NoteForms
from trackside.tui.screens.bring import Bring
from trackside.tui.screens.which_build import with_builds
from trackside.tui.widgets.ask import Question
from trackside.tui.widgets.ledger import Ledger
from trackside.tui.widgets.writing import Line
from trackside.units import one_line

EMPTY = """
 Nothing here.

 {shelve} on a run sheet keeps its set-up, with why.
"""
HEADS = ("Set-up", "Venue", "Date", "Conditions", "Result")
_SHOWN = tuple(name for name, field in CORNER_FIELDS.items() if field.carried)
"""What a set-up is: its settings and targets. What was read when it ran, bringing it back tells."""


class Shelf(CalculatingPage, NoteForms):
    """A search line, the kept set-ups, and what the one under the cursor ran."""

    PAGE = "shelf"
    BINDINGS = bindings_of("shelf")

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[Recalled] = []
        self.wanted = ""
        self._kept = KeptSetUps(())
        self._read_at: object = None
        """How far the logbook reached when the shelf was read."""
        self._from_list = False
        self._searched = ""
        """The words whose set-ups are listed."""
        self._columns = Columns.for_words(HEADS, (), 0)

    def body(self) -> Iterable[Widget]:
        """Search, list under its headings, detail."""
        yield Line(placeholder="venue, winner, driver, cold, wet, air<15 …", id="search")
        yield Static("", id="kept-heads", classes="heads", markup=False)
        yield Ledger(self._row, empty=EMPTY.format(shelve=key_of("shelve")), id="kept")
        with VerticalScroll(id="about", can_focus=False):
            yield Static("", id="words", markup=False)

    def subject(self) -> str:
        """What would be brought where."""
        return "bring back into: " * self.desk.has_session + super().subject()

    def on_screen_resume(self) -> None:
        """The search line has the keys at once; the list, when it had them before a question."""
        self.query_one(Ledger if self._from_list else Input).focus()
        self._from_list = False
        self.redraw()

    def works(self, command: Command) -> bool:
        """Only a set-up on the list can be brought back or taken off."""
        if "shelf" in command.pages and not self.rows:
            return command.action == "find" and bool(self.wanted)
        return super().works(command)

    # ── drawing ─────────────────────────────────────────────────────────────────────────────

    def show(self) -> None:
        """Search again; the shelf itself is read again only where the logbook has grown."""
        logbook = self.desk.logbook
        now = logbook.extent()
        if now == self._read_at:
            self._search()
        else:
            self.calculate(lambda: (now, KeptSetUps.read(logbook)), self._take)

    def _take(self, answer: tuple[object, KeptSetUps] | TracksideError) -> None:
        if isinstance(answer, TracksideError):
            self.say(str(answer), "error")
            return
        self._read_at, self._kept = answer
        self._search()
        self.repeat_news()

    def _search(self) -> None:
        desk = self.desk
        venue = desk.line().venue if desk.has_session else ""
        before = self._under_cursor()
        try:
            self.rows = find(
                desk.logbook,
                self.wanted,
                venue=venue,
                unit=desk.preferences.unit,
                kept=self._kept,
            )
        except TracksideError as error:
            self.say(str(error), "problem")
            return
        ledger = self.query_one(Ledger)
        words = [self._words(row) for row in self.rows]
        self._columns = Columns.for_words(
            HEADS, words, ledger.size.width - 1, whole=("Date",), told=("Conditions", "Result")
        )
        heads = Text(self._columns.line(HEADS) if self.rows else "")
        self.query_one("#kept-heads", Static).update(heads, layout=False)
        ledger.fill(len(self.rows), self._place(before))
        self._searched = self.wanted
        self.on_grid_keys_changed()
        self._detail()

    def _place(self, before: Recalled | None) -> int:
        """The row of the set-up that was under the cursor; of new words, the one they fit best."""
        if before is None or self.wanted != self._searched:
            return 0
        entities = [row.entity for row in self.rows]
        if before.entity in entities:
            return entities.index(before.entity)
        return self.query_one(Ledger).cursor

    def _under_cursor(self) -> Recalled | None:
        at = self.query_one(Ledger).cursor
        return self.rows[at] if 0 <= at < len(self.rows) else None

    def _row(self, index: int) -> Text:
        return Text(self._columns.line(self._words(self.rows[index])))

    def _detail(self) -> None:
        words = self.query_one("#words", Static)
        self.query_one("#about", VerticalScroll).scroll_home(animate=False)
        row = self._under_cursor()
        if row is None:
            words.update("")
            self.say("no kept set-up fits these words" if self.wanted else "")
            return
        hits = ", ".join(match_words(match, self.desk.preferences) for match in row.matched)
        matched = f"found by {hits}" if hits else ""
        self.say(" · ".join(part for part in (row.car, row.driver, matched) if part))
        state = self.desk.logbook.state(row.session)
        session = self.desk.logbook.session_record(row.session, state) if state else None
        text = Text()
        for style, line in self._told(row, session):
            text.append(f"{line}\n", style)
        words.update(text)

    def _told(self, row: Recalled, session: Session | None) -> Iterator[tuple[str, str]]:
        yield "bold", one_line(row.title)
        conditions = conditions_words(row, self.desk.preferences)
        if row.result or conditions:
            yield "", " · ".join(part for part in (row.result, conditions) if part)
        if row.why:
            yield "", one_line(row.why)
        if session is None:
            yield "", "its session is no longer in the logbook"
            return
        for corner in CORNERS:
            yield "bold", f"{corner} {self._corner(session, corner) or 'nothing entered'}"
        if session.items:
            yield "", ", ".join(f"{name} {text}" for name, text in session.items.items())
        for _, note in self.desk.logbook.records(Note, "note", row.session):
            said = [note.driver, note.phase, one_line(note.words)]
            yield "", " · ".join(part for part in said if part)

    def _corner(self, session: Session, corner: str) -> str:
        parts = []
        for name in _SHOWN:
            value = session.corner(corner).value(name)
            if value is not None:
                field = CORNER_FIELDS[name]
                text = formatting.value(value, field.quantity, self.desk.preferences)
                parts.append(f"{field.label.lower()} {text}")
        return ", ".join(parts)

    # ── moving ──────────────────────────────────────────────────────────────────────────────

    def on_input_changed(self, event: Input.Changed) -> None:
        """The list narrows while typing."""
        self.wanted = event.value.lstrip("/ ")
        self.show()

    def on_input_submitted(self) -> None:
        """To the list."""
        self.query_one(Ledger).focus()

    def on_key(self, event: events.Key) -> None:
        """Down and Escape leave the search line."""
        if event.key in ("down", "escape") and isinstance(self.focused, Input):
            self.query_one(Ledger).focus()
            event.stop()

    def on_ledger_moved(self) -> None:
        """Another set-up."""
        self._detail()

    def on_ledger_chosen(self, message: Ledger.Chosen) -> None:
        """Enter: compare the set-up that was lit then, and bring it back."""
        if message.index < len(self.rows):
            self.query_one(Ledger).move(message.index)
            self.action_bring()

    # ── commands ────────────────────────────────────────────────────────────────────────────

    def action_find(self) -> None:
        """Search."""
        self.set_focus(self.query_one("#search", Input))  # at once: the next key belongs to it

    def action_more(self) -> None:
        """Further down in the text; from its end, back to the top."""
        told = self.query_one("#about", VerticalScroll)
        if told.scroll_y >= told.max_scroll_y:
            told.scroll_home(animate=False)
        else:
            told.scroll_page_down(animate=False)

    def action_take_off(self) -> None:
        """Take the set-up under the cursor off the shelf, once that is confirmed."""
        row = self._under_cursor()
        if row is None:
            self.say("nothing to take off")
            return
        title = one_line(row.title)
        self._from_list = True

        def keep(answers: dict[str, str]) -> Keeping:
            write = drop("kept", row.entity, reason=one_line(answers["why"]))
            return Keeping((write,), f"off the shelf: {title}; {key_of('undo')} puts it back")

        self.ask(
            f"Take “{title}” off the shelf?",
            (Question("why", "Why", hint="Enter takes it off, Escape leaves it"),),
            keep,
            "Its session and its history stay; undo puts it back.",
        )

    def action_bring(self) -> None:
        """What differs on today's car, and what would be overwritten; then bring it in."""
        desk, row = self.desk, self._under_cursor()
        if row is None:
            self.say("nothing to bring back")
        elif desk.shed is None:
            self.say("the damper shed is still being read: press again in a moment")
        elif not desk.has_session:
            self.say(f"nothing to bring it into: {no_session(known=True)}", "problem")
        else:
            self._from_list = True
            if not desk.line().ran:
                self.app.push_screen(Bring(row), self._brought)
                return

            def compare(values: dict[str, Any]) -> None:
                self.app.push_screen(Bring(row, values), self._brought)

            with_builds(self, None, None, compare)

    def _brought(self, done: str | None) -> None:
        if done:
            self.go("sheet", done)

    def _words(self, row: Recalled) -> tuple[str, ...]:
        conditions = conditions_words(row, self.desk.preferences)
        return row.title, row.venue, row.date[:10], conditions, row.result
