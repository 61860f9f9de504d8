"""What was taken back, in words."""

from __future__ import annotations

from typing import Any

from trackside.logbook.history import Undone
from trackside.preferences import Preferences


def undone_in_words(item: Undone, preferences: Preferences) -> str:
    """One change that was taken back: its kind, and its first two values, from → to."""
    from trackside.records.fields import words_for

    changed = []
    for path, (before, after) in item.changes.items():
        was, now = (spoken(item.kind, path, value, preferences) for value in (before, after))
        changed.append(f"{words_for(path)}: {was} → {now}")
    text = ", ".join(changed[:2]) + (" …" if len(changed) > 2 else "")
    return f"{item.kind} {text}".strip()


def spoken(kind: str, path: str, value: Any, preferences: Preferences) -> str:
    """A value of a record as a person reads it; `empty` when unknown."""
    if value is None:
        return "empty"
    if kind == "session" or path == "":
        from trackside.review.naming import value_in_words

        return value_in_words(value, path, preferences)
    from trackside.tui.cell_text import told

    return told(kind, path, value, preferences)
