"""One record on a sheet of cells: an event, a car, or a damper with one of its builds."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from rich.text import Text
from textual.widget import Widget
from textual.widgets import Static

from trackside.crew.belonging import BELONGS, named
from trackside.crew.cell_text import change, siblings, spread, text_of, unreadable
from trackside.crew.forms import FORMS, Entry, entries
from trackside.crew.garage_book import may_be_called
from trackside.errors import LogbookError, TracksideError
from trackside.logbook import dampers
from trackside.logbook.drafts import EMPTIED
from trackside.logbook.fold import patched
from trackside.reports import cautions
from trackside.reports.mark_words import figure_problem
from trackside.reports.weighing_words import balance_of_body
from trackside.tui.commands import Command, bindings_of
from trackside.tui.page import Page
from trackside.tui.screens.which_build import with_builds
from trackside.tui.widgets.ask import HOLD_AFTER
from trackside.tui.widgets.cells import Block, Cell, Kind, Shown, half_said
from trackside.tui.widgets.grid import Grid
from trackside.tui.widgets.picking import Offer
from trackside.units import one_line

_NAMES = ("serial", "version")
"""What sheets and sessions call a damper and its build by."""
LABEL_WIDTH = 16
GONE = "this record is no longer in the logbook: Esc goes back, U brings it again"


class RecordPage(Page):
    """Cells of a record; each value is kept as soon as it is left."""

    PAGE = "record"
    BINDINGS = [*bindings_of("record"), *bindings_of("build")]
    grid: Grid

    def __init__(self) -> None:
        super().__init__()
        self.part = ""
        self._opened: dict[str, str] = {}
        """The records as they were opened; another opening begins on the first cell."""
        self.entries: dict[str, Entry] = {}
        self.bodies: dict[str, dict[str, Any]] = {}
        self.builds: list[str] = []
        """Those of the damper that is open, the oldest first."""
        self.typed: dict[tuple[str, str], str] = {}
        """What could not be kept, by entity and key: it stays in its cell until it is put right."""
        self.trouble: dict[tuple[str, str], str] = {}
        self._refused: set[tuple[str, str]] = set()
        """Those that it was the logbook's file that did not take."""
        self.half: dict[tuple[str, str], str] = {}
        """What was typed for a choice and not taken, or stood there as the program was cut off."""
        self._typing: tuple[str, str, str] | None = None
        """Entity, key and text that is to be held beside the truth."""
        self._drafted: set[tuple[str, str]] = set()
        """Where something was held, and not let go of yet."""
        self.grid = Grid(self._shown, offer=self._offer, form=True, id="record", classes="fill")
        self.grid.label_width = LABEL_WIDTH

    @property
    def form(self) -> str:
        """Which form: event, car or damper."""
        return next(iter(self.view.form), "event")

    def body(self) -> Iterable[Widget]:
        """Parts, and the cells."""
        yield Static("", id="parts", markup=False)
        yield self.grid

    def on_mount(self) -> None:
        """The cells have the keys."""
        self.grid.focus()

    def subject(self) -> str:
        """What the record is about."""
        spoken = {
            "event": lambda b: f"Event · {b.get('venue', '')} · {b.get('date', '')}",
            "car": lambda b: f"Car · {b.get('name', '')} {b.get('number', '')}",
            "damper": lambda b: f"Damper {b.get('serial', '')}",
            "build": lambda b: f"build {b.get('version', '')}",
            "weather": lambda b: f"Weather · {self._of('event', b)} · {b.get('at', '')}",
            "strip_down": lambda b: f"Strip-down of {b.get('damper', '')}",
            "box_part": lambda b: f"Disc box · {b.get('sort', '')}",
            "counter": lambda b: f"Hours · {b.get('part', '')} · {self._of('car', b)}",
            "tyre_set": lambda b: f"Tyre set {b.get('name', '')} · {self._of('car', b)}",
            "weighing": lambda b: f"Corner weights · {self._of('car', b)} · {b.get('at', '')}",
        }
        parts = [spoken[kind](one) for kind, one in self._bodies(self.desk.outbox.state).items()]
        return " · ".join(part.strip() for part in parts)

    def _of(self, kind: str, body: dict[str, Any]) -> str:
        return named(self.desk.logbook, kind, str(body.get(kind, "")))

    def redraw(self) -> None:
        """A damper's builds have keys of their own."""
        self.PAGE = "build" if self.form == "damper" else "record"
        super().redraw()

    def _read(self) -> dict[str, dict[str, Any]]:
        return self._bodies(self.desk.outbox.take_up)

    def _bodies(self, read: Callable[[str], dict[str, Any] | None]) -> dict[str, dict[str, Any]]:
        form = self.view.form.items()
        return {kind: body for kind, entity in form if (body := read(entity)) is not None}

    def works(self, command: Command) -> bool:
        """Another build can be gone to where there is one; a session belongs to an event and a
        car."""
        if command.action == "session_here":
            return self.form in BELONGS
        if command.action.startswith("build("):
            return len(self.builds) > 1
        return super().works(command)

    # ── drawing ─────────────────────────────────────────────────────────────────────────────

    def show(self) -> None:
        """Lay the part out."""
        if self._opened is not self.view.form:
            self._hold()  # what was being typed in the record before waits there
            self.grid.typed = None
            self._opened, self.part, self.grid.path = self.view.form, "", ""
            self._take_up_drafts()
        self.bodies = self._read()
        damper = self.bodies.get("damper")
        found = dampers.builds_of(self.desk.logbook, damper["serial"]) if damper else ()
        self.builds = [entity for entity, _ in found]
        self.grid.locked = self.desk.logbook.read_only
        parts = FORMS[self.form]
        if self.part not in parts:
            self.part = next(iter(parts))
        self.entries = entries(self.form)
        names = Text()
        for part in parts if len(parts) > 1 else ():
            names.append(" ")
            names.append(f" {part} ", "reverse bold" if part == self.part else "")
        line = self.query_one("#parts", Static)
        line.display = len(parts) > 1
        line.update(names, layout=False)
        if self.form not in self.bodies:
            self.grid.lay_out((), ())
            self.say(GONE, "problem")
            return
        sections = [s for s in parts[self.part] if s.entries[0].kind in self.bodies]
        preferences = self.desk.preferences
        self.grid.columns = 2 if len(sections) > 1 else 1
        blocks = [Block(section.title, section.role) for section in sections]
        cells = [
            Cell(
                entry.key,
                entry.label_in(preferences),
                n,
                row,
                Kind.of(entry.quantity, bool(entry.choices)),
            )
            for n, section in enumerate(sections)
            for row, entry in enumerate(section.entries)
        ]
        self.grid.lay_out(blocks, cells)
        self._detail()

    def _at(self, key: str) -> tuple[str, str]:
        return self.view.form[self.entries[key].kind], key

    def _shown(self, key: str) -> Shown:
        at = self._at(key)
        if at in self.typed:
            return Shown(self.typed[at], "•")
        entry = self.entries[key]
        body, preferences = self.bodies[entry.kind], self.desk.preferences
        kept = self.desk.outbox.is_kept(at[0], entry.path)
        mark = "•" if not kept else "!" if figure_problem(entry, body, preferences) else ""
        half = self.half.get(at, "")
        return Shown(text_of(entry, body, preferences), "…" if half else mark, half_typed=half)

    def _offer(self, key: str) -> Offer:
        return Offer(self.entries[key].choices)

    def _tell(self, entry: Entry, *words: str, kind: str = "") -> None:
        """Say that of a value, and what is cautioned of there."""
        caution = cautions.whole(cautions.on_record(entry.kind, entry.path))
        told = " · ".join(part for part in (*words, caution) if part)
        self.say(told, "caution" if caution else kind)

    def _detail(self) -> None:
        key = self.grid.path
        if not key:
            return
        entry = self.entries[key]
        if half := self.half.get(self._at(key)):
            self.say(f"{entry.label}: {half_said(half)}", "problem")
            return
        trouble = self.trouble.get(self._at(key), "")
        if trouble:
            self._tell(entry, f"{entry.label}: {trouble}", kind="problem")
            return
        if doubt := figure_problem(entry, self.bodies[entry.kind], self.desk.preferences):
            self._tell(entry, f"{entry.label}: {doubt}", kind="problem")
            return
        value = spread(self.bodies[entry.kind]).get(entry.path)
        typed = value.get("typed", "") if isinstance(value, dict) else value
        is_long = typed is value or ":" in str(typed)
        words = typed if isinstance(typed, str) and is_long else ""
        self._tell(entry, entry.label, one_line(words), self._worked_out(entry) or entry.hint)

    def _worked_out(self, entry: Entry) -> str:
        """What the figures beside that one come to: the shares of four scales."""
        if entry.key.startswith("weighing.") and entry.path.endswith(".mass"):
            return balance_of_body(self.bodies[entry.kind], self.desk.preferences)
        return ""

    # ── typing ──────────────────────────────────────────────────────────────────────────────

    def arrived(self) -> None:
        """Start typing in the cell that is to be filled in first: in place of what stands there."""
        key, self.view.begin = self.view.begin, ""
        if key in self.grid.paths:
            self.grid.go(key)
            self.grid.edit("")

    def on_grid_moved(self) -> None:
        """Another cell; why the one before could not be kept is not wiped away by it."""
        self._detail()
        if self.grid.path and self._at(self.grid.path) not in self.trouble:
            self.repeat_news()

    def on_grid_typing(self, message: Grid.Typing) -> None:
        """Say what is asked for, and the caution that goes with it."""
        if message.done:
            return
        if self._typing is None:
            self.set_timer(HOLD_AFTER, self._hold)
        self._typing = (*self._at(message.path), message.text)
        entry, picking = self.entries[message.path], self.grid.picking
        if picking and (said := picking.said()):
            self._tell(entry, f"{entry.label}: {said}", kind="problem")
        else:
            self._tell(entry, entry.label, entry.hint)

    def _hold(self) -> None:
        if self._typing is not None and self.grid.typed is not None:
            self._hold_at(*self._typing)
        self._typing = None

    def _hold_at(self, entity: str, key: str, text: str) -> None:
        """Hold it beside the truth; empty text lets go of what was held there."""
        if text:
            self._drafted.add((entity, key))
        elif (entity, key) in self._drafted:
            self._drafted.discard((entity, key))
        else:
            return
        self.desk.drafts.hold(entity, key, text)

    def _take_up_drafts(self) -> None:
        """What stood half typed in these records as the program was cut off."""
        known, bodies = entries(self.form), self._read()
        for kind, entity in self.view.form.items():
            for key, text in self.desk.drafts.of(entity).items():
                if key not in known or (entity, key) in self.typed:
                    continue
                if not self.desk.outbox.is_kept(entity, known[key].path):
                    continue  # it stands there, and goes with its save
                self._drafted.add((entity, key))
                stands = text_of(known[key], bodies.get(kind, {}), self.desk.preferences)
                if text in (stands, "" if stands else EMPTIED):
                    self._hold_at(entity, key, "")
                else:
                    self.half[entity, key] = text

    def kept(self, _: str) -> None:
        """The logbook has committed a value: its mark goes, and so does its draft."""
        for entity, key in list(self._drafted):
            if (entity, key) in self.typed or (entity, key) in self.half:
                continue
            if not self.desk.outbox.unkept(entity) and self.grid.typed is None:
                self._hold_at(entity, key, "")
        self.grid.refresh()

    def on_grid_left(self, message: Grid.Left) -> None:
        """Keep what was typed, or say why it cannot be kept."""
        self._typing = None
        self._keep(message.path, message.text)

    def on_grid_restored(self, message: Grid.Restored) -> None:
        """The cell is as it was; what was typed and not taken is held beside it."""
        at = self._at(message.path)
        if message.half:
            self.half[at] = message.half
        else:
            self.half.pop(at, None)
        self._typing = None
        self._hold_at(*at, message.half)
        self.grid.repaint(message.path)
        self._detail()

    def leave(self) -> None:
        """Hand up what is half typed."""
        ended = self.grid.end()
        if isinstance(ended, Grid.Left):
            self._keep(ended.path, ended.text)
        elif ended is not None:
            self.on_grid_restored(ended)

    def _keep(self, key: str, text: str, *, by_itself: bool = False) -> None:
        entry, at = self.entries[key], self._at(key)
        told = self.trouble.get(at, "")
        self.half.pop(at, None)
        if entry.kind not in self.bodies:
            self.typed[at], self.trouble[at] = text, GONE
            self.say(GONE, "problem")
            return
        together = siblings(entry, self.entries.values())
        kept = text_of(entry, self.bodies[entry.kind], self.desk.preferences)
        if text == kept or (entry.required and not text):
            self.typed.pop(at, None)
        else:
            self.typed[at] = text
        texts = {e: self.typed[a] for e in together if (a := self._at(e.key)) in self.typed}
        for each in together:
            self.trouble.pop(self._at(each.key), None)
            self._refused.discard(self._at(each.key))
        if texts:
            try:
                self._write(entry.kind, at[0], texts)
            except TracksideError as error:
                own = unreadable(texts, self.desk.preferences)
                waits = f"not saved yet: put {next(iter(own)).label} right first" if own else error
                for each in texts:
                    self.trouble[self._at(each.key)] = str(own.get(each, waits))
                    if isinstance(error, LogbookError):
                        self._refused.add(self._at(each.key))
            else:
                for each in texts:
                    self.typed.pop(self._at(each.key), None)
        if self.typed.get(at):
            self._hold_at(*at, text)
        elif not texts and self.desk.outbox.is_kept(at[0], entry.path):
            self._hold_at(*at, "")
        elif not texts:
            self.desk.outbox.again(aloud=not by_itself)
        for each in together:
            self.grid.repaint(each.key)
        if not by_itself or self.trouble.get(at, "") != told:
            self._after(key)

    def again(self) -> None:
        """What the file did not take goes to it once more; why not, where that is new."""
        for entity, key in sorted(self._refused):
            mine = key in self.entries and self._at(key) == (entity, key)
            if mine and self.grid.typed is None:
                self._keep(key, self.typed[entity, key], by_itself=True)

    def _after(self, key: str) -> None:
        trouble = self.trouble.get(self._at(key), "")
        if trouble:
            entry = self.entries[key]
            self.view.tell(f"{entry.label}: {trouble}", "problem")
            self._tell(entry, f"{entry.label}: {trouble}", kind="problem")
        else:
            self._detail()
            if self.entries[key].required and self.children:
                self.query_one("#heading", Static).update(self._heading(), layout=False)

    def _write(self, kind: str, entity: str, texts: dict[Entry, str]) -> None:
        body = self.bodies[kind]
        patch = change(kind, body, texts, self.desk.preferences)
        if kind == "tyre_set" and "name" in patch:
            may_be_called(self.desk.logbook, entity, body, patch["name"])
        if kind in ("damper", "build") and any(name in patch for name in _NAMES):
            self.desk.write(*dampers.rename(self.desk.logbook, kind, entity, body, patch))
            for each in texts:
                self._hold_at(entity, each.key, "")
            self.bodies = self._read()
        else:
            self.desk.amend(kind, entity, patch, {e.key: text for e, text in texts.items()})
            self._drafted -= {(entity, each.key) for each in texts}
            self.bodies[kind] = patched(body, patch)

    # ── commands ────────────────────────────────────────────────────────────────────────────

    def action_back(self) -> None:
        """Where this was opened."""
        self.leave()
        self.host.show_page(self.view.form_from)

    def turn_part(self, by: int) -> None:
        """Another part of the form."""
        self.grid.leave()
        parts = list(FORMS[self.form])
        self.part = parts[(parts.index(self.part) + by) % len(parts)]
        self.show()

    def action_build(self, by: int) -> None:
        """Another build of the same damper."""
        if self.form != "damper":
            return
        self.leave()
        if "damper" not in self.bodies:
            self.say(GONE, "problem")
            return
        entities = self.builds
        here = self.view.form.get("build", "")
        at = (entities.index(here) if here in entities else 0) + by
        if 0 <= at < len(entities):
            self.view.form = self._opened = self.view.form | {"build": entities[at]}
            self.redraw()
        else:
            self.say("no build " + ("after" if by > 0 else "before") + " this one")

    def action_session_here(self) -> None:
        """A session of this event, or of this car."""
        self.leave()
        if self.form not in BELONGS:
            self.say("sessions are opened from an event, a car, or the pit board")
            return
        if self.form not in self.bodies:
            self.say(GONE, "problem")
            return
        event, car = (self.view.form.get(kind) for kind in ("event", "car"))

        def open_next(values: dict[str, Any]) -> None:
            self.desk.new_session(event, car, values)
            self.host.show_page("sheet")

        with_builds(self, event, car, open_next)
