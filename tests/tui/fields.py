"""Which fields the program has, read from its source; and what of them stands in a logbook."""

from __future__ import annotations

import ast
import json
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

TUI = Path(__file__).parents[2] / "trackside" / "tui"


def asked_in_source() -> dict[str, set[str]]:
    """The function that asks → the names of its questions, for every form of the program."""
    found: dict[str, set[str]] = {}
    for file in TUI.rglob("*.py"):
        for function in ast.walk(ast.parse(file.read_text("utf-8"))):
            if isinstance(function, ast.FunctionDef):
                names = {
                    str(ast.literal_eval(call.args[0]))
                    for call in ast.walk(function)
                    if isinstance(call, ast.Call) and getattr(call.func, "id", "") == "Question"
                }
                if names:
                    found[function.name] = names
    return found


def made_in_source() -> set[tuple[str, str]]:
    """(file, kind) of every field, form and grid that the program makes."""
    made = {
        (file.name, getattr(call.func, "id", ""))
        for file in TUI.rglob("*.py")
        for call in ast.walk(ast.parse(file.read_text("utf-8")))
        if isinstance(call, ast.Call)
    }
    fields = {"Input", "TextArea", "MaskedInput", "Line", "Lines", "Grid", "Ask"}
    return {place for place in made if place[1] in fields}


def words_in(file: Path) -> set[str]:
    """Every text in the revisions and drafts of the logbook, blanks left out; read by nothing of
    ours."""
    with sqlite3.connect(f"file:{file}?mode=ro", uri=True) as reader:
        found = [json.loads(text) for (text,) in reader.execute("SELECT envelope FROM revision")]
        found += [text for (text,) in reader.execute("SELECT text FROM draft")]
    return {squeezed(text) for text in _texts(found)}


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        yield from _texts([*value, *value.values()])
    elif isinstance(value, list):
        for inner in value:
            yield from _texts(inner)


def squeezed(text: str) -> str:
    """Without blanks and line ends."""
    return "".join(text.split())


def revisions_in(file: Path) -> int:
    """How many revisions stand in the logbook, read by nothing of ours."""
    with sqlite3.connect(f"file:{file}?mode=ro", uri=True) as reader:
        return int(reader.execute("SELECT count(*) FROM revision").fetchone()[0])
