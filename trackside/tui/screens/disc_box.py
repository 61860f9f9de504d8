"""The disc box of the shop: its parts, how many there are, and the one under the cursor whole."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from rich.cells import set_cell_size
from rich.text import Text

from trackside.errors import BadInput
from trackside.tui.asking import Answers, Keeping, put_questions
from trackside.tui.commands import key_of
from trackside.tui.widgets.ask import Question
from trackside.tui.widgets.list_box import ListBox

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


class DiscBoxList(ListBox[tuple[str, str]]):
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
        super().__init__(self._row, ("Disc box", HELP), EMPTY)
        self.rows: list[PartInBox] = []

    def on_mount(self) -> None:
        """What lies in it."""
        super().on_mount()
        self._read()

    def _read(self, said: str = "", error: bool = False, stay: str = "") -> None:
        """Read it again, the cursor on the part `stay`; `said` is news, over the keys."""
        from trackside.crew.disc_box import DiscBox

        self.rows = DiscBox(self.desk.logbook).all()
        places = [n for n, part in enumerate(self.rows) if part.entity == stay]
        self.ledger.fill(len(self.rows), places[0] if places else None)
        sizes, pieces = len(self.rows), sum(part.record.count for part in self.rows)
        self.head("DISC BOX", f"{sizes} size{'' if sizes == 1 else 's'} · {pieces} in all")
        self._about()
        self.news(said, error)

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
        return self.rows[self.ledger.cursor] if self.rows else None

    def _about(self) -> None:
        from trackside.reports.box_words import part_lines

        part = self.under_cursor
        keys = READING if self.desk.logbook.read_only else KEYS
        self.show_whole(part_lines(part, self.desk.preferences) if part else (), keys)

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
        self._move_parts("Into the disc box", comes_out=False)

    def action_take_from_box(self) -> None:
        """The same the other way."""
        self._move_parts("Out of the disc box", comes_out=True)

    def _move_parts(self, form: str, comes_out: bool) -> None:
        from trackside.crew.disc_box import HOW, DiscBox, read_parts
        from trackside.reports.box_words import moved_words

        if self.refuses():
            return

        def keep(answers: Answers) -> Keeping:
            if not answers["parts"].strip():
                return Keeping()
            wanted = read_parts(answers["parts"])
            box = DiscBox(self.desk.logbook)
            writes = box.moved(comes_out=wanted) if comes_out else box.moved(wanted)
            return Keeping(
                tuple(writes), moved_words(wanted, "taken out" if comes_out else "put in")
            )

        question = Question("parts", "Parts", hint="27×0.15 ×6, spacer 0.30 ×4")
        put_questions(self, form, (question,), keep, self._read, HOW.capitalize())

    def action_count_box(self) -> None:
        """A spreadsheet says how many there are."""
        from trackside.crew.disc_box import DiscBox
        from trackside.crew.record_table import table_in_file
        from trackside.reports.box_words import counted_words

        if self.refuses():
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

    def _change(self, writes: Sequence[Write], said: str, stay: str = "") -> None:
        if not self._keeping and not self.refuses():
            self._keeping = True
            self.run_worker(self._keep(writes, said, stay))

    async def _keep(self, writes: Sequence[Write], said: str, stay: str) -> None:
        if error := await self.write(writes):
            said = f"not saved: {error}"
        self._read(said, error=error is not None, stay=stay)

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
