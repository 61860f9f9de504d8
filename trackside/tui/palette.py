"""The style of each role that a drawing names, in the theme in force."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from rich.style import Style
from rich.text import Text

from trackside.tui.themes import ROLES

if TYPE_CHECKING:
    from trackside.charts import Drawing


@cache
def _styles(theme: str) -> dict[str, Style]:
    colours = ROLES.get(theme, ROLES["garage"])
    return {role: Style(color=colour) for role, colour in colours.items()}


def styled(drawing: Drawing, theme: str) -> Text:
    """A drawing in the colours of the theme."""
    styles = _styles(theme)
    text = Text(no_wrap=True, end="")
    for number, line in enumerate(drawing.lines):
        if number:
            text.append("\n")
        for span in line:
            text.append(span.text, styles.get(span.role))
    return text
