"""What a page shows, as a table for the clipboard: columns parted by tabs where it has cells."""

from __future__ import annotations

from pathlib import Path

from rich.text import Text
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Static

from trackside.errors import LogbookError
from trackside.tui.widgets.grid import Grid
from trackside.tui.widgets.ledger import Ledger

LARGEST = 2000
"""Rows of a list that are taken at most: a clipboard is no export."""
_AROUND = {"keys", "parts", "chapters"}


def table_of(page: Screen) -> str:
    """Heading, then every part of the page that is shown, as text."""
    parts = []
    for widget in page.walk_children():
        if not isinstance(widget, Widget) or not widget.display or not widget.region:
            continue
        if isinstance(widget, Ledger):
            rows = range(min(widget.count, LARGEST))
            parts.append("\n".join(widget.row_text(n).plain.rstrip() for n in rows))
        elif isinstance(widget, Grid):
            parts.append(widget.as_table())
        elif isinstance(widget, Static) and widget.id not in _AROUND:
            shown = widget.content
            parts.append(shown.plain if isinstance(shown, Text) else str(shown))
    lines = "\n".join(part for part in parts if part.strip()).split("\n")
    return "\n".join(line.rstrip() for line in lines) + "\n"


def beside(folder: Path, page: str, text: str) -> Path:
    """The file that holds what was copied last from that page; LogbookError when it cannot be
    written."""
    path = folder / "copied" / f"{page}.txt"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    except OSError as error:
        raise LogbookError(f"{path} cannot be written ({error})", "make room there") from error
    return path
