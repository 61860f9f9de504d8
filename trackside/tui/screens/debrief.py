"""The debrief: what a driver reads in the three minutes before getting in."""

from __future__ import annotations

from collections.abc import Iterable

from rich.text import Text
from textual.containers import VerticalScroll
from textual.widget import Widget
from textual.widgets import Static

from trackside.errors import TracksideError
from trackside.reports.debriefing import sections
from trackside.reports.document import Said, Section
from trackside.tui.calculating import CalculatingPage
from trackside.tui.commands import bindings_of
from trackside.tui.note_forms import NoteForms
from trackside.tui.wrapping import wrapped

MARGIN = "  "


class DebriefPage(CalculatingPage, NoteForms):
    """Read only; words are taken down with the keys of the run sheet."""

    PAGE = "debrief"
    BINDINGS = bindings_of("debrief")

    def __init__(self) -> None:
        super().__init__()
        self.sections: list[Section] = []
        self._of = ""

    def body(self) -> Iterable[Widget]:
        """One column that scrolls."""
        with VerticalScroll(id="debrief", classes="fill"):
            yield Static("", id="debrief-words", markup=False)

    def on_mount(self) -> None:
        """The column has the keys."""
        self.query_one("#debrief").focus()

    def show(self) -> None:
        """Read and compare again."""
        desk = self.desk
        if waiting := self.not_yet():
            self._tell(Text(waiting))
            return
        assert desk.shed is not None
        logbook, entity, session = desk.logbook, desk.entity, desk.session
        shed, preferences = desk.shed, desk.preferences
        if entity != self._of:
            self._of = entity
            self.query_one("#debrief", VerticalScroll).scroll_home(animate=False)
        self.calculate(lambda: sections(logbook, entity, session, shed, preferences), self._draw)

    def _tell(self, words: Text) -> None:
        self.query_one("#debrief-words", Static).update(words)

    def _draw(self, answer: list[Section] | TracksideError) -> None:
        if isinstance(answer, TracksideError):
            self.sections = []
            self._tell(Text(str(answer)))
            return
        self.sections = answer
        width = self.query_one("#debrief").size.width - 2
        if width < 20:
            return
        variables = self.app.theme_variables
        title = f"bold {variables.get('board-text', '')} on {variables.get('board', '')}"
        styles = {
            "big": "bold",
            "plain": "",
            "small": variables.get("dim", ""),
            "caution": f"bold {variables.get('warning', '')}",
        }
        lines: list[Text] = []
        for section in answer:
            lines += [*wrapped(Text(f" {section.title.upper()} ", title), width), Text()]
            for said in section.said:
                lines += _paragraph(said, styles[said.kind], width)
            lines.append(Text())
        self._tell(Text("\n").join(lines))


def _paragraph(said: Said, style: str, width: int) -> list[Text]:
    mark = {"big": "▸ ", "caution": "! "}.get(said.kind, MARGIN)
    lines = wrapped(Text(said.text, style), width - 4)
    return [Text.assemble((mark if n == 0 else MARGIN), line) for n, line in enumerate(lines)]
