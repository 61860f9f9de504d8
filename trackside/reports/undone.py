"""What was taken back, in words."""

from __future__ import annotations

from typing import Any

from trackside.logbook import Logbook
from trackside.logbook.history import Undone
from trackside.logbook.twins import TWICE
from trackside.preferences import Preferences


def undone_in_words(logbook: Logbook, item: Undone, preferences: Preferences) -> str:
    """One change that was taken back: the record that went or came, else its kind, and its first
    two values, from → to."""
    from trackside.records.fields import words_for

    if item.whole:
        return whole_in_words(logbook, item)
    changed = []
    for path, (before, after) in item.changes.items():
        was, now = (
            spoken(logbook, item.kind, path, value, preferences) for value in (before, after)
        )
        changed.append(f"{words_for(path)}: {was} → {now}")
    text = ", ".join(changed[:2]) + (" …" if len(changed) > 2 else "")
    return f"{item.kind} {text}".strip()


def whole_in_words(logbook: Logbook, item: Undone) -> str:
    """The record that went, or came back, as a whole, and how much is in it."""
    from trackside.reports.naming import body_in_words

    side = 0 if item.whole == "goes" else 1
    body = {path: pair[side] for path, pair in item.changes.items() if pair[side] is not None}
    name = body_in_words(logbook, item.kind, body)
    return f"the whole {name}, {len(body)} value{'' if len(body) == 1 else 's'}"


def spoken(logbook: Logbook, kind: str, path: str, value: Any, preferences: Preferences) -> str:
    """A value of a record as a person reads it; `empty` when unknown."""
    if value is None:
        return "empty"
    if path == TWICE:
        return _record_told(logbook, kind, value, preferences)
    if kind == "session" or path in ("", "session"):
        from trackside.reports.naming import value_in_words

        return value_in_words(value, path, preferences, logbook)
    from trackside.crew.cell_text import describe_value

    return describe_value(kind, path, value, preferences)


def _record_told(
    logbook: Logbook, kind: str, values: dict[str, Any], preferences: Preferences
) -> str:
    """What is not alike in a record that was entered twice."""
    from trackside.records.fields import words_for

    said = (
        f"{words_for(path)}: {spoken(logbook, kind, path, value, preferences)}"
        for path, value in values.items()
    )
    return "; ".join(said) or "all values are alike"
