"""What a session belongs to: its event and its car, in words, and found by words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from trackside.errors import UnknownRecord
from trackside.logbook import Logbook
from trackside.units import one_line

BELONGS: Final = {"event": ("venue", "date"), "car": ("name", "number")}
"""What a session belongs to, and the fields that name it."""


def named(logbook: Logbook, kind: str, entity: str) -> str:
    """The event or the car of that entity, in words; empty where there is none."""
    return in_words(kind, (logbook.state(entity) if entity else None) or {})


def in_words(kind: str, body: Mapping[str, Any]) -> str:
    """An event or a car of that body, in words."""
    return one_line(" ".join(str(body[name]) for name in BELONGS[kind] if body.get(name)))


def all_in_words(logbook: Logbook, kind: str) -> list[str]:
    """Every event, or every car, in words, in the order of creation."""
    return [in_words(kind, body) for _, body in logbook.once(kind)]


def answering(logbook: Logbook, kind: str, text: str) -> str:
    """The event, or the car, whose words hold all that was typed; UnknownRecord when there is none,
    or when several do and none of them says just that."""
    words = text.casefold().split()
    names = {entity: in_words(kind, body).casefold() for entity, body in logbook.once(kind)}
    alike = [e for e, name in names.items() if words and all(word in name for word in words)]
    exact = [entity for entity in alike if names[entity].split() == words]
    if len(exact) == 1:
        alike = exact
    if len(alike) != 1:
        which = "no" if not alike else "more than one"
        raise UnknownRecord(
            f"{which} {kind} answers to “{text}”, so the session stays where it was",
            "type the venue and date" if kind == "event" else "type its name and number",
        )
    return alike[0]
