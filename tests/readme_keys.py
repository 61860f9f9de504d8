"""Writes the key table of the README from the one place where actions are declared.

`python -m tests.readme_keys` writes it; a test checks that the README holds it.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from trackside.tui.commands import COMMANDS, PAGES, Command

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
    return " · ".join(f"`{c.key_shown}` {c.words[0].lower()}{c.words[1:]}" for c in commands)


def with_table(readme: str) -> str:
    """The README with the present table in its place."""
    before, _, rest = readme.partition(BEGIN)
    _, _, after = rest.partition(END)
    return before + BEGIN + key_table() + END + after


if __name__ == "__main__":
    README.write_text(with_table(README.read_text("utf-8")), "utf-8")
