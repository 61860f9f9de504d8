"""The two lines at the foot of a page: the keys that work where the cursor stands, to be clicked.

Where letters type, only keys that type nothing are left of a page's commands.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Literal, NamedTuple

from rich.text import Text

from trackside.tui.commands import (
    ALL_COMMANDS,
    COMMANDS,
    LEAVE,
    Command,
    commands_of,
    key_line,
    navigation,
    writes,
)
from trackside.tui.keys import cap, is_key, key_of_cap

if TYPE_CHECKING:
    from trackside.tui.widgets.grid import Mode


class Foot(NamedTuple):
    """What the lines depend on: the page, what keys do in its cells, whether it is only read,
    whether Esc makes the next letter a command, and the page's actions that work here."""

    page: str
    mode: Mode | Literal["searching"]
    reading: bool
    arms: bool
    working: tuple[str, ...]


Entry = tuple[str, str, bool]
"""A key as it is printed on its cap, what it does, and whether that is where one is."""

_TYPING: tuple[Sequence[tuple[str, str]], Sequence[tuple[str, str]]] = (
    (("Enter", "Save, go on"), ("↑ ↓", "Save, move"), ("Esc", "As it was")),
    (("← →", "Caret"), ("Ctrl-U", "Clear"), ("Tab", "Save, next tab")),
)
_SEARCHING: Sequence[tuple[str, str]] = (
    ("letters", "Find"),
    ("Enter ↓ Esc", "To the list"),
    ("← →", "Caret"),
    ("Ctrl-U", "Clear"),
)
_PICKING: tuple[Sequence[tuple[str, str]], Sequence[tuple[str, str]]] = (
    (("letters", "Narrow down"), ("↑ ↓", "Choose"), ("Enter", "Take"), ("Esc", "As it was")),
    (("← →", "Caret"), ("Ctrl-U", "Clear"), ("Tab", "Leave, not saved")),
)


def works_on(page: str, works: Callable[[Command], bool]) -> tuple[str, ...]:
    """The actions of that page that do something now."""
    return tuple(command.action for command in commands_of(page) if works(command))


def lines_of(foot: Foot) -> tuple[list[Entry], list[Entry]]:
    """The entries of both lines."""
    if foot.mode in ("typing", "picking"):
        first, second = _TYPING if foot.mode == "typing" else _PICKING
        return [(*e, False) for e in first], [(*e, False) for e in second]
    if foot.mode == "searching":
        return [(*e, False) for e in _SEARCHING], _everywhere(foot, ("handbook", "help"))
    if foot.mode in ("text", "list"):
        return _where_letters_type(foot)
    own = key_line(foot.page, foot.reading, foot.working)
    pages = [(key, label, page == foot.page) for key, label, page in navigation()]
    return [(*e, False) for e in own], pages


def _where_letters_type(foot: Foot) -> tuple[list[Entry], list[Entry]]:
    """Cells of words, choices, and forms."""
    type_it = ("letters", "Find" if foot.mode == "list" else "Type")
    first = [type_it, ("Enter", "List" if foot.mode == "list" else "Edit"), ("Del", "Empty")]
    own = [c for c in COMMANDS if foot.page in c.pages and c.short and c.action in foot.working]
    first += [(cap(key), c.short) for c in own if (key := c.key_beside_text)]
    if foot.arms:
        first.append(("Esc", "then a command"))
    return [(*e, False) for e in first], _everywhere(foot, ("undo", "handbook", "help"))


def _everywhere(foot: Foot, names: Sequence[str]) -> list[Entry]:
    """All commands, those of every page with these names, by keys that type nothing, and quit."""
    everywhere = [c for name in names for c in COMMANDS if not c.pages and c.name == name]
    second = [(ALL_COMMANDS, "All commands")]
    second += [
        (cap(key), c.short or c.words.partition(":")[0])
        for c in everywhere
        if (key := c.key_beside_text) and not (foot.reading and writes(c.action))
    ]
    second.append((LEAVE, "Quit"))
    return [(*e, False) for e in second]


def drawn(foot: Foot, width: int, face: str) -> Text:
    """Both lines for that width; `face` is how a key stands out."""
    first, second = lines_of(foot)
    return Text("\n").join([_line(first, width, face, 1), _line(second, width, face, 2)])


def _line(entries: Sequence[Entry], width: int, face: str, last: int) -> Text:
    """Keys with their labels, to be clicked; where room is short, those before the `last` ones
    give way: help names them."""
    parts = []
    for key, label, here in entries:
        part = Text.assemble((key, face), (f" {label}", "reverse bold" if here else ""))
        if is_key(named := key_of_cap(key)):
            part.apply_meta({"@click": f"app.press({named!r})"})
        parts.append(part)
    while sum(part.cell_len + 1 for part in parts) > width + 1 and len(parts) > last:
        del parts[-last - 1]
    room = width - sum(part.cell_len for part in parts)
    between = Text(" " * max(1, min(3, room // max(1, len(parts)))))
    line = between.join(parts)
    line.truncate(width)
    return line
