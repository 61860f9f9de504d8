"""Bringing a kept set-up back: what differs today first, then what would be set, then the deed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.message import Message
from textual.widgets import Static

from trackside.analysis.bring_back import BringBack, bring_back
from trackside.analysis.changes import changes
from trackside.analysis.debrief import OutLap, out_lap
from trackside.analysis.outings import newest_that_ran
from trackside.analysis.recall import Recalled
from trackside.crew.plans import Plans, planned_cells
from trackside.errors import TracksideError, UnknownRecord
from trackside.logbook.fold import patched
from trackside.logbook.pitboard import title_of
from trackside.logbook.rows import text as words_of
from trackside.records import Reading, Session
from trackside.records.fields import ADJUSTERS, CORNERS, field_of
from trackside.reports import cautions, formatting
from trackside.reports.air_words import day_told
from trackside.reports.bring_words import differs_words, read_then_words, translation_words
from trackside.reports.debriefing import out_lap_words
from trackside.tui.commands import key_beside_text
from trackside.tui.widgets.box import Box
from trackside.units import one_line


@dataclass
class Planned(Message):
    """What bringing it in would do, or why that cannot be said."""

    found: BringBack | TracksideError
    after: Session | None = None
    care: OutLap | None = None
    """Why the first lap after it is to be a cautious one."""
    day: dict[str, list[str]] = field(default_factory=dict)
    """By corner, what the air of the run in hand asks for."""


class Bring(Box[str]):
    """Gives the sentence about what was brought in; nothing when it was left.

    `next_one`: the current session has run already, so the next one is opened for it, with these
    values over what it carries on.
    """

    BINDINGS = [
        ("enter,y", "bring", "Bring it in"),
        ("p", "as_plan", "As a plan"),
        ("escape,n", "leave", "Leave"),
        ("space,pagedown", "more", "More"),
        ("down", "line(1)", ""),
        ("up", "line(-1)", ""),
        ("pageup", "page_up", ""),
    ]

    def __init__(self, row: Recalled, next_one: dict[str, Any] | None = None) -> None:
        super().__init__()
        self.row = row
        self.next_one = next_one
        self.today: Session | None = None
        self.after: Session | None = None
        """The session as it would be."""
        self.plan: BringBack | None = None

    def compose(self) -> ComposeResult:
        """Heading, what would happen, keys."""
        yield Static(Text(f" BRING BACK  {one_line(self.row.title)}"), id="heading", markup=False)
        with VerticalScroll(id="bring", can_focus=False):
            yield Static("working out what differs today …", id="plan", markup=False)
        yield Static("", id="bring-keys", markup=False)

    def on_mount(self) -> None:
        """Fits may be made here: in a thread."""
        desk = self.desk
        if self.next_one is not None:
            self.today = Session.checked(patched(desk.next_session(), self.next_one))
        else:
            self.today = desk.session
        self.run_worker(self._plan, thread=True, exclusive=True)
        self._keys("Esc leave")

    def _plan(self) -> None:
        desk = self.desk
        try:
            state = desk.logbook.state(self.row.session)
            if state is None or desk.shed is None or self.today is None:
                raise UnknownRecord("its session is no longer in the logbook")
            kept = desk.logbook.session_record(self.row.session, state)
            found = bring_back(
                kept,
                self.today,
                desk.shed,
                desk.preferences.reference_speeds,
            )
            after = self.today
            for path, value in found.values.items():
                after = after.with_value(path, value)
            changed = changes(self.today, after, desk.shed, desk.preferences.reference_speeds)
            here = desk.session
            for corner in CORNERS:
                target = after.value(f"{corner}.hot_target")
                here = here.with_value(f"{corner}.hot_target", target)
            runs = newest_that_ran(desk.logbook, desk.entity)
            day = day_told(runs, kept, here, desk.preferences)
            self.post_message(Planned(found, after, out_lap(changed, self.today, after), day))
        except TracksideError as error:
            self.post_message(Planned(error))

    def on_planned(self, message: Planned) -> None:
        """Say what would happen."""
        text = Text()
        if isinstance(message.found, TracksideError):
            text.append(str(message.found), "bold")
        else:
            self.plan, self.after = message.found, message.after
            for style, line in self._told(message.found, message.care, message.day):
                text.append(f"{line}\n", style)
            more = "Space more · " if self._is_long(text) else ""
            undo = f"{key_beside_text('undo')} takes it back later"
            self._keys(f"Enter bring it in · p as a plan · Esc leave it · {more}{undo}")
        self.query_one("#plan", Static).update(text)

    def _is_long(self, text: Text) -> bool:
        return len(text.wrap(self.app.console, max(20, self.size.width - 3))) > self.size.height - 2

    def _keys(self, words: str) -> None:
        self.query_one("#bring-keys", Static).update(words)

    def _into(self) -> str:
        today = self.today
        assert today is not None
        counts = (count.typed if count else "" for count in (today.number, today.run))
        event = self.desk.logbook.state(today.event) or {}
        car = self.desk.logbook.state(today.car) or {}
        parts = (
            title_of(today.kind, *counts),
            words_of(event.get("venue")),
            words_of(car.get("name")),
        )
        return one_line(" · ".join(part for part in parts if part))

    def _told(
        self, found: BringBack, care: OutLap | None, day: dict[str, list[str]]
    ) -> Iterator[tuple[str, str]]:
        kind = "a new session" if self.next_one is not None else "the current session"
        yield "bold reverse", f" Into {kind}: {self._into()} "
        if self.next_one is not None:
            yield "", "The current session has run, so a new one is opened."
        yield "bold", "\nWhat differs on today's car"
        differs = [differs_words(one, self.desk.preferences) for one in found.differs]
        for sentence in differs or ("nothing that is on record",):
            yield "", f"  {sentence}"
        if found.translations:
            yield "bold", "\nSame curve, not same clicks"
            for step in found.translations:
                yield "", f"  {translation_words(step, self.desk.preferences)}"
        paths = sorted(found.overwrites, key=_order)
        told = "Overwritten" if self.next_one is None else "Other than in the session before"
        yield "bold", f"\n{told}: {len(paths) or 'nothing'}"
        for path in paths:
            yield (
                "",
                f"  {_label(path)}: {self._was(path)} → {self._shown(found.values[path], path)}"
                f"{self._end(path)}",
            )
        new = sorted(found.values.keys() - set(paths), key=_order)
        if new:
            yield "bold", f"\nEmpty so far: {len(new)}"
        for path in new:
            yield "", f"  {_label(path)}: {self._shown(found.values[path], path)}{self._end(path)}"
        if found.read_then:
            yield "bold", "\nRead then, not brought in: read it again today"
        for line in read_then_words(found, self.desk.preferences):
            yield "", f"  {line}"
        if day:
            yield "bold", "\nIn the air of the run in hand, an estimate from this car's runs"
        for corner, lines in day.items():
            for line in lines:
                yield "", f"  {corner} {line}"
        acts = dict.fromkeys(one for path in paths + new for one in cautions.on_run_sheet(path))
        if care:
            words = out_lap_words(care)
            yield "bold", f"\nAgainst today's sheet: {words}."
        yield "bold", f"\n{cautions.whole(acts)} {cautions.FIRST}".replace("\n ", "\n")

    def _was(self, path: str) -> str:
        assert self.today is not None
        return self._shown(self.today.value(path), path)

    def _end(self, path: str) -> str:
        """The end that a position on the damper there then counts from, where that is known."""
        corner, _, name = path.partition(".")
        if name not in ADJUSTERS or self.desk.shed is None or self.after is None:
            return ""
        build = self.desk.shed.build_at(self.after, corner)
        knob = build.adjuster(name) if build else None
        return f" from full {knob.counted_from}" if knob else ""

    def _shown(self, value: Reading | str | None, path: str) -> str:
        quantity = None if path.startswith("items.") else field_of(path).quantity
        return formatting.value(value, quantity, self.desk.preferences)

    def action_bring(self) -> None:
        """Set it all, in one step of undo."""
        found, desk, row = self.plan, self.desk, self.row
        if found is None:
            return
        if not found.values:
            self.dismiss("nothing to set: today's sheet says all of that already")
            return
        reason = f"brought back: {one_line(row.title)}, {row.venue} {row.date[:10]}".strip()
        values = found.patch() | {"based_on": row.session}
        try:
            if self.next_one is not None:
                desk.new_session(values=self.next_one | values, reason=reason)
            else:
                desk.keep_all(values, reason)
        except TracksideError as error:
            self._keys(str(error))
            return
        many, them = (
            ("1 value", "it") if len(found.values) == 1 else (f"{len(found.values)} values", "them")
        )
        key = key_beside_text("undo")
        self.dismiss(f"{many} brought in from {one_line(row.title)}; {key} takes {them} back")

    def action_as_plan(self) -> None:
        """Beside the run in hand, as a plan: no run is touched."""
        found, desk, name = self.plan, self.desk, one_line(self.row.title)
        if found is None or desk.logbook.read_only:
            return
        try:
            desk.flush()
            write = Plans(desk.logbook).begun(desk.entity, name, planned_cells(found.values))
            desk.write(write)
        except TracksideError as error:
            self._keys(str(error))
            return
        self.host.view.plan = write.entity
        self.dismiss(f"plan {name}: what it does beside the run; no run is touched")

    def action_leave(self) -> None:
        """Nothing is changed."""
        self.dismiss("")

    def action_more(self) -> None:
        """Further down."""
        self.query_one("#bring", VerticalScroll).scroll_page_down(animate=False)

    def action_page_up(self) -> None:
        """Further up."""
        self.query_one("#bring", VerticalScroll).scroll_page_up(animate=False)

    def action_line(self, by: int) -> None:
        """A line down or up."""
        scroll = self.query_one("#bring", VerticalScroll)
        scroll.scroll_relative(y=by, animate=False)


def _label(path: str) -> str:
    head, _, name = path.partition(".")
    if head in CORNERS:
        return f"{head} {field_of(path).label.lower()}"
    return name or head


def _order(path: str) -> tuple[int, str]:
    head = path.partition(".")[0]
    return (CORNERS.index(head) if head in CORNERS else len(CORNERS), path)
