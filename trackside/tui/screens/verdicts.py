"""The verdict on a change, by one key when it is known; and notes and reasons put right."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING, Final

from rich.cells import set_cell_size
from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from trackside.crew.corrections import ReasonWanted
from trackside.errors import TracksideError
from trackside.records import Note
from trackside.records.fields import VERDICTS
from trackside.tui.asking import Answers, Keeping, note_questions, put_questions, reason_questions
from trackside.tui.commands import READING_ONLY
from trackside.tui.widgets.box import Box
from trackside.tui.widgets.ledger import Ledger
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.crew.verdicts import SaidOnce
    from trackside.logbook import Write
    from trackside.tui.page import Page

EMPTY = "\n No change waits for its verdict, and nothing was said of this session yet."
WAITS: Final = "?"
"""Before a reason that waits for its verdict."""


HELP: Final = (
    *((str(n), f"verdict on the change under the cursor: {v}") for n, v in enumerate(VERDICTS, 1)),
    ("Enter", "edit the note or the reason"),
    ("Space", "further down in all that is said of it"),
    ("Esc j", "back to the page"),
    ("", "What waits for its verdict is first; below is all that was said of the session."),
)


class Judging(Box[str]):
    """What waits for its verdict, then all that was said of a session. Gives what was kept, in
    words; nothing when it was left. A verdict leaves it once nothing else waits."""

    BINDINGS = [
        *((str(n), f"judge('{verdict}')", verdict) for n, verdict in enumerate(VERDICTS, 1)),
        ("escape,j", "leave", "Back"),
        ("space,pagedown", "more", "More"),
        ("question_mark,f3", "help", "Help"),
    ]

    def __init__(self, session: str) -> None:
        super().__init__()
        self.session = session
        self.rows: list[SaidOnce] = []
        self._keeping = False

    @property
    def coming(self) -> bool:
        """Whether keys have to wait: a verdict is being kept."""
        return self._keeping or not self.is_mounted

    def compose(self) -> ComposeResult:
        """Heading, what was said, the one under the cursor whole, keys."""
        yield Static(Text(" NOTES, REASONS, VERDICTS "), id="heading", markup=False)
        yield Ledger(self._row, empty=EMPTY, id="said-list")
        with VerticalScroll(id="said-whole", can_focus=False):
            yield Static("", id="said-told", markup=False)
        yield Static("", id="said-keys", markup=False)

    def on_mount(self) -> None:
        """The list has the keys."""
        self.set_class(self.size.width >= 110 and self.size.height >= 34, "wide")
        self.query_one(Ledger).focus()
        self._read()

    def _read(self, said: str = "", error: bool = False) -> None:
        """Read it again; `said` is news, over the keys."""
        self.rows = self.desk.verdicts.shown(self.session)
        self.query_one(Ledger).fill(len(self.rows))
        self._about()
        if said:
            self.query_one("#said-keys", Static).update(Text(said, "bold" if error else ""))

    def _row(self, index: int) -> Text:
        from trackside.reports.said_words import said_briefly

        one = self.rows[index]
        line = one.line
        columns = (
            (WAITS if one.waits else "", 2),
            (line.start[5:10] or "–", 6),
            (line.title, 20),
            (said_briefly(one.kind, one.record), max(20, self.size.width - 30)),
        )
        cut = (set_cell_size(set_cell_size(one_line(w), n - 1), n) for w, n in columns)
        return Text(" " + "".join(cut))

    @property
    def under_cursor(self) -> SaidOnce | None:
        """The note, or the reason, that keys act on."""
        return self.rows[self.query_one(Ledger).cursor] if self.rows else None

    def _about(self) -> None:
        """All of what is under the cursor, its past, and the keys that work there."""
        one, text = self.under_cursor, Text()
        if one is not None:
            for style, line in self._told(one):
                text.append(f"{line}\n", style)
        self.query_one("#said-told", Static).update(text)
        self.query_one("#said-whole", VerticalScroll).scroll_home(animate=False)
        self.query_one("#said-keys", Static).update(self._keys(one))

    def _keys(self, one: SaidOnce | None) -> str:
        if one is None or self.desk.logbook.read_only:
            return "Esc back"
        verdicts = [f"{n} {verdict}" for n, verdict in enumerate(VERDICTS, 1)]
        asked = verdicts if one.kind == "change" else []
        return " · ".join([*asked, "Enter edit", "Esc back", "Space more"])

    def _told(self, one: SaidOnce) -> Iterator[tuple[str, str]]:
        from trackside.reports.naming import session_in_words
        from trackside.reports.said_words import past_words, said_whole

        yield "bold", session_in_words(one.line)
        for line in said_whole(one.kind, one.record):
            yield "", line
        if one.waits:
            yield "italic", "waits for its verdict"
        yield "", ""
        for line in past_words(self.desk.logbook, one.entity):
            yield "not bold", line

    # ── keys ────────────────────────────────────────────────────────────────────────────────

    def on_ledger_moved(self) -> None:
        """Another one."""
        self._about()

    def on_ledger_chosen(self) -> None:
        """Put it right."""
        one = self.under_cursor
        if one is None or self._refuses():
            return
        texts = {name: str(value) for name, value in one.record.body().items()}
        if isinstance(one.record, Note):
            word, questions = "note", note_questions(one.record.driver, texts)
        else:
            word, questions = "reason", reason_questions(texts)
        form = f"Edit {word} …{one.entity[-6:]}"

        def keep(answers: Answers) -> Keeping:
            write, unread = self.desk.verdicts.edited(one, answers)
            said = f"{word} changed" + (f"; {unread}" if unread else "") if write else ""
            return Keeping((write,) if write else (), said)

        put_questions(self, form, questions, keep, self._read)

    def _refuses(self) -> bool:
        if self.desk.logbook.read_only:
            self.query_one("#said-keys", Static).update(Text(READING_ONLY, "bold"))
        return self.desk.logbook.read_only

    def action_judge(self, verdict: str) -> None:
        """That verdict for the reason under the cursor."""
        one = self.under_cursor
        if one is None or self._keeping or self._refuses():
            return
        try:
            write = self.desk.verdicts.judged(one, verdict)
        except ReasonWanted as wanted:
            self.host.ask_why(wanted, partial(self.action_judge, verdict))
            return
        except TracksideError as error:
            self._read(f"not saved: {error}", error=True)
            return
        self._keeping = True
        self.run_worker(self._keep(write, one.waits, f"verdict saved: {verdict}"))

    async def _keep(self, write: Write, waited: bool, said: str) -> None:
        """Write it while the page goes on being drawn: another program may hold the file."""
        try:
            await asyncio.to_thread(self.desk.write, write)
        except TracksideError as error:
            self._keeping = False
            self._read(f"not saved: {error}", error=True)
            return
        self._keeping = False
        if waited and not self.desk.verdicts.waiting():
            self.dismiss(said)
        else:
            self._read(said)

    def action_more(self) -> None:
        """Further down."""
        self.query_one("#said-whole", VerticalScroll).scroll_page_down(animate=False)

    def action_help(self) -> None:
        """The keys, each with what it does."""
        from trackside.tui.screens.help import HelpCard

        self.app.push_screen(HelpCard("", None, ("Notes, reasons, verdicts", HELP)))

    def action_leave(self) -> None:
        """Back to the page."""
        self.dismiss()


def judge(page: Page, session: str) -> None:
    """Open it over that page, for what was said of that session."""

    def left(said: str | None) -> None:
        if said:
            page.announce(said)

    page.app.push_screen(Judging(session), left)
