"""Logbooks with values that no record takes: of a newer laptop, of another tool, of a wrong type.

Written as revisions, as a bundle brings them: the logbook checks no shapes.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from trackside.errors import BadRecord
from trackside.logbook import Logbook, put
from trackside.records import KINDS
from trackside.records.fields import CORNER_FIELDS

WRONG: tuple[Any, ...] = (
    5,
    "7",
    True,
    [],
    ["a", 1],
    {},
    {"typed": 5, "unit": "", "si": "x"},
    {"typed": "9", "unit": 3, "si": 9.0},
    {"typed": "9", "unit": "bar", "si": 1e308},
    {"of": {"a": {"newer": [1]}}},
    -1e300,
    "",
)
"""Values of a wrong type, or of none that this version knows."""
WIDE = ("session", "event", "car", "damper", "build", "sheet", "note", "change", "kept")


def places(kind: str) -> list[str]:
    """Every value of a record of that kind; of a corner's section, those of the run sheet."""
    found = list(KINDS[kind].model_fields)
    if kind == "session":
        found += [f"FL.{name}" for name in CORNER_FIELDS]
    if kind == "car":
        found += ["FL.motion_ratio", "RR.mass", "FR.spring_rate"]
    return [*found, "of_a_newer_laptop"]


def spoiled(body: dict[str, Any], place: str, value: Any) -> dict[str, Any]:
    """The body with that value there."""
    head, _, name = place.partition(".")
    if not name:
        return {**body, head: value}
    return {**body, head: {**body.get(head, {}), name: value}}


def write_unreadable(log: Path, turn: int) -> dict[str, set[str]]:
    """Beside the sample weekends, a copy of one record of each kind for each of its places, with a
    wrong value there; `turn` gives each place another one. The entities by kind of which something
    cannot be read."""
    with Logbook.open(log, author="newer", device="newer") as logbook:
        models = {kind: logbook.all(kind)[-1][1] for kind in WIDE}
        session = logbook.session("last")
        for kind in ("note", "change", "kept"):
            models[kind] = {**models[kind], "session": session}
        writes = []
        for kind in WIDE:
            for n, place in enumerate(places(kind)):
                if place == "session" or (kind, place) in _MOVES:
                    continue  # it would only belong elsewhere
                body = spoiled(models[kind], place, WRONG[(n + turn) % len(WRONG)])
                writes.append(put(kind, body))
        logbook.write(*writes, reason="by another program")
        logbook.write(put("plan", {"session": session, "name": "of a newer laptop"}))
        return {
            kind: {w.entity for w in writes if w.kind == kind and _is_unread(kind, w.body)}
            for kind in WIDE
        }


_MOVES = {("session", "event"), ("session", "car"), ("session", "based_on")}


def _is_unread(kind: str, body: dict[str, Any]) -> bool:
    try:
        return bool(KINDS[kind].as_far_as_read(body)[1])
    except BadRecord:
        return True


def whole_bodies() -> Iterator[tuple[str, Any]]:
    """Each kind with nothing in it that it needs."""
    for kind in WIDE:
        yield kind, {"of_a_newer_laptop": 1}
