"""Where two windows or laptops differ: every version with author and time, and the decision."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rich.cells import set_cell_size
from rich.text import Text
from textual.containers import VerticalScroll
from textual.widget import Widget
from textual.widgets import Static

from trackside.crew.deciding import Decision, for_text, for_version
from trackside.logbook import Conflict
from trackside.reports.naming import (
    moment_in_words,
    place_in_words,
    record_in_words,
    who_in_words,
)
from trackside.reports.undone import spoken
from trackside.tui.commands import Command, bindings_of
from trackside.tui.note_forms import Answers, NoteForms
from trackside.tui.page import OF_A_SESSION
from trackside.tui.widgets.ask import Question
from trackside.tui.widgets.ledger import Ledger
from trackside.units import one_line

EMPTY = """
 No conflicts.

 Where two windows or two laptops set a value differently, both versions are
 here until a person decides.
"""
TWICE_DETAIL = "1, 2 … holds, and takes what only the other has; Enter: they are two things"
WORDS = frozenset(("words", "why", "reason", "verdict_words", "work"))
"""Places of words, which two people may both have a part in."""


class Conflicts(NoteForms):
    """The list of values in conflict, and the versions of the one under the cursor."""

    PAGE = "conflicts"
    BINDINGS = bindings_of("conflicts")

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[Conflict] = []
        self._named: dict[str, str] = {}

    def body(self) -> Iterable[Widget]:
        """List and versions."""
        yield Ledger(self._row, empty=EMPTY, id="open-conflicts")
        with VerticalScroll(id="versions-of", can_focus=False):
            yield Static("", id="versions", markup=False)

    def subject(self) -> str:
        """How many wait."""
        count = len(self.rows)
        return f"{count} to decide" if count else "nothing to decide"

    def on_mount(self) -> None:
        """The list has the keys."""
        self.query_one(Ledger).focus()

    def show(self) -> None:
        """Read them again."""
        desk, before = self.desk, self._here()
        self.rows = desk.logbook.open_conflicts()
        self._named = {
            d.entity: one_line(record_in_words(desk.logbook, d.entity, d.kind)) for d in self.rows
        }
        places = [(d.entity, d.path) for d in self.rows]
        same = (before.entity, before.path) if before else None
        self.query_one(Ledger).fill(len(places), places.index(same) if same in places else None)
        self.query_one("#heading", Static).update(self._heading(), layout=False)
        self._versions()

    def _row(self, index: int) -> Text:
        dispute = self.rows[index]
        place = place_in_words(dispute.path)
        room = max(20, min(34, self.size.width // 3))
        words = set_cell_size(set_cell_size(place, room - 1), room)
        return Text(f" {words}{self._named[dispute.entity]}")

    def _here(self) -> Conflict | None:
        at = self.query_one(Ledger).cursor
        return self.rows[at] if 0 <= at < len(self.rows) else None

    def works(self, command: Command) -> bool:
        """Only a version that is there can be taken."""
        dispute = self._here()
        if command.action.startswith("version("):
            versions = dispute.versions if dispute else ()
            return any(command.action == f"version({n})" for n, _ in enumerate(versions, 1))
        if command.action == "other":
            return bool(dispute and dispute.path)
        return super().works(command)

    def hand_over(self, page: str) -> bool:
        """The session that the conflict is about is the one that the next page is about."""
        dispute = self._here()
        if dispute and dispute.kind == "session" and dispute.path and page in OF_A_SESSION:
            self.take_in_hand(dispute.entity)
        return True

    def _versions(self) -> None:
        dispute = self._here()
        text = Text()
        for style, line in self._told(dispute) if dispute else ():
            text.append(f"{line}\n", style)
        self.query_one("#versions", Static).update(text)
        self.query_one("#versions-of", VerticalScroll).scroll_home(animate=False)
        self.say(
            TWICE_DETAIL
            if dispute and dispute.twins
            else "1, 2 … takes that version; Enter types another value, or both together"
            if dispute and dispute.path
            else "1, 2 … takes that version"
            if dispute
            else ""
        )

    def _told(self, dispute: Conflict) -> Iterator[tuple[str, str]]:
        here = self.desk.logbook.device
        yield "bold", f"{place_in_words(dispute.path)}, {self._named[dispute.entity]}"
        if dispute.twins:
            yield "", "two laptops entered it; until it is decided, 1 counts on every laptop"
        else:
            yield "", f"before: {self._spoken(dispute, dispute.before)}"
        for number, version in enumerate(dispute.versions, 1):
            yield "bold", f"{number}  {self._spoken(dispute, version.value)}"
            who = who_in_words(version.author, version.device, here)
            why = f": {one_line(version.reason)}" if version.reason else ""
            yield "", f"   {who}, {moment_in_words(version.recorded_at)}{why}"

    def _spoken(self, dispute: Conflict, value: object) -> str:
        return spoken(self.desk.logbook, dispute.kind, dispute.path, value, self.desk.preferences)

    def on_ledger_moved(self) -> None:
        """Another conflict."""
        self.on_grid_keys_changed()
        self._versions()

    def on_ledger_chosen(self) -> None:
        """Enter: another value."""
        self.action_other()

    def action_version(self, number: int) -> None:
        """Decide for that version."""
        dispute = self._here()
        if dispute is None:
            return
        if number > len(dispute.versions):
            self.say(f"there is no version {number}", "problem")
            return
        told = one_line(self._spoken(dispute, dispute.versions[number - 1].value))
        heading = f"{place_in_words(dispute.path)}: {told}"
        why = Question("why", "Why this version", hint="it stays in the history")
        decision = for_version(dispute, number - 1)
        self.ask(heading, (why,), lambda answers: self._settle(decision, told, answers))

    def action_other(self) -> None:
        """Decide for another value than either's; words of both may go together."""
        dispute = self._here()
        if dispute is None:
            return
        if not dispute.path:
            self.say("keep it or take it off: 1, 2 … takes that version", "problem")
            return
        if dispute.twins:
            self._ask_two_things(dispute)
            return
        known = (version.value for version in dispute.versions if version.value is not None)
        texts = [self._spoken(dispute, value) for value in known]
        both = "; ".join(dict.fromkeys(texts)) if dispute.path in WORDS else ""
        questions = (
            Question("value", "What holds", text=one_line(both)),
            Question("why", "Why", hint="it stays in the history"),
        )

        def decided(answers: Answers) -> str:
            desk = self.desk
            decision = for_text(desk.logbook, dispute, answers["value"], desk.preferences)
            told = one_line(self._spoken(dispute, decision.value))
            return self._settle(decision, told, answers)

        self.ask(place_in_words(dispute.path), questions, decided, " / ".join(texts))

    def _ask_two_things(self, dispute: Conflict) -> None:
        """They are two things after all: the second takes another name."""
        questions = (
            Question("name", "Name of the second", hint="they are two things: 1 keeps its name"),
            Question("why", "Why", hint="it stays in the history"),
        )

        def decided(answers: Answers) -> str:
            desk = self.desk
            decision = for_text(desk.logbook, dispute, answers["name"], desk.preferences)
            return self._settle(decision, f"the second is {decision.second}", answers)

        self.ask(place_in_words(dispute.path), questions, decided)

    def _settle(self, decision: Decision, told: str, answers: Answers) -> str:
        self.desk.settle(decision, answers["why"])
        return (
            f"{place_in_words(decision.dispute.path)}: {told}; every version stays in the history"
        )
