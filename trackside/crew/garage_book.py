"""Writing in the garage book: a record beside the runs, of a car or an event."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

from trackside.crew.cell_text import change
from trackside.crew.forms import Entry
from trackside.errors import BadInput
from trackside.logbook import Logbook, Write, put
from trackside.logbook.fold import patched
from trackside.logbook.rows import text
from trackside.preferences import Preferences
from trackside.units import one_line

BEGINS_AT: Final = {
    "weighing": "FL.mass",
    "tyre_set": "name",
    "weather": "air_temperature",
    "counter": "part",
}
"""Kind of record → the place that is typed first."""
_WHEN: Final = {
    "weighing": ("at", "%Y-%m-%d %H:%M"),
    "tyre_set": ("date", "%Y-%m-%d"),
    "weather": ("at", "%Y-%m-%d %H:%M"),
    "counter": ("since", "%Y-%m-%d"),
}
"""Where a record says when, and how it is written there."""
_NAMED_FIRST: Final = {"tyre_set": ("name", "new set"), "counter": ("part", "new part")}
"""What a record is called until somebody names it, and where its name stands."""


def new_entry(kind: str, of: str, entity: str, now: datetime | None, **values: Any) -> Write:
    """A new record of that kind, of that car or event (`of` says which), with these `values`: read
    `now`, or at an unknown time where the clock cannot be trusted."""
    body: dict[str, Any] = {of: entity}
    if kind in _NAMED_FIRST:
        name, word = _NAMED_FIRST[kind]
        body[name] = word
    if now is not None:
        at, written = _WHEN[kind]
        body[at] = now.strftime(written)
    return put(kind, body | values)


def filled(
    logbook: Logbook, write: Write, texts: Mapping[Entry, str], preferences: Preferences
) -> Write:
    """The same with those texts in their places. BadInput says what cannot be read, or may not be
    called so."""
    body = write.body
    for entry, typed in texts.items():
        body = patched(body, change(entry.kind, body, {entry: typed}, preferences))
    if write.kind in _NAMED_FIRST:
        name, word = _NAMED_FIRST[write.kind]
        if body[name] == word:
            raise BadInput(f"it has no name yet: {name}", f"say {name}=…")
    if write.kind == "tyre_set":
        may_be_called(logbook, write.entity, write.body, body["name"])
    return write._replace(body=body)


def may_be_called(logbook: Logbook, entity: str, body: Mapping[str, Any], name: str) -> None:
    """BadInput where another set of the car is called so, or where runs name the set by the name
    that it has in `body`: what they say stands."""
    from trackside.analysis.tyre_sets import name_of_set
    from trackside.logbook.driven import SETS

    car, old, new = text(body.get("car")), name_of_set(text(body.get("name"))), name_of_set(name)
    if new == old:
        return
    sets = ((e, b) for e, b in logbook.all("tyre_set") if e != entity and b.get("car") == car)
    if any(name_of_set(text(b.get("name"))) == new for _, b in sets):
        raise BadInput(f"this car has a set {one_line(name)} already", "give another name")
    said = {
        one
        for name in SETS
        for one, _, typed in logbook.naming(name, car)
        if name_of_set(typed) == old
    }
    count = len(said)
    if count:
        many = "a run names" if count == 1 else f"{count} runs name"
        raise BadInput(
            f"{many} {one_line(text(body.get('name')))}", "enter the other one as a new set"
        )
