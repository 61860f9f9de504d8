"""A chapter of the handbook set in one piece: its Markdown drawn by rich.

Textual's own Markdown makes a widget of each block and each bullet and dresses it: the keys' 375 of
them took two seconds of the processor, and as long again at another size.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from rich.console import Console, ConsoleOptions, RenderResult
from rich.markdown import CodeBlock, Heading, Markdown
from rich.padding import Padding
from rich.segment import Segment
from rich.text import Text
from rich.theme import Theme


class _Code(CodeBlock):
    """A block of code as it stands: to guess its language takes rich, as Textual, a second."""

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        yield Padding(Text(self.text.plain.rstrip(), style=self.style), (0, 2), style=self.style)


class _Heading(Heading):
    LEVEL_ALIGN = dict.fromkeys(Heading.LEVEL_ALIGN, "left")


class _Set(Markdown):
    elements = Markdown.elements | {"fence": _Code, "code_block": _Code, "heading_open": _Heading}


class Chapter:
    """Markdown as something that rich draws, in the colours of a theme (Textual's variables)."""

    def __init__(self, text: str, colours: Mapping[str, str]) -> None:
        self.text = text
        self._set = _Set(text, hyperlinks=False)
        code = f"{colours['foreground']} on {colours['panel']}"
        self._theme = Theme(
            {
                "markdown.h1": "bold underline",
                "markdown.h2": "bold underline",
                "markdown.h3": "bold",
                "markdown.code": f"bold {code}",
                "markdown.code_block": code,
                "markdown.item.bullet": colours["dim"],
                "markdown.item.number": colours["dim"],
                "markdown.table.border": colours["role-axis"],
                "markdown.table.header": "bold",
                "markdown.block_quote": colours["dim"],
                "markdown.hr": colours["dim"],
                "markdown.link": "underline",
                "markdown.link_url": "underline",
            }
        )
        self._drawn: dict[int, list[list[Segment]]] = {}

    def __str__(self) -> str:
        return self.text

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> Iterable[Segment]:
        """Drawn once for a width: it is asked for its height, and then for itself."""
        width = options.max_width
        if width not in self._drawn:
            with console.use_theme(self._theme):
                lines = console.render_lines(self._set, options, pad=False)
            self._drawn = {width: lines}
        for line in self._drawn[width]:
            yield from line
            yield Segment.line()
