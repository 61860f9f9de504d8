"""Writes the key table of the README from the one place where actions are declared.

`python -m tests.readme_keys` writes it; a test checks that the README holds it.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from trackside.tui.commands import COMMANDS, PAGES, Command
from trackside.tui.keys import cap

README = Path(__file__).parent.parent / "README.md"
BEGIN = "<!-- keys: written by `python -m tests.readme_keys` -->\n"
END = "<!-- end of keys -->"


def key_table() -> str:
    """The table, in Markdown: a row a page, what holds everywhere last."""
    lines = ["| where | keys |", "| --- | --- |"]
    for page, name in PAGES.items():
        own = [command for command in COMMANDS if page in command.pages]
        if own:
            lines.append(f"| {name.lower()} | {_row(own)} |")
    lines.append(f"| everywhere | {_row([c for c in COMMANDS if not c.pages])} |")
    return "\n".join(lines) + "\n"


def _row(commands: Sequence[Command]) -> str:
    return " · ".join(f"{_caps(c)} {c.words[0].lower()}{c.words[1:]}" for c in commands)


def _caps(command: Command) -> str:
    """The first key, and the one that works where letters type."""
    beside = cap(command.key_beside_text) if command.key_beside_text else ""
    return " ".join(f"`{each}`" for each in dict.fromkeys((command.key_shown, beside)) if each)


def with_table(readme: str) -> str:
    """The README with the present table in its place."""
    before, _, rest = readme.partition(BEGIN)
    _, _, after = rest.partition(END)
    return before + BEGIN + key_table() + END + after


if __name__ == "__main__":
    README.write_text(with_table(README.read_text("utf-8")), "utf-8")
