"""The run sheet: one session, four corners as on the car, and what the setting is worth."""

from __future__ import annotations

from collections.abc import Iterable

from rich.text import Text
from textual.containers import Horizontal
from textual.widget import Widget
from textual.widgets import Static

from trackside.errors import TracksideError, UnknownRecord
from trackside.records import Adjuster
from trackside.records.fields import (
    ADJUSTERS,
    CORNER_FIELDS,
    CORNER_NAMES,
    CORNERS,
    OTHER_SIDE,
    SESSION_FIELDS,
    Field,
    field_of,
)
from trackside.review.charge import lost_charge
from trackside.review.plausible import problem_at
from trackside.tui import meaning
from trackside.tui.commands import bindings_of, bound_keys, key_of, no_session
from trackside.tui.desk import BELONGS
from trackside.tui.taking import Answers, Taking
from trackside.tui.widgets.ask import Question
from trackside.tui.widgets.cells import Block, Cell, Shown
from trackside.tui.widgets.grid import Grid
from trackside.tui.widgets.worth import Worth
from trackside.units import one_line

NARROW: dict[tuple[str, ...], str] = {
    ("damper",): "Dampers",
    ("spring",): "Springs, heights",
    ("alignment",): "Alignment",
    ("tyre",): "Tyres",
    ("session",): "Session, weather",
}
WIDE: dict[tuple[str, ...], str] = {
    ("damper", "spring"): "Dampers, springs, heights",
    ("alignment", "tyre"): "Alignment, tyres",
    ("session",): "Session, weather",
}
"""The parts of the sheet, by the groups of fields that each shows."""
HOLD_AFTER = 0.3
"""Seconds of typing after which the text is held against a cut-off."""
_NO_FIELD = ("lap_times", *BELONGS)
WALK_FIELDS = ("tread_inner", "tread_middle", "tread_outer", "hot_pressure")


class Sheet(Taking):
    """The entry screen."""

    PAGE = "sheet"
    BINDINGS = bindings_of("sheet")

    def __init__(self) -> None:
        super().__init__()
        self.part = "damper"
        self.grid = Grid(self._shown, commands=bound_keys(self.PAGE), id="cells")
        self.worth = Worth(id="worth")
        self._unknown: dict[tuple[str, str], tuple[str, str]] = {}
        """What was typed for an event or a car that is not there, and the sentence about it."""
        self._typed: tuple[str, str] | None = None
        """What is being typed, until it is held beside the truth."""
        self._due = False

    def body(self) -> Iterable[Widget]:
        """Parts, cells, and the panel beside them."""
        yield Static("", id="parts", markup=False)
        with Horizontal(id="run"):
            yield self.grid
            yield self.worth

    def on_mount(self) -> None:
        """The cells have the keys."""
        self.grid.focus()

    # ── drawing ─────────────────────────────────────────────────────────────────────────────

    def show(self) -> None:
        """Lay the part out for the session in hand."""
        names = Text()
        for number, (groups, label) in enumerate(self.parts.items()):
            names.append("  " if number else " ")
            if self.has_class("narrow"):
                label = label.partition(",")[0]
            names.append(f" {label} ", "reverse bold" if groups == self._groups() else "")
        self.query_one("#parts", Static).update(names, layout=False)
        if not self.desk.has_session:
            self.grid.lay_out((), ())
            self.say(no_session())
            return
        self.grid.locked = self.desk.logbook.read_only
        self.set_class(self.part == "session", "whole")
        blocks, cells = self._session_layout() if self.part == "session" else self._layout()
        self.grid.lay_out(blocks, cells)
        self._detail()
        self._panel_due()

    @property
    def parts(self) -> dict[tuple[str, ...], str]:
        """The parts for this size: a high screen shows two groups at once."""
        return WIDE if self.has_class("wide") else NARROW

    def _groups(self) -> tuple[str, ...]:
        return next(groups for groups in self.parts if self.part in groups)

    def _layout(self) -> tuple[list[Block], list[Cell]]:
        blocks = [Block(f"{c} {CORNER_NAMES[c]}", c) for c in CORNERS]
        cells = []
        for block, corner in enumerate(CORNERS):
            names = [n for n, f in CORNER_FIELDS.items() if f.group in self._groups()]
            known = self._adjusters(corner)
            names = [n for n in names if n not in ADJUSTERS or n in known]
            for row, name in enumerate(names):
                field = CORNER_FIELDS[name]
                cells.append(self._cell(f"{corner}.{name}", field, block, row))
        return blocks, cells

    def _cell(self, path: str, field: Field, block: int, row: int) -> Cell:
        """A cell whose label says the unit that a bare number is read in."""
        unit = self.desk.preferences.unit(field.quantity) if field.quantity else ""
        label, room = field.label, self.grid.label_width - len(f" {unit} ")
        if unit and len(label) > room:
            label = f"{label[: room - 1]}."  # Spr. lbf/in: the unit is never cut
        return Cell(path, f"{label} {unit}".strip(), block, row, field.quantity is not None)

    def _adjusters(self, corner: str) -> tuple[str, ...]:
        """The knobs of the damper at that corner, and any that hold a value."""
        shed, session = self.desk.shed, self.desk.session
        build = shed.build_at(session, corner) if shed else None
        have = (
            {a.acts_on for a in build.adjusters}
            if build and build.adjusters
            else {"bump_bleed", "rebound_bleed"}
        )
        sheet = session.corner(corner)
        return tuple(n for n in ADJUSTERS if n in have or sheet.value(n) is not None)

    def _session_layout(self) -> tuple[list[Block], list[Cell]]:
        run = [n for n, f in SESSION_FIELDS.items() if f.group in ("session", "run")]
        weather = [n for n, f in SESSION_FIELDS.items() if f.group == "weather"]
        half = (len(run) + 1) // 2
        blocks = [Block("Session"), Block("Run"), Block("Weather"), Block("Whole car")]
        cells = [self._cell(n, SESSION_FIELDS[n], 0, row) for row, n in enumerate(run[:half])]
        cells += [self._cell(n, SESSION_FIELDS[n], 1, row) for row, n in enumerate(run[half:])]
        cells += [Cell(p, p.capitalize(), 0, half + n, False) for n, p in enumerate(BELONGS)]
        cells.append(Cell("lap_times", "Lap times", 1, len(run) - half, False))
        cells += [self._cell(n, SESSION_FIELDS[n], 2, row) for row, n in enumerate(weather)]
        for row, name in enumerate(self.desk.session.items):
            cells.append(Cell(f"items.{name}", name, 3, row, False))
        return blocks, cells

    def _shown(self, path: str) -> Shown:
        desk = self.desk
        if (desk.entity, path) in self._unknown:
            return Shown(self._unknown[desk.entity, path][0], "!")
        text = desk.shown(desk.session, path)
        last = desk.shown(desk.before, path) if desk.before and (text or _is_set(path)) else ""
        if path in desk.disputed.get(desk.entity, ()):
            return Shown(text, "≠", last)
        if path in desk.half_typed:
            return Shown(text, "…", last, desk.half_typed[path])
        mark = "!" if text and self._problem(path) else "" if desk.is_kept(path) else "•"
        return Shown(text, mark, last)

    def _problem(self, path: str) -> str:
        """Why the value there cannot be right, or what it gives away; empty when nothing."""
        desk = self.desk
        if desk.shed is None or path in _NO_FIELD or path.startswith("items."):
            return ""
        corner, _, name = path.partition(".")
        try:
            problem = problem_at(path, desk.session, desk.shed, desk.preferences)
            if problem or name != "gas_pressure":
                return problem
            return lost_charge(desk.before, desk.session, corner, desk.preferences)
        except TracksideError as error:
            return str(error)

    def _detail(self, typing: str | None = None) -> None:
        """What the cell is, what its text means, or why it cannot be right."""
        path, desk = self.grid.path, self.desk
        if not path or not desk.has_session:
            return
        if (desk.entity, path) in self._unknown and typing is None:
            self.say(self._unknown[desk.entity, path][1], "problem")
            return
        if path in desk.half_typed and typing is None:
            self.say("half typed when the program was cut off: Enter takes it up", "problem")
            return
        if path in _NO_FIELD or path.startswith("items."):
            label = path.removeprefix("items.").replace("_", " ")
            self.say(f"{label}: {desk.shown(desk.session, path) or 'empty'}")
            return
        field, (corner, _, name) = field_of(path), path.partition(".")
        place = f"{corner} {field.label}" if name else field.label
        if path in self.grid.walk:
            place += f", walk-round {self.grid.walk.index(path) + 1} of {len(self.grid.walk)}"
        if typing is None and (problem := self._problem(path)):
            self.say(f"{place}: {problem}", "problem")
            return
        value = desk.session.value(path)
        parts = [
            place,
            meaning.of_text(typing, path, desk.preferences)
            if typing is not None
            else meaning.of_value(value, path, self._adjuster(path), desk.preferences),
            meaning.CAUTIONS.get(name, "") or ("" if value else field.hint),
            "Enter, then type" if typing is None and field.quantity is None else "",
        ]
        if desk.before and typing is None and (last := desk.shown(desk.before, path)):
            parts.append(f"before: {last}")
        self.say(" · ".join(part for part in parts if part))

    def _adjuster(self, path: str) -> Adjuster | None:
        """The knob whose position stands there."""
        corner, _, name = path.partition(".")
        if self.desk.shed is None or name not in ADJUSTERS:
            return None
        build = self.desk.shed.build_at(self.desk.session, corner)
        return build.adjuster(name) if build else None

    def _panel_due(self) -> None:
        """Draw the panel once the cells are painted, however many keys came."""
        if not self._due:
            self._due = True
            self.set_timer(0.005, self._panel)

    def _panel(self) -> None:
        self._due = False
        if not self.desk.has_session or not self.is_running:
            return
        corner, _, name = self.grid.path.partition(".")
        if corner in CORNERS:
            self.desk.corner = corner
        if name.startswith(("bump", "rebound")) and name in ADJUSTERS:
            self.desk.direction = name.partition("_")[0]
        if name in CORNER_FIELDS and CORNER_FIELDS[name].group == "tyre":
            self.worth.draw_run(self.desk)
        else:
            self.worth.draw(self.desk, self.desk.corner, self.desk.direction)

    # ── typing and moving ───────────────────────────────────────────────────────────────────

    def on_grid_left(self, message: Grid.Left) -> None:
        """Keep what was typed."""
        self._typed = None
        self.desk.hold(message.path, "")
        try:
            changed = self.desk.keep_text(message.path, message.text)
        except UnknownRecord as error:
            self._unknown[self.desk.entity, message.path] = (message.text, str(error))
            self.grid.repaint(message.path)
            self.grid.go(message.path)
            return
        self._unknown.pop((self.desk.entity, message.path), None)
        if changed:
            self._after_change(message.path)
        else:
            self._detail()

    def _after_change(self, path: str) -> None:
        name = path.partition(".")[2]
        if name in ("damper", "build") or path in BELONGS:
            self.redraw()
        else:
            self.grid.repaint(path)
            self._detail()
            self._panel_due()

    def on_grid_moved(self) -> None:
        """Another cell, perhaps another corner."""
        self._detail()
        self._panel_due()

    def on_grid_typing(self, message: Grid.Typing) -> None:
        """Say what the text means while it is typed, and keep it beside the truth meanwhile."""
        if message.done:
            return
        self._detail(message.text)
        if self._typed is None:
            self.set_timer(HOLD_AFTER, self._hold)
        self._typed = (message.path, message.text)

    def _hold(self) -> None:
        if self._typed is not None and self.grid.buffer is not None:
            self.desk.hold(*self._typed)
        self._typed = None

    def kept(self, path: str) -> None:
        """The logbook has committed that value."""
        self.grid.repaint(path)

    def leave(self) -> None:
        """Hand up what is half typed."""
        grid = self.grid
        if grid.buffer is not None:
            text, grid.buffer = grid.buffer, None
            self.on_grid_left(Grid.Left(grid.path, one_line(text)))

    # ── commands ────────────────────────────────────────────────────────────────────────────

    def action_next_part(self) -> None:
        """The next part of the sheet."""
        self._turn_part(1)

    def action_previous_part(self) -> None:
        """The part before."""
        self._turn_part(-1)

    def _turn_part(self, by: int) -> None:
        self.grid.leave()
        groups = list(self.parts)
        self.part = groups[(groups.index(self._groups()) + by) % len(groups)][0]
        self.grid.walk = ()
        corner = self.grid.path.partition(".")[0]
        self.show()
        same_corner = next((p for p in self.grid.paths if p.startswith(f"{corner}.")), "")
        self.grid.go(same_corner)

    def stand_on(self, path: str) -> None:
        """Put the cursor on that value, whichever part it is on."""
        corner, _, name = path.partition(".")
        field = (CORNER_FIELDS if corner in CORNERS else SESSION_FIELDS).get(name or path)
        is_corner = field is not None and corner in CORNERS
        self.part = field.group if field is not None and is_corner else "session"
        self.show()
        self.grid.go(path)

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
            self.say("stand on an adjuster to turn it", "problem")
            return
        paths = [path, f"{OTHER_SIDE[corner]}.{name}"] if both else [path]
        troubles = self.desk.turn(paths, clicks)
        for turned in paths:
            self.grid.repaint(turned)
        self._detail()
        if troubles:
            self.say("; ".join(troubles.values()), "problem")
        elif self.desk.session.status != "planned":
            following = f"{key_of('new_session')} opens the next one with the same set-up"
            self.say(f"this session has run: {following}; this corrects its record", "problem")
        self._panel_due()

    def action_flip(self) -> None:
        """The other direction in the panel."""
        self.desk.direction = "bump" if self.desk.direction == "rebound" else "rebound"
        self.worth.draw(self.desk, self.desk.corner, self.desk.direction)

    def action_walk(self) -> None:
        """Treads, then the hot pressure, corner by corner in the crew's order."""
        self.part = "tyre"
        self.show()
        order = self.desk.preferences.walk_round
        self.grid.walk = tuple(f"{c}.{name}" for c in order for name in WALK_FIELDS)
        self.grid.go(self.grid.walk[0])
        self.say("walk-round: type each value, Enter goes on; treads before pressures")

    def action_new_session(self) -> None:
        """The next session with the same set-up."""
        self.leave()
        desk = self.desk
        over = desk.has_session and desk.corrections.is_over(desk.session.event)
        desk.new_session()
        self.part = "damper"
        self.redraw()
        if over:
            another = f"{key_of('new_event')} on the pit board begins another"
            self.say(f"in an event that was over: {another}", "problem")
        else:
            self.say("new session with the same set-up; what was measured is empty again", "kept")

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


def _is_set(path: str) -> bool:
    """Whether the value is set on the car, not measured: only then may the last one stand dim in
    an empty cell."""
    return path in _NO_FIELD or path.startswith("items.") or field_of(path).carried
