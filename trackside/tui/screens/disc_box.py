"""The disc box of the shop: its parts, how many there are, and the one under the cursor whole."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from rich.cells import set_cell_size
from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from trackside.errors import BadInput, TracksideError
from trackside.tui.asking import Answers, Keeping, put_questions
from trackside.tui.commands import READING_ONLY, key_of
from trackside.tui.widgets.ask import Question
from trackside.tui.widgets.box import Box
from trackside.tui.widgets.ledger import Ledger

if TYPE_CHECKING:
    from trackside.crew.disc_box import PartInBox
    from trackside.logbook import Write
    from trackside.tui.page import Page

EMPTY: Final = """
 The box is empty. Put parts in with n: 27×0.15 ×6, clamp 14 ×2, spacer 0.30 ×4.
 Read a count of the whole box from a spreadsheet with i."""
KEYS: Final = "Enter edit · n put in · t take out · + − · i spreadsheet · x out · Esc back"
READING: Final = "Space more · Esc back"
HELP: Final = (
    ("Enter", "the part under the cursor: sizes, count, place, notes"),
    ("n", "put parts in: 27×0.15 ×6, clamp 14 ×2, spacer 0.30 ×4, bleed 4×2.0×0.15 ×2"),
    ("t", "take parts out, written the same way"),
    ("+ -", "one more, or one less, of the part under the cursor"),
    ("i", "a count of the box from a spreadsheet, by its headings"),
    ("x Del", "strike the part off the list"),
    ("Esc", "back to the shed"),
    ("", "The search for a build takes parts from here, and from the damper itself."),
)


class DiscBoxList(Box[tuple[str, str]]):
    """Every part of the box. Gives the part whose form is wanted, and what was said last."""

    BINDINGS = [
        ("n", "put_in_box", "Put in"),
        ("t", "take_from_box", "Take out"),
        ("plus", "more_of_it(1)", "One more"),
        ("minus", "more_of_it(-1)", "One less"),
        ("i", "count_box", "Spreadsheet"),
        ("x,delete", "strike_part", "Strike"),
        ("escape", "leave", "Back"),
        ("space,pagedown", "more", "More"),
        ("question_mark,f3", "help", "Help"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[PartInBox] = []
        self._keeping = False
        self._said = ""

    @property
    def coming(self) -> bool:
        """Whether keys have to wait: something is being kept."""
        return self._keeping or not self.is_mounted

    def compose(self) -> ComposeResult:
        """Heading, the parts, the one under the cursor whole, keys."""
        yield Static("", id="heading", markup=False)
        yield Ledger(self._row, empty=EMPTY, id="job-list")
        with VerticalScroll(id="job-whole", can_focus=False):
            yield Static("", id="job-told", markup=False)
        yield Static("", id="job-said", markup=False)
        yield Static("", id="job-keys", markup=False)

    def on_mount(self) -> None:
        """The list has the keys."""
        self.set_class(self.size.width >= 110 and self.size.height >= 34, "wide")
        self.query_one(Ledger).focus()
        self._read()

    def _read(self, said: str = "", error: bool = False, stay: str = "") -> None:
        """Read it again, the cursor on the part `stay`; `said` is news, over the keys."""
        from trackside.crew.disc_box import DiscBox

        self.rows = DiscBox(self.desk.logbook).all()
        places = [n for n, part in enumerate(self.rows) if part.entity == stay]
        self.query_one(Ledger).fill(len(self.rows), places[0] if places else None)
        sizes, pieces = len(self.rows), sum(part.record.count for part in self.rows)
        told = f" {sizes} size{'' if sizes == 1 else 's'} · {pieces} in all"
        heading = Text.assemble((" DISC BOX ", "reverse bold"), told, no_wrap=True)
        self.query_one("#heading", Static).update(heading)
        self._about()
        self.query_one("#job-said", Static).update(Text(said, "bold" if error else ""))
        self._said = "" if error else said or self._said

    def _row(self, index: int) -> Text:
        from trackside.reports.box_words import part_doubts, part_row

        part = self.rows[index]
        name, count, _, place, notes = part_row(part)
        mark = "!" if part_doubts(part.stored, self.desk.preferences) else " "
        columns = [(name, 30), (count.rjust(4), 8), (place, 16), (notes, 24)]
        cut = (set_cell_size(set_cell_size(words, n - 1), n) for words, n in columns)
        return Text(mark + "".join(cut), no_wrap=True)

    @property
    def under_cursor(self) -> PartInBox | None:
        """The part that keys act on."""
        return self.rows[self.query_one(Ledger).cursor] if self.rows else None

    def _about(self) -> None:
        from trackside.reports.box_words import part_lines

        part, text = self.under_cursor, Text()
        for style, line in part_lines(part, self.desk.preferences) if part else ():
            text.append(f"{line}\n", style)
        self.query_one("#job-told", Static).update(text)
        self.query_one("#job-whole", VerticalScroll).scroll_home(animate=False)
        keys = READING if self.desk.logbook.read_only else KEYS
        self.query_one("#job-keys", Static).update(keys)

    # ── keys ────────────────────────────────────────────────────────────────────────────────

    def on_ledger_moved(self) -> None:
        """Another one."""
        self._about()

    def on_ledger_chosen(self) -> None:
        """The part's own form."""
        if part := self.under_cursor:
            self.dismiss((part.entity, ""))

    def action_put_in_box(self) -> None:
        """Parts as they are written on the bench."""
        from trackside.crew.disc_box import HOW, DiscBox, read_parts
        from trackside.reports.box_words import moved_words

        if self._refuses():
            return

        def keep(answers: Answers) -> Keeping:
            if not answers["parts"].strip():
                return Keeping()
            wanted = read_parts(answers["parts"])
            writes = DiscBox(self.desk.logbook).moved(wanted)
            return Keeping(tuple(writes), moved_words(wanted, "put in"))

        question = Question("parts", "Parts", hint="27×0.15 ×6, spacer 0.30 ×4")
        put_questions(self, "Into the disc box", (question,), keep, self._read, HOW.capitalize())

    def action_take_from_box(self) -> None:
        """The same the other way."""
        from trackside.crew.disc_box import HOW, DiscBox, read_parts
        from trackside.reports.box_words import moved_words

        if self._refuses():
            return

        def keep(answers: Answers) -> Keeping:
            if not answers["parts"].strip():
                return Keeping()
            wanted = read_parts(answers["parts"])
            writes = DiscBox(self.desk.logbook).moved(comes_out=wanted)
            return Keeping(tuple(writes), moved_words(wanted, "taken out"))

        question = Question("parts", "Parts", hint="27×0.15 ×6, spacer 0.30 ×4")
        put_questions(self, "Out of the disc box", (question,), keep, self._read, HOW.capitalize())

    def action_count_box(self) -> None:
        """A spreadsheet says how many there are."""
        from trackside.crew.disc_box import DiscBox
        from trackside.crew.record_table import table_in_file
        from trackside.reports.box_words import counted_words

        if self._refuses():
            return

        def keep(answers: Answers) -> Keeping:
            path, pasted = answers["path"].strip(), answers["rows"]
            if not path and not pasted.strip():
                return Keeping()
            if path and pasted.strip():
                raise BadInput("a file is named and rows are pasted", "empty one of them")
            text, source = table_in_file(path) if path else (pasted, "what was pasted")
            counted = DiscBox(self.desk.logbook).counted(text, source, self.desk.preferences)
            return Keeping(counted.writes, counted_words(counted))

        questions = (
            Question("path", "File", hint="a table as CSV or text; or paste its rows below"),
            Question("rows", "Rows with their headings, pasted from a spreadsheet", many=True),
        )
        caution = "By its headings: what, diameter (mm), thickness (mm), slots, count, place …"
        put_questions(self, "Count of the box", questions, keep, self._read, caution)

    def action_more_of_it(self, by: int) -> None:
        """One more, or one less."""
        from trackside.logbook import patch
        from trackside.reports.box_words import part_words

        part = self.under_cursor
        if part is None:
            return
        count = part.record.count + by
        if count < 0:
            self._read("the box has none of it", stay=part.entity)
            return
        write = patch("box_part", part.entity, {"count": count})
        self._change((write,), f"{part_words(part.record)}: {count} in the box", part.entity)

    def action_strike_part(self) -> None:
        """Off the list."""
        from trackside.logbook import drop
        from trackside.reports.box_words import part_words

        if part := self.under_cursor:
            said = f"struck: {part_words(part.record)}; {key_of('undo')} in the shed brings it back"
            self._change((drop("box_part", part.entity),), said)

    def _refuses(self) -> bool:
        if self.desk.logbook.read_only:
            self.query_one("#job-said", Static).update(Text(READING_ONLY, "bold"))
        return self.desk.logbook.read_only

    def _change(self, writes: Sequence[Write], said: str, stay: str = "") -> None:
        if not self._keeping and not self._refuses():
            self._keeping = True
            self.run_worker(self._keep(writes, said, stay))

    async def _keep(self, writes: Sequence[Write], said: str, stay: str) -> None:
        """Write it while the page goes on being drawn: another program may hold the file."""
        try:
            await asyncio.to_thread(self.desk.write, *writes)
        except TracksideError as error:
            self._read(f"not saved: {error}", error=True, stay=stay)
        else:
            self._read(said, stay=stay)
        finally:
            self._keeping = False

    def action_more(self) -> None:
        """Further down."""
        self.query_one("#job-whole", VerticalScroll).scroll_page_down(animate=False)

    def action_help(self) -> None:
        """The keys, each with what it does."""
        from trackside.tui.screens.help import HelpCard

        self.app.push_screen(HelpCard("", None, ("Disc box", HELP)))

    def action_leave(self) -> None:
        """Back to the page."""
        self.dismiss(("", self._said))


def open_box(page: Page) -> None:
    """Show it over that page."""

    def left(found: tuple[str, str] | None) -> None:
        entity, told = found or ("", "")
        if entity:
            page.open_record({"box_part": entity}, "box_part.count")
        elif told:
            page.announce(told)

    page.app.push_screen(DiscBoxList(), left)
