"""Writing in the garage book: a record beside the runs, of a car or an event."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

from trackside.crew.cell_text import change
from trackside.crew.forms import Entry
from trackside.logbook import Write, put
from trackside.logbook.fold import patched
from trackside.preferences import Preferences

BEGINS_AT: Final = {"weighing": "FL.mass"}
"""Kind of record → the place that is typed first."""


def new_entry(kind: str, of: str, entity: str, now: datetime | None) -> Write:
    """A new record of that kind, of that car or event (`of` says which): read `now`, or at an
    unknown time where the clock cannot be trusted."""
    body: dict[str, Any] = {of: entity}
    if now is not None:
        body["at"] = now.strftime("%Y-%m-%d %H:%M")
    return put(kind, body)


def filled(write: Write, texts: Mapping[Entry, str], preferences: Preferences) -> Write:
    """The same with those texts in their places. BadInput says what cannot be read."""
    body = write.body
    for entry, text in texts.items():
        body = patched(body, change(entry.kind, body, {entry: text}, preferences))
    return write._replace(body=body)
