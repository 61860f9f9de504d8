"""The handbook's chapters: the shipped texts, and the keys from where they are declared."""

from __future__ import annotations

import re
from dataclasses import dataclass
from importlib.resources import files

from trackside.tui.commands import COMMANDS, PAGES, Command, key_of

_KEYS_AFTER = "1-start.md"
CHOOSING = (
    "Each is followed by its name. Under `[keys]` in the preferences, a name takes other keys: "
    '`click_harder = ["h", "plus"]`.'
)


@dataclass(frozen=True)
class Chapter:
    """A chapter: `name` stands in the list, `text` is Markdown."""

    name: str
    text: str


def chapters() -> tuple[Chapter, ...]:
    """Every chapter in reading order."""
    found: list[Chapter] = []
    folder = files("trackside") / "handbook"
    for file in sorted(folder.iterdir(), key=lambda each: each.name):
        if file.name.endswith(".md"):
            name = file.name.removesuffix(".md").partition("-")[2].capitalize()
            found.append(Chapter(name, with_keys(without_code(file.read_text("utf-8")))))
            if file.name == _KEYS_AFTER:
                found.append(Chapter("Keys", keys_markdown()))
    return tuple(found)


def without_code(text: str) -> str:
    """The text without the code that works its examples out, which the tests run: the sentence
    before it gives the result."""
    return re.sub(r"```python\n.*?```\n+", "", text, flags=re.DOTALL)


def with_keys(text: str) -> str:
    """The text with the key in force for each `{action}` in it."""
    return re.sub(r"`\{(\w+)\}`", lambda found: f"`{key_of(found[1])}`", text)


def keys_markdown() -> str:
    """Every key in force, page by page, with its action's name in the preferences."""
    parts = [
        "# Keys",
        "On numbers of the run sheet and on pages without cells a letter is a command.",
        CHOOSING,
    ]
    parts.append("## Everywhere")
    parts.append(_list([command for command in COMMANDS if not command.pages]))
    told: set[str] = set()
    for page, name in PAGES.items():
        own = [command for command in COMMANDS if page in command.pages]
        if own and name not in told:
            told.add(name)
            same = [c for c in COMMANDS if any(PAGES[p] == name for p in c.pages)]
            parts += [f"## {name}", _list(same)]
    parts += ["## Palette", "`Ctrl-P` lists all of them and finds one by its words."]
    return "\n\n".join(parts) + "\n"


def _list(commands: list[Command]) -> str:
    return "\n".join(f"- **`{c.key_shown}`** {c.words} · `{c.name}`" for c in commands)
