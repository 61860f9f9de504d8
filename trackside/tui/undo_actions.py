"""What every page has in common about taking back, deciding and correcting."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from inspect import isawaitable

from trackside.crew.corrections import ReasonWanted
from trackside.crew.workspace import Workspace
from trackside.errors import TracksideError
from trackside.logbook import Undone, dampers
from trackside.preferences import Preferences
from trackside.tui.key_queue import KeyQueue
from trackside.tui.page import Page
from trackside.units import one_line


class UndoActions(KeyQueue):
    """The half of the app that undoes, redoes, leads to the conflicts, and asks for the reason of a
    correction after the event."""

    desk: Workspace
    preferences: Preferences
    page_name: str
    asking = False
    """Whether a reason is asked for, or what was asked is being done."""

    def show_page(self, name: str) -> None:
        """Go to a page."""
        raise NotImplementedError

    def tell(self, error: TracksideError) -> None:
        """An error as a sentence on the page."""
        raise NotImplementedError

    def make_ready(self) -> None:
        """Read the damper shed again."""
        raise NotImplementedError

    def draw_again(self) -> None:
        """Draw the page again."""
        raise NotImplementedError

    def action_undo(self) -> None:
        """Show what the last change of this laptop was, and take it back."""
        self._take_back("undo", "nothing to undo", "taken back")

    def action_redo(self) -> None:
        """Show what the last undo took back, and set it again."""
        self._take_back("redo", "nothing to redo", "again")

    def _take_back(self, step: str, none: str, done: str) -> None:
        from trackside.tui.screens.undoing import Undoing

        logbook = self.desk.logbook
        look = logbook.preview_undo if step == "undo" else logbook.preview_redo
        if look():
            self.push_screen(Undoing(step), partial(self._taken_back, done))
        elif isinstance(self.screen, Page):
            self.screen.announce(none)

    def _taken_back(self, done: str, undone: list[Undone] | None) -> None:
        """Show what was taken back where it stands."""
        if not undone:
            return
        from trackside.reports.undone import undone_in_words

        self.desk.again()
        if any(item.kind in dampers.KINDS for item in undone):
            self.make_ready()
        self._go_to(undone[-1])
        logbook = self.desk.logbook
        sentences = "; ".join(
            undone_in_words(logbook, item, self.preferences) for item in undone[:3]
        )
        if isinstance(self.screen, Page):
            self.screen.announce(f"{done}: {sentences}")

    def _go_to(self, item: Undone) -> None:
        """Take the session of what was taken back in hand, and show the value on the run sheet."""
        logbook = self.desk.logbook
        body = logbook.state(item.entity) or {}
        session = item.entity if item.kind == "session" else str(body.get("session", ""))
        if session and session != self.desk.entity and logbook.state(session) is not None:
            self.desk.take(session)
        if item.kind != "session" or not body:
            return
        if self.page_name not in ("sheet", "clicks", "debrief", "trend"):
            self.show_page("sheet")
        stand_on = getattr(self.screen, "stand_on", None)
        if stand_on is not None and item.changes:
            self.call_after_refresh(stand_on, next(iter(item.changes)))

    def action_conflicts(self) -> None:
        """Where windows or laptops differ."""
        self.show_page("conflicts")

    def ask_why(self, wanted: ReasonWanted, again: Callable[[], object] | None) -> None:
        """Ask for the reason of a correction after the event, then do what was asked."""
        from trackside.reports.naming import place_in_words
        from trackside.tui.widgets.ask import Ask, Question

        desk, page = self.desk, self.screen
        place = place_in_words(wanted.path)
        question = Question("why", "Why", hint="one reason for this session's corrections")
        caution = f"This event is over: say why {place} is corrected."

        def answered(answers: dict[str, str] | None) -> None:
            reason = one_line((answers or {}).get("why", ""))
            if reason:
                hold({"why": ""})
            if reason and again is not None:
                desk.corrections.give(desk.entity, reason)
                self.call_next(self._once_more, again)
                return
            self.asking = False
            if isinstance(page, Page):
                page.announce(str(wanted), "problem")

        self.asking = True
        form = "Correction after the event"
        question = replace(question, text=desk.held(form).get("why", ""))
        hold = partial(desk.hold_form, form)
        self.push_screen(Ask(form, (question,), caution, hold=hold), answered)

    async def _once_more(self, again: Callable[[], object]) -> None:
        try:
            found = again()
            if isawaitable(found):
                await found
        except TracksideError as error:
            self.tell(error)
        finally:
            self.asking = False
        self.draw_again()
