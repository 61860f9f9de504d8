"""Colours: two themes, and the style of each role that a drawing names.

Corner colours come from a palette made for colour-blind eyes; no colour stands alone, each
corner also has its own marker and name.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from rich.style import Style
from rich.text import Text
from textual.theme import Theme

if TYPE_CHECKING:
    from trackside.charts import Drawing

_GARAGE = {
    "FL": "#6cb6ff",
    "FR": "#ffb454",
    "RL": "#5fd3a6",
    "RR": "#e79bd0",
    "before": "#9aa4ae",
    "after": "#ffe28a",
    "bump": "#ffb454",
    "rebound": "#6cb6ff",
    "other": "#c8d0d8",
    "band": "#6f7b86",
    "axis": "#7f8b96",
    "text": "#d9e0e6",
    "zero": "#aab4bd",
    "mark": "#ffe28a",
    "hot": "#ff8f7a",
}
_SUN = {
    "FL": "#0046a8",
    "FR": "#9a4a00",
    "RL": "#006b4a",
    "RR": "#93266f",
    "before": "#5a5a5a",
    "after": "#000000",
    "bump": "#9a4a00",
    "rebound": "#0046a8",
    "other": "#303030",
    "band": "#767676",
    "axis": "#5f5f5f",
    "text": "#101010",
    "zero": "#303030",
    "mark": "#7a3c00",
    "hot": "#b00020",
}
ROLES: dict[str, dict[str, str]] = {"garage": _GARAGE, "sun": _SUN}


def _variables(roles: dict[str, str], **more: str) -> dict[str, str]:
    return {f"role-{name}": colour for name, colour in roles.items()} | more


THEMES = (
    Theme(
        name="garage",
        primary="#ffd75f",
        secondary="#6cb6ff",
        accent="#ffd75f",
        foreground="#e6ebef",
        background="#0d1013",
        surface="#0d1013",
        panel="#1b2127",
        warning="#ffb454",
        error="#ff8f7a",
        success="#5fd3a6",
        dark=True,
        variables=_variables(
            _GARAGE,
            board="#ffd75f",
            **{"board-text": "#14110a", "dim": "#8d98a2", "field": "#1a2026"},
        ),
    ),
    Theme(
        name="sun",
        primary="#000000",
        secondary="#0046a8",
        accent="#000000",
        foreground="#0a0a0a",
        background="#ffffff",
        surface="#ffffff",
        panel="#e8e8e2",
        warning="#7a3c00",
        error="#b00020",
        success="#006b4a",
        dark=False,
        variables=_variables(
            _SUN, board="#111111", **{"board-text": "#ffe36e", "dim": "#5c5c5c", "field": "#f0f0ea"}
        ),
    ),
)


@cache
def _styles(theme: str) -> dict[str, Style]:
    return {role: Style(color=colour) for role, colour in ROLES.get(theme, _GARAGE).items()}


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
