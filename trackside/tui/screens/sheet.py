"""The run sheet: one session, four corners as on the car, and what the setting is worth."""

from __future__ import annotations

import time
from collections.abc import Iterable, Sequence
from typing import Any

from textual.containers import Horizontal
from textual.widget import Widget
from textual.widgets import Static

from trackside.crew import walk_round
from trackside.crew.belonging import BELONGS
from trackside.errors import UnknownRecord
from trackside.records.fields import (
    ADJUSTERS,
    CORNER_FIELDS,
    CORNERS,
    OTHER_SIDE,
    SESSION_FIELDS,
)
from trackside.records.lap_table import pasted_laps
from trackside.reports import cautions, walk_words
from trackside.reports.job_words import count_words
from trackside.reports.run_state import RAN_NOW
from trackside.reports.when_words import when_in_heading
from trackside.tui import run_forms, sheet_parts, walking
from trackside.tui.choices import offered
from trackside.tui.commands import Command, bindings_of, bound_keys, key_of, no_session
from trackside.tui.note_forms import Answers, NoteForms
from trackside.tui.screens.which_build import with_builds
from trackside.tui.setting_alike import set_alike
from trackside.tui.sheet_cells import SheetCells
from trackside.tui.view import SWAP_FOR
from trackside.tui.widgets.ask import HOLD_AFTER, Question
from trackside.tui.widgets.grid import Grid
from trackside.tui.widgets.walk_sign import WalkSign
from trackside.tui.widgets.worth import Worth
from trackside.units import one_line

SOON_AFTER = 0.05
"""Seconds after a piece of news is old, when the line under the cells is the cell's again."""


class Sheet(NoteForms):
    """The entry screen."""

    PAGE = "sheet"
    BINDINGS = bindings_of("sheet")
    grid: Grid

    def __init__(self) -> None:
        super().__init__()
        self.part = "damper"
        self.cells = SheetCells(lambda: self.desk)
        self.grid = Grid(
            self.cells.shown,
            offer=lambda path: offered(self.desk, path),
            commands=bound_keys(self.PAGE),
            whole=self._whole,
            pasted=lambda path, text: pasted_laps(text) if path == "lap_times" else text,
            arms=True,
            id="cells",
        )
        self.worth = Worth(id="worth")
        self._typed: tuple[str, str] | None = None
        """What is being typed, until it is held beside the truth."""
        self._due = False
        self._ran_at = -SWAP_FOR
        """When a value showed that the run in hand was run (monotonic s): said for a while."""
        self._came = ""
        """The session for which the cursor was last put where it begins."""

    def body(self) -> Iterable[Widget]:
        """Parts, cells, and the panel beside them."""
        yield Static("", id="parts", markup=False)
        yield WalkSign(id="sign")
        with Horizontal(id="run"):
            yield self.grid
            yield self.worth

    def on_mount(self) -> None:
        """The cells have the keys."""
        self.grid.focus()

    def arrived(self) -> None:
        """A cell that was asked for is the cursor's only once; so are plans to be shown."""
        self.view.cell = ""
        if plan := self.view.plan:
            self.view.plan = ""
            self.action_plans(plan)

    def come_afresh(self) -> None:
        """It opens on a part where letters are commands, not on the form on which it was left."""
        self.part = "damper" if self.part == "session" else self.part

    def subject(self) -> str:
        """The session; until it was run, that its settings are to be set; and its car's jobs."""
        told, desk = super().subject(), self.desk
        if not desk.has_session or desk.shed is None:
            return told
        line = desk.line()
        title = line.title.capitalize() + ("" if desk.session.ran else ", to set")
        jobs = count_words(len(desk.jobs.open_of(desk.session.car)))
        parts = (title, jobs, line.car_name, line.venue, when_in_heading(line), line.driver)
        return " · ".join(part for part in parts if part)

    # ── drawing ─────────────────────────────────────────────────────────────────────────────

    def show(self) -> None:
        """Lay the part out for the current session."""
        if self.view.cell:
            self._turn_to(self.view.cell)
            self.grid.path = self.view.cell
        if self.view.cell or self._came != self.desk.entity:
            self.grid.walk = ()
        self.set_class(bool(self.grid.walk), "walking")
        self._name_parts()
        if not self.desk.has_session:
            self.grid.lay_out((), ())
            self.worth.update("", layout=False)
            self.say(no_session(self.desk.shed is not None))
            return
        self.grid.locked = self.desk.logbook.read_only
        self.grid.form = self.part == "session"
        self.set_class(self.grid.form or bool(self.grid.walk), "whole")
        self.grid.lay_out(*self._laid())
        self._to_an_empty_corner()
        self._corner_in_hand()
        self._detail()
        self._panel_due()

    def _name_parts(self) -> None:
        """The parts, the present one lit; on a walk, where it is."""
        if self.grid.path in self.grid.walk:
            names = walking.heading(self, self.grid)
        else:
            names = sheet_parts.names(self.parts, self._groups(), self.has_class("narrow"))
        self.query_one("#parts", Static).update(names, layout=False)

    def _to_an_empty_corner(self) -> None:
        """In a session that has just come into hand with no damper at the cursor's corner, its
        serial is what is typed first."""
        desk, corner = self.desk, self.grid.path.partition(".")[0]
        if self._came == desk.entity:
            return
        self._came = desk.entity
        if self.part == "damper" and corner in CORNERS and not desk.session.corner(corner).damper:
            self.grid.go(f"{corner}.damper")

    def _laid(self) -> sheet_parts.Laid:
        desk = self.desk
        if self.grid.walk:
            return sheet_parts.walk_part(self.grid.walk, desk.preferences)
        if self.part == "session":
            return sheet_parts.session_part(desk.session, desk.preferences)
        return sheet_parts.corner_part(self._groups(), desk.session, desk.shed, desk.preferences)

    @property
    def parts(self) -> dict[tuple[str, ...], str]:
        """The parts for this size: a high screen shows two groups at once."""
        return sheet_parts.WIDE if self.has_class("wide") else sheet_parts.NARROW

    def _groups(self) -> tuple[str, ...]:
        return next(groups for groups in self.parts if self.part in groups)

    def _detail(self, typing: str | None = None) -> None:
        """What the cell is, what its text means, or why it cannot be right."""
        path, cells = self.grid.path, self.cells
        typing = self.grid.buffer if typing is None else typing
        if not path or not self.desk.has_session:
            return
        if path in self.grid.walk:
            self._name_parts()
            walking.draw_sign(self, path, cells.text(path) if typing is None else typing)
        if typing is None and (waits := cells.waits(path)):
            self.say(waits, "problem")
            return
        if (picking := self.grid.picking) and (
            said := picking.said() or cells.clash(path, picking.lit)
        ):
            self.say(said, "problem")
            return
        problem = cells.problem(path) if typing is None else ""
        place = cells.place(path)
        if cells.is_plain(path):
            said = problem or cells.text(path) or "unknown"
            self.say(f"{place}: {said}", "problem" if problem else "")
            return
        if path in self.grid.walk:
            place += f", walk-round {self.grid.walk.index(path) + 1} of {len(self.grid.walk)}"
            if passed := walk_words.passed_said(self.grid.passed):
                place += f" · {passed}"
        warned, kind = self._warned(path)
        if problem:
            self.say(" · ".join([f"{place}: {problem}", *warned]), kind or "problem")
            return
        last = cells.last(path) if typing is None else ()
        parts = [
            place,
            RAN_NOW if self._just_ran else "",
            last[0] if last else "",
            cells.meaning(path, typing),
            self._other_end(path),
            "" if typing is not None else cells.by_the_air(path),
            "" if typing is not None else cells.in_time_table(path),
            *warned,
            cells.hint(path),
            "" if typing is not None else cells.before(path),
        ]
        self.say(" · ".join(part for part in parts if part), kind or ("long" if last else ""))

    @property
    def _just_ran(self) -> bool:
        return self.desk.session.ran and time.monotonic() < self._ran_at + SWAP_FOR

    def _warned(self, path: str) -> tuple[list[str], str]:
        """What the detail cautions of at that value, and the kind of line it takes: short words,
        or all of it where it is told at length and no panel has room."""
        there = cautions.on_run_sheet(path)
        if at_length := cautions.page(there):
            return ([], "") if self.worth.has_room else ([at_length], "caution")
        return [one.short for one in there], "long" if there else ""

    def _other_end(self, path: str) -> str:
        """That the knob on the other side counts from the other end, where it does."""
        cell = self.grid.cell(path)
        if cell is None or not cell.end:
            return ""
        other = "soft" if cell.end == "hard" else "hard"
        return f"{OTHER_SIDE[path[:2]]} from full {other}"

    def _corner_in_hand(self) -> None:
        """The corner and direction of every other page are those of the cursor, at once: the panel
        is drawn later."""
        corner, _, name = self.grid.path.partition(".")
        if corner in CORNERS:
            self.view.corner = corner
        if name.startswith(("bump", "rebound")) and name in ADJUSTERS:
            self.view.direction = name.partition("_")[0]

    def on_worth_room_changed(self) -> None:
        """The panel has come up."""
        self._panel_due()

    def _panel_due(self) -> None:
        """Draw the panel once the cells are painted, however many keys came."""
        if not self._due:
            self._due = True
            self.set_timer(0.005, self._panel)

    def _panel(self) -> None:
        self._due = False
        if not self.desk.has_session or not self.is_running:
            return
        name = self.grid.path.partition(".")[2]
        if name in CORNER_FIELDS and CORNER_FIELDS[name].group == "tyre":
            self.worth.draw_run(self.desk)
        else:
            self._draw_worth()

    def _draw_worth(self) -> None:
        path = self.grid.path
        caution = cautions.page(cautions.on_run_sheet(path)) if path else ""
        self.worth.draw(self.desk, self.view.corner, self.view.direction, caution)

    # ── typing and moving ───────────────────────────────────────────────────────────────────

    def works(self, command: Command) -> bool:
        """Only a knob can be turned."""
        if command.action.startswith("turn("):
            return self.grid.path.partition(".")[2] in ADJUSTERS
        if command.action == "set_alike":
            return self.grid.path.partition(".")[0] in CORNERS
        return super().works(command)

    def on_grid_left(self, message: Grid.Left) -> None:
        """Keep what was typed."""
        self._typed, to_set = None, not self.desk.session.ran
        try:
            changed = self.desk.keep_text(message.path, message.text)
        except UnknownRecord as error:
            self.cells.unknown[self.desk.entity, message.path] = (message.text, str(error))
            self.desk.hold(message.path, message.text)  # it outlives the program, half typed
            self.grid.repaint(message.path)
            self.grid.go(message.path)
            return
        self.cells.unknown.pop((self.desk.entity, message.path), None)
        if changed:
            if to_set and self.desk.session.ran and message.path != "status":
                self._ran_at = time.monotonic()
                self.query_one("#heading", Static).update(self._heading(), layout=False)
            self._after_change(message.path)
            self._past_the_build(message.path)
            self._clash_said(message.path)
        else:
            self._detail()

    def _clash_said(self, path: str) -> None:
        """That a damper just picked is at another corner, or on another car: the cursor goes on,
        so it is said for a while, unless it is said meanwhile what the swap cleared."""
        clash = self.cells.clash(path, self.cells.text(path))
        if clash and time.monotonic() >= self.view.news[2]:
            self.view.tell(clash, "problem", SWAP_FOR)
            self.repeat_news()

    def _past_the_build(self, path: str) -> None:
        """A damper brought its build with it: the cursor goes on to what is still to be typed."""
        corner, _, name = path.partition(".")
        if name != "damper" or self.grid.path != f"{corner}.build" or self.grid.typed:
            return
        if self.desk.session.corner(corner).build:
            self.grid.step(1, 0)

    def _after_change(self, path: str) -> None:
        name = path.partition(".")[2]
        if name in ("damper", "build") or path in BELONGS:
            self.redraw()
        else:
            self.grid.repaint(path)
            self._detail()
            self._panel_due()

    def on_grid_restored(self, message: Grid.Restored) -> None:
        """The cell is as it was; what was typed and not taken is held beside it."""
        self._typed = None
        self.desk.hold(message.path, message.half)
        if message.half:
            self.desk.half_typed[message.path] = message.half
        self.grid.repaint(message.path)
        self._detail()

    def on_grid_moved(self) -> None:
        """Another cell, perhaps another corner."""
        self._corner_in_hand()
        self._detail()
        if not self.cells.problem(self.grid.path):
            self.repeat_news()
            left = self.view.news[2] - time.monotonic()
            if left > 0:
                self.set_timer(left + SOON_AFTER, self._detail_again)
        self._panel_due()

    def _detail_again(self) -> None:
        """The news is old: the line is the cell's again, unless that is being typed in."""
        if time.monotonic() >= self.view.news[2] and self.grid.typed is None and self.is_current:
            self._detail()

    def on_grid_typing(self, message: Grid.Typing) -> None:
        """Say what the text means while it is typed, and keep it beside the truth meanwhile."""
        if message.done:
            return
        self._detail(message.text)
        if self._typed is None:
            self.set_timer(HOLD_AFTER, self._hold)
        self._typed = (message.path, message.text)

    def _hold(self) -> None:
        if self._typed is not None and self.grid.typed is not None:
            self.desk.hold(*self._typed)
        self._typed = None

    def kept(self, path: str) -> None:
        """The logbook has committed that value."""
        self.grid.repaint(path)

    def leave(self) -> None:
        """Hand up what is half typed."""
        ended = self.grid.end()
        if isinstance(ended, Grid.Left):
            self.on_grid_left(ended)
        elif ended is not None:
            self.on_grid_restored(ended)

    # ── commands ────────────────────────────────────────────────────────────────────────────

    def turn_part(self, by: int) -> None:
        """Another part of the sheet; the cursor stays at its corner."""
        self.grid.leave()
        groups = list(self.parts)
        self.part = groups[(groups.index(self._groups()) + by) % len(groups)][0]
        self.grid.end_walk()
        corner = self.grid.path.partition(".")[0]
        self.show()
        cells = self.grid.places.cells
        same_corner = [cell for cell in cells if cell.path.startswith(f"{corner}.")]
        self.grid.go(self.grid.first(same_corner))

    def stand_on(self, path: str) -> None:
        """Put the cursor on that value, whichever part it is on; off the walk the walk is over."""
        if path not in self.grid.walk:
            self.grid.walk = ()
        self._turn_to(path)
        self.show()
        self.grid.go(path)
        self._corner_in_hand()

    def _turn_to(self, path: str) -> None:
        """The part of the page on which that value is."""
        corner, _, name = path.partition(".")
        field = (CORNER_FIELDS if corner in CORNERS else SESSION_FIELDS).get(name or path)
        is_corner = field is not None and corner in CORNERS
        self.part = field.group if field is not None and is_corner else "session"

    def action_past(self) -> None:
        """Who set the value under the cursor, when, what stood before, and why."""
        if self.session_in_hand() and self.grid.path:
            from trackside.tui.screens.past import Past

            self.leave()
            self.app.push_screen(Past(self.grid.path))

    def action_turn(self, clicks: int, both: bool = False) -> None:
        """So many clicks harder, softer below zero; on both sides of the axle if asked."""
        path = self.grid.path
        corner, _, name = path.partition(".")
        if name not in ADJUSTERS:
            self.say("move to an adjuster first", "problem")
            return
        paths = [path, f"{OTHER_SIDE[corner]}.{name}"] if both else [path]
        troubles = self.desk.turn(paths, clicks)
        for turned in paths:
            self.grid.repaint(turned)
        self._detail()
        self._say_of_turn(list(troubles.values()), self._uneven(paths) if both else "")
        self._panel_due()

    def _say_of_turn(self, troubles: list[str], uneven: str) -> None:
        """What is to be known of a turn, in place of the cell's detail; nothing as a rule."""
        doubts = troubles
        if not troubles and self.desk.session.ran:
            following = "" if uneven else f"; {key_of('new_session')} opens the next one"
            doubts = [f"this corrects a session that has run{following}"]
        if doubts or uneven:
            told = [uneven] if uneven else []
            self.say(" · ".join([*told, *doubts]), "problem" if doubts else "")

    def _uneven(self, paths: Sequence[str]) -> str:
        """That the two sides stand differently, where they do."""
        from trackside.crew.turning import uneven

        here, beside = ((p[:2], self.desk.session.si(p), self.cells.adjuster(p)) for p in paths)
        return uneven(here, beside)

    def action_plans(self, shown: str = "") -> None:
        """Plans for the next run, side by side with this one."""
        if self.session_in_hand():
            from trackside.tui.screens.plan import show_plans

            self.leave()
            show_plans(self, shown)

    def action_flip(self) -> None:
        """The other direction in the panel."""
        self.view.direction = "bump" if self.view.direction == "rebound" else "rebound"
        self._draw_worth()

    def action_walk(self) -> None:
        """What is read with a gauge, corner by corner in the crew's order."""
        if not self.session_in_hand():
            return
        self.leave()
        walk = walk_round.paths(self.desk.preferences)
        self.part, self.grid.walk = "tyre", walk
        self.show()
        self.grid.go(walking.first(self, walk))
        self.on_grid_moved()

    def on_grid_walked(self, message: Grid.Walked) -> None:
        """The walk is over: the page as it was, and a word on what was read."""
        if self.grid.path in message.walk:
            self._turn_to(self.grid.path)
        walking.over(self, message.walk)
        self.redraw()

    def _whole(self, path: str, text: str) -> bool:
        """Whether the walk-round goes on by itself after that text."""
        preferences = self.desk.preferences
        return preferences.walk_by_itself and walk_round.is_whole(path, text, preferences)

    def action_new_session(self) -> None:
        """The next session with the same set-up."""
        self.leave()
        desk = self.desk
        over = desk.has_session and desk.corrections.is_over(desk.session.event)
        with_builds(self, None, None, lambda values: self._open_next(over, values))

    def _open_next(self, over: bool, values: dict[str, Any]) -> None:
        self.desk.new_session(values=values)
        self.part = "damper"
        self.redraw()
        if over:
            another = f"{key_of('new_event')} on the pit board begins another"
            self.say(f"in an event that was over: {another}", "problem")
        else:
            self.say("new session with the same set-up; what is read starts empty", "kept")

    def action_set_alike(self) -> None:
        """The other side of the axle like this corner."""
        if self.session_in_hand():
            set_alike(self, self.view.corner)

    def action_next_run(self) -> None:
        """The next run of this session with the same set-up."""
        run_forms.open_next(self)

    def action_run_between(self) -> None:
        """A run that was forgotten, put in by its time."""
        run_forms.put_in(self)

    def action_move_run(self) -> None:
        """This run belongs to another session."""
        run_forms.move(self)

    def action_split_session(self) -> None:
        """This run and those behind it are a session of their own."""
        run_forms.split(self)

    def action_item(self) -> None:
        """An item of the whole car."""
        if self.session_in_hand():
            questions = (
                Question("name", "Item"),
                Question("text", "Value", hint="with its unit: 57.5 % front, hole 2 of 4"),
            )
            self.ask("Item of the whole car", questions, self._keep_item)

    def _keep_item(self, answers: Answers) -> str:
        name, text = one_line(answers["name"]), one_line(answers["text"])
        if not name:
            return ""
        self.part = "session"
        if text:
            self.desk.keep_text(f"items.{name}", text)
        self.show()
        self.grid.go(f"items.{name}")
        return "" if text or name in self.desk.session.items else f"{name}: type its value too"
