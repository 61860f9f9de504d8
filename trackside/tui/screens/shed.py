"""The damper shed: every damper, what is inside it, its dyno sheet, and where it last ran."""

from __future__ import annotations

import time
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from functools import partial

from rich.text import Text
from textual.containers import Horizontal, VerticalScroll
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Static

from trackside.analysis.shed import Shed, fit_of
from trackside.analysis.used import last_corners
from trackside.crew.strip_downs import StripDowns
from trackside.damper.sheet_fit import SheetFit
from trackside.errors import BadRecord, TracksideError
from trackside.logbook import dampers
from trackside.logbook.rows import text as words_of
from trackside.records import Build, Damper, DynoSheet, Session
from trackside.records.fields import CORNERS
from trackside.reports.bench_words import build_lines, sheet_lines
from trackside.reports.loops import NO_LOOPS, loop_drawing, loop_lines, loops_at
from trackside.reports.naming import doubts_of_shed
from trackside.reports.revalving import present_lines
from trackside.reports.sheet_picture import sheet_drawing
from trackside.reports.sheet_warning_words import waiting_words
from trackside.reports.strip_down_words import shed_lines
from trackside.tui.columns import Columns
from trackside.tui.commands import Command, bindings_of, key_of
from trackside.tui.note_forms import NoteForms
from trackside.tui.page import OF_A_SESSION
from trackside.tui.palette import ROLES, styled
from trackside.tui.screens.disc_box import open_box
from trackside.tui.shed_forms import Loaded, SheetForms, copy_damper, new_build, new_damper
from trackside.tui.shed_row import HEADS, shed_columns, shed_row
from trackside.tui.table_forms import import_rows
from trackside.tui.widgets.ledger import Ledger
from trackside.units import one_line

PARTS = ("Builds", "Dyno sheet")
_WITHOUT_DAMPER = ("new_damper", "import_rows", "disc_box", "looks")
EMPTY = """
 No dampers yet.

 {new}  enter a damper: serial, what is inside, its adjusters
 {load}  then load its dyno sheet from a file
"""


@dataclass
class Fitted(Message):
    """A sheet was fitted, or could not be."""

    sheet: DynoSheet
    build: Build
    found: SheetFit | TracksideError


@dataclass
class Located(Message):
    """Where each damper last ran was looked up."""

    places: dict[str, dampers.LastRan]


@dataclass
class Compared(Message):
    """What the present build of a damper does, against the one before and from its parts."""

    serial: str
    shed: Shed
    lines: list[tuple[str, str]]


class ShedPage(NoteForms):
    """Dampers above, the one under the cursor below."""

    PAGE = "shed"
    BINDINGS = bindings_of("shed")

    def __init__(self) -> None:
        super().__init__()
        self.part = PARTS[0]
        self.wanted = ""
        """The serial that is to be under the cursor."""
        self.opened = ""
        """The damper whose record was opened last; the cursor is on it until a person moves it."""
        self.sheets = SheetForms(self, self._has_new_sheet)
        self.waiting: Damper | None = None
        """The damper that is to be under the cursor, while the shed read last does not have it."""
        self.turned = 0
        """How often the loops were asked for: see `loops_at`."""
        self.places: dict[str, dampers.LastRan] = {}
        self._columns = Columns.for_words(HEADS, (), 0)
        self.fitted: Fitted | None = None
        self.compared: Compared | None = None

    def body(self) -> Iterable[Widget]:
        """The list under its headings, the parts, and the damper."""
        yield Static("", id="damper-heads", classes="heads", markup=False)
        yield Ledger(self._row, id="dampers")
        yield Static("", id="parts", markup=False)
        with Horizontal(id="bench"):
            with VerticalScroll(id="told", can_focus=False):
                yield Static("", id="words", markup=False)
            yield Static("", id="curves", markup=False)

    def subject(self) -> str:
        """How many."""
        shed = self.desk.shed
        if shed is None:
            return "reading the shed …"
        sheets = len(shed.sheets)
        dampers = len(shed.dampers)
        return (
            f"{dampers} damper{'' if dampers == 1 else 's'} · "
            f"{sheets} dyno sheet{'' if sheets == 1 else 's'}"
        )

    def on_mount(self) -> None:
        """The list has the keys."""
        self.query_one(Ledger).focus()

    def works(self, command: Command) -> bool:
        """Without a damper under the cursor one can only be entered."""
        if "shed" in command.pages and command.action not in _WITHOUT_DAMPER:
            return self.damper is not None
        return super().works(command)

    # ── drawing ─────────────────────────────────────────────────────────────────────────────

    @property
    def damper(self) -> Damper | None:
        """The damper under the cursor; None on the lines below the dampers."""
        at, listed = self.query_one(Ledger).cursor, self._listed
        return listed[at] if at < len(listed) else None

    @property
    def _listed(self) -> tuple[Damper, ...]:
        """The dampers of the shed, and the one that it does not have yet."""
        known = self.desk.shed.dampers if self.desk.shed else ()
        return (*known, self.waiting) if self.waiting else known

    @property
    def _doubts(self) -> tuple[str, ...]:
        """The lines below the dampers: what cannot be read, or is undecided."""
        return doubts_of_shed(self.desk.shed) if self.desk.shed else ()

    @property
    def unread(self) -> str:
        """The sentence under the cursor about a record that cannot be read; empty elsewhere."""
        shed, at = self.desk.shed, self.query_one(Ledger).cursor
        below = at - len(self._listed)
        return self._doubts[below] if shed and 0 <= below < len(self._doubts) else ""

    def show(self) -> None:
        """The list again; the cursor stays with its damper."""
        shed = self.desk.shed
        if shed is None:
            return  # nobody knows yet whether it is empty
        self._follow(shed)
        at = next((n for n, d in enumerate(self._listed) if d.serial == self.wanted), None)
        ledger = self.query_one(Ledger)
        ledger.empty = EMPTY.format(new=key_of("new_damper"), load=key_of("load_sheet"))
        ledger.fill(len(self._listed) + len(self._doubts), at)
        if at is None:
            self.wanted = self.damper.serial if self.damper else ""
        self._lay_columns()
        self.run_worker(self._locate, thread=True, exclusive=True, group="places")
        self._draw()

    def _follow(self, shed: Shed) -> None:
        """Find the damper whose record was opened, under the serial it has now."""
        self.waiting, logbook = None, self.desk.logbook
        if self.opened:
            body = self.desk.outbox.state(self.opened)
            self.wanted = words_of(body.get("serial")) if body else self.wanted
        if self.wanted and shed.damper(self.wanted) is None:
            body = logbook.state(dampers.damper_of(logbook, self.wanted))
            with suppress(BadRecord):  # the shed names what it cannot read
                self.waiting = Damper.checked(body) if body else None

    def _locate(self) -> None:
        try:
            self.post_message(Located(dampers.last_ran(self.desk.logbook)))
        except TracksideError:
            self.post_message(Located({}))

    def on_located(self, message: Located) -> None:
        """The last column, and the damper's line."""
        self.places = message.places
        self._lay_columns()
        self._draw()

    def _row(self, index: int) -> Text:
        shed = self.desk.shed
        if shed is None:
            return Text("")
        if index >= len(self._listed):
            unread = self._doubts[index - len(self._listed) :][:1]
            return Text("".join(f" ! {one_line(sentence)}" for sentence in unread), "bold")
        return Text(self._columns.line(shed_row(shed, self._listed[index], self.places)))

    def _lay_columns(self) -> None:
        """The headings, and the list as wide as its words need."""
        shed, ledger = self.desk.shed, self.query_one(Ledger)
        if shed is not None:
            self._columns = shed_columns(shed, self.places, ledger.size.width - 1)
            heads = Text(self._columns.line(HEADS) if shed.dampers else "")
            self.query_one("#damper-heads", Static).update(heads, layout=False)
            ledger.refresh()

    def _draw(self) -> None:
        names = Text(" ")
        for part in PARTS:
            names.append(f" {part} ", "reverse bold" if part == self.part else "")
            names.append(" ")
        self.query_one("#parts", Static).update(names, layout=False)
        damper, curves = self.damper, self.query_one("#curves")
        curves.display = self.part == PARTS[1]
        if damper is None or damper is self.waiting:
            curves.display = False
            self._tell([("", "being read …" if damper else self.unread)])
        elif self.part == PARTS[0]:
            self._tell_builds(damper)
        else:
            self._tell_sheet(damper)

    def _tell(self, lines: Iterable[tuple[str, str]]) -> None:
        colours = ROLES.get(self.app.theme, ROLES["garage"])
        text = Text()
        for style, line in lines:
            for role in ("bump", "rebound"):
                style = style.replace(role, colours[role])
            style = style.replace("dim", colours["axis"])
            text.append(f"{line}\n", style)
        self.query_one("#words", Static).update(text)

    def _tell_builds(self, damper: Damper) -> None:
        shed, desk = self.desk.shed, self.desk
        assert shed is not None
        ran = self._last_ran(damper)
        known = self.compared
        if known is None or known.serial != damper.serial or known.shed is not shed:
            work = partial(self._compare, damper.serial, shed)
            self.run_worker(work, thread=True, exclusive=True, group="compare")
            known = None
        present = known.lines if known else ()
        jobs = shed_lines(StripDowns(desk.logbook), damper.serial, shed)
        self._tell([*jobs, *build_lines(damper, shed, ran, desk.preferences, present)])

    def _last_ran(self, damper: Damper) -> tuple[Session, str, str] | None:
        """The session it last ran in, the corner, and the session in words."""
        place = self.places.get(damper.serial.casefold())
        if place is None:
            return None
        try:
            body = self.desk.logbook.state(place.session)
            found = self.desk.logbook.session_record(place.session, body) if body else None
            return (found, place.corner, place.words) if found else None
        except TracksideError:
            return None

    def _compare(self, serial: str, shed: Shed) -> None:
        try:
            used = last_corners(self.desk.logbook, serial)
        except TracksideError:
            used = ()
        how = f"{key_of('mid_range')} looks for its builds"
        lines = present_lines(serial, shed, used, self.desk.preferences, how)
        self.post_message(Compared(serial, shed, lines))

    def on_compared(self, message: Compared) -> None:
        """Draw it, when its damper is still under the cursor."""
        self.compared = message
        here = self.damper.serial if self.damper else ""
        if here != message.serial or self.part != PARTS[0] or not message.lines:
            return
        self._draw()
        marks = [line.strip() for _, line in message.lines if line.lstrip().startswith("!")]
        if marks and time.monotonic() > self.view.news[2]:
            self.say(marks[0], "problem")

    def _tell_sheet(self, damper: Damper) -> None:
        shed = self.desk.shed
        assert shed is not None
        build = shed.build(damper.serial)
        sheet = shed.sheet(build) if build else None
        self.query_one("#curves", Static).update("")
        if build is None or sheet is None:
            load = key_of("load_sheet")
            waiting = [one for one in shed.sheets_of(build) if one.waits] if build else []
            self._tell(
                [("bold", f"! {waiting_words(one)}: {key_of('counts')}") for one in waiting]
                or [
                    ("", f"no dyno sheet of the present build: {load} loads one from a file"),
                    ("", "without it, forces rest on the shop rule, or else on the parts"),
                ]
            )
        elif self.fitted and (self.fitted.sheet, self.fitted.build) == (sheet, build):
            self._tell_fit(self.fitted)
        else:
            self._tell([("", "fitting …")])
            work = partial(self._fit, sheet, build)
            self.run_worker(work, thread=True, exclusive=True, group="fit")

    def _fit(self, sheet: DynoSheet, build: Build) -> None:
        try:
            self.post_message(Fitted(sheet, build, fit_of(sheet, build)))
        except TracksideError as error:
            self.post_message(Fitted(sheet, build, error))

    def on_fitted(self, message: Fitted) -> None:
        """Draw it, when its damper is still under the cursor."""
        self.fitted = message
        here = self.damper.serial if self.damper else ""
        if here == message.build.damper and self.part == PARTS[1]:
            self._draw()

    def _tell_fit(self, fitted: Fitted) -> None:
        if isinstance(fitted.found, TracksideError):
            self._tell([("bold", f"Sheet {fitted.sheet.source}"), ("", str(fitted.found))])
            return
        sheet, build, fit = fitted.sheet, fitted.build, fitted.found
        preferences = self.desk.preferences
        loops = loops_at(sheet, self.turned)
        lines = loop_lines(sheet, loops, preferences) if loops else None
        self._tell(lines or sheet_lines(sheet, build, fit, preferences))
        curves = self.query_one("#curves", Static)
        width, height = curves.size.width, curves.size.height
        if not width:
            self.call_after_refresh(self._draw)
            return
        if loops:
            drawing = loop_drawing(loops, width, height, preferences)
        else:
            drawing = sheet_drawing(sheet, build, fit, width, height, preferences)
        curves.update(styled(drawing, self.app.theme), layout=False)

    # ── moving ──────────────────────────────────────────────────────────────────────────────

    def on_ledger_moved(self) -> None:
        """Another damper."""
        self.turned = 0
        self.wanted, self.opened = self.damper.serial if self.damper else "", ""
        self.query_one("#told", VerticalScroll).scroll_home(animate=False)
        self._draw()
        self.on_grid_keys_changed()
        self.say("")

    def on_ledger_chosen(self) -> None:
        """Enter edits."""
        self.action_edit()

    def action_more(self) -> None:
        """Further down in the text; from its end, back to the top."""
        told = self.query_one("#told", VerticalScroll)
        if told.scroll_y >= told.max_scroll_y:
            told.scroll_home(animate=False)
        else:
            told.scroll_page_down(animate=False)

    def turn_part(self, by: int) -> None:
        """Builds, or the dyno sheet."""
        self.part = PARTS[(PARTS.index(self.part) + by) % len(PARTS)]
        self.query_one("#told", VerticalScroll).scroll_home(animate=False)
        self._draw()

    def action_loops(self) -> None:
        """The loops of the next position, or the curve again."""
        shed, damper = self.desk.shed, self.damper
        build = shed.build(damper.serial) if shed and damper else None
        sheet = shed.sheet(build) if shed and build else None
        if sheet is None or not sheet.loops:
            self.say(NO_LOOPS if sheet else "no dyno sheet of the present build", "problem")
            return
        self.turned = self.turned + 1 if self.part == PARTS[1] else 1
        self.part = PARTS[1]
        self.query_one("#told", VerticalScroll).scroll_home(animate=False)
        self._draw()

    # ── commands ────────────────────────────────────────────────────────────────────────────

    def damper_in_hand(self) -> Damper | None:
        """The damper under the cursor; a sentence where there is none."""
        if self.damper is None and self.desk.shed is None:
            self.say("the damper shed is still being read: press it again in a moment")
        elif self.damper is None:
            self.say(self.unread or f"no damper yet: {key_of('new_damper')} enters one", "problem")
        return self.damper

    def open_record(self, records: dict[str, str], begin: str = "", text: str = "") -> None:
        """Show these records; the cursor is on their damper when they are left."""
        self.opened = records.get("damper", "")
        super().open_record(records, begin, text)

    def action_new_damper(self) -> None:
        """A damper."""
        new_damper(self)

    def action_copy_damper(self) -> None:
        """More dampers like the one under the cursor."""
        if damper := self.damper_in_hand():
            copy_damper(self, damper.serial, self._go_to)

    def action_import_rows(self) -> None:
        """Dampers from a spreadsheet."""
        import_rows(self, "damper", self._go_to)

    def _go_to(self, serial: str) -> None:
        self.wanted, self.opened = serial, ""

    def action_new_build(self) -> None:
        """A strip-down."""
        if damper := self.damper_in_hand():
            new_build(self, damper.serial)

    def action_disc_box(self) -> None:
        """The parts of the shop."""
        open_box(self)

    def action_looks(self) -> None:
        """Which dampers need a look."""
        from trackside.tui.screens.look import open_looks

        open_looks(self, self._look_at)

    def _look_at(self, serial: str) -> None:
        self._go_to(serial)
        self.show()

    def action_target(self) -> None:
        """A curve that is wanted, and the builds that make it."""
        from trackside.tui.screens.target import ask_target

        if damper := self.damper_in_hand():
            ask_target(self, damper.serial)

    def action_mid_range(self) -> None:
        """The curve that would put an adjuster mid-range, and the builds that make it."""
        from trackside.tui.screens.target import ask_mid_range

        if damper := self.damper_in_hand():
            ask_mid_range(self, damper.serial)

    def action_load_sheet(self) -> None:
        """A file with a dyno sheet for the present build, as the logbook has it: the shed may still
        be read."""
        if damper := self.damper_in_hand():
            builds = dampers.builds_of(self.desk.logbook, damper.serial)
            body = self.desk.outbox.state(builds[-1][0]) if builds else None
            if body:
                self.sheets.ask(Build.checked(body))
            else:
                key = key_of("new_build")
                self.say(f"{damper.serial} has no build yet: {key} enters one", "problem")

    def on_loaded(self, message: Loaded) -> None:
        """A sheet was read from its file."""
        self.sheets.loaded(message)

    def _has_new_sheet(self, serial: str) -> None:
        self.wanted, self.opened, self.part = serial, "", PARTS[1]

    def action_counts(self) -> None:
        """Which dyno sheet of the present build counts."""
        damper, shed = self.damper, self.desk.shed
        build = shed.build(damper.serial) if shed and damper else None
        if shed is None or build is None:
            self.say(self.unread or "no build on record", "problem")
        else:
            self.sheets.choose(shed, build)

    def hand_over(self, page: str) -> bool:
        """The corner of the current session that has the damper is the one that the next page is
        about; where no corner has it, the corner stays."""
        desk = self.desk
        if self.damper and desk.has_session and page in OF_A_SESSION:
            serial = self.damper.serial.casefold()
            fitted = {c: (desk.session.corner(c).damper or "").casefold() for c in CORNERS}
            here = (corner for corner in CORNERS if fitted[corner] == serial)
            self.view.corner = next(here, self.view.corner)
        return True

    def action_edit(self) -> None:
        """The damper and its present build, in cells."""
        if damper := self.damper_in_hand():
            self.open_record(dampers.records_of(self.desk.logbook, damper.serial))
