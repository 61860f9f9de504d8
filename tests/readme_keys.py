"""Writes the key table of the README from the one place where actions are declared.

`python -m tests.readme_keys` writes it; a test checks that the README holds it.
"""

from __future__ import annotations

from pathlib import Path

from trackside.tui.commands import COMMANDS, PAGES

README = Path(__file__).parent.parent / "README.md"
BEGIN = "<!-- keys: written by `python -m tests.readme_keys` -->\n"
END = "<!-- end of keys -->"


def key_table() -> str:
    """The table, in Markdown."""
    lines = ["| where | key | what it does |", "| --- | --- | --- |"]
    for command in COMMANDS:
        where = ", ".join(PAGES[page].lower() for page in command.pages) or "everywhere"
        lines.append(f"| {where} | `{command.key_shown}` | {command.words} |")
    return "\n".join(lines) + "\n"


def with_table(readme: str) -> str:
    """The README with the present table in its place."""
    before, _, rest = readme.partition(BEGIN)
    _, _, after = rest.partition(END)
    return before + BEGIN + key_table() + END + after


if __name__ == "__main__":
    README.write_text(with_table(README.read_text("utf-8")), "utf-8")
