"""What stands for one entity, as rows of the projections. No database here: values in, rows out."""

from __future__ import annotations

import json
import re
from collections.abc import Container, Iterable, Mapping
from typing import Any, Final

from trackside.logbook.canonical import canonical
from trackside.logbook.fold import State, is_reading
from trackside.logbook.revisions import Body, Revision
from trackside.records.laps import timed

CORNERS: Final = ("FL", "FR", "RL", "RR")
ATTACHED: Final = ("note", "change", "kept")
"""Kinds that belong to a session and are counted on its line."""

_NOT_READINGS: Final = {"event", "car", "based_on", "words"}
_LARGEST: Final = 1e300
DATED: Final = re.compile(r"\d{4}-\d{2}-\d{2}")
_ON_THE_LINE: Final = (
    *("event", "car", "kind", "number", "start", "driver", "status"),
    *("surface", "laps", "best_lap", "result"),
)
_SAID: Final = {
    "note": ("words", "turn", "driver"),
    "change": ("what", "reason", "verdict", "verdict_words"),
    "kept": ("title", "why", "result"),
    "event": ("venue", "title", "words"),
    "car": ("name", "words"),
    "damper": ("serial", "model", "words"),
    "build": ("damper", "version", "work"),
    "session": ("words", "driver", "result", "tyre_set", "rear_set"),
}
"""What is looked through in each kind; in an unknown kind, its words."""


def current_row(latest: Revision, state: State, linear: bool, kept: str | None = None) -> tuple:
    """entity, kind, body, heads, linear, recorded_at, author, reason; `kept` is the body as it is
    kept, where that is known."""
    return (
        latest.entity,
        latest.kind,
        kept if kept or state.body is None else canonical(state.body),
        json.dumps(state.heads),
        linear,
        latest.recorded_at,
        latest.author,
        latest.reason,
    )


def reading_rows(number: int, body: Body, fields: Container[str] | None = None) -> list[tuple]:
    """session, corner, field, typed, unit, si: every value of a session that is text or reading;
    with `fields` only theirs."""
    found = []
    for head, value in body.items():
        if isinstance(value, dict) and not is_reading(value):
            corner, before = place_of(head)
            found += [
                reading_row(number, corner, before + name, value[name])
                for name in value
                if fields is None or before + name in fields
            ]
        elif fields is None or head in fields:
            found.append(reading_row(number, "", head, value))
    return [row for row in found if row]


def place_of(section: str) -> tuple[str, str]:
    """Where the values of a section are kept: its corner, and what its fields' names begin with."""
    return (section, "") if section in CORNERS else ("", f"{section}.")


LAP_FIGURES: Final = {"timed_laps": "count", "best_lap_of_laps": "lap time"}
"""What an export works out from the lap times, with its quantity."""


def lap_figures(body: Body) -> list[tuple]:
    """corner, field, typed, unit, si, as of a reading: what the lap times give. Nobody typed it."""
    laps = timed(body.get("lap_times"))
    if not laps:
        return []
    return [
        ("", "best_lap_of_laps", "", "s", min(laps)),
        ("", "timed_laps", "", "", float(len(laps))),
    ]


def reading_at(body: Body, corner: str, field: str) -> tuple | None:
    """typed, unit, si of one value of a session; None when it is unknown."""
    found = (row[3:] for row in reading_rows(0, body, (field,)) if row[1] == corner)
    return next(found, None)


def reading_row(number: int, corner: str, name: str, value: Any) -> tuple | None:
    """session, corner, field, typed, unit, si of one value; None where it is none for the table."""
    if isinstance(value, dict):
        if "typed" not in value:
            return None
        typed, unit, si = value["typed"], value.get("unit", ""), value.get("si")
        return (
            number,
            corner,
            name,
            typed if type(typed) is str else text(value),
            unit if type(unit) is str else str(unit),
            within(si) if type(si) is float else si_of(value),
        )
    if isinstance(value, str) and name not in _NOT_READINGS:
        return number, corner, name, value, None, None
    return None


def word_row(kind: str, entity: str, body: Body | None, reasons: Iterable[str]) -> tuple | None:
    """text, entity, kind, session: what is searched; None when nothing was said."""
    if not body:
        return None
    said = [*(body.get(name) for name in _SAID.get(kind, ("words",))), *reasons]
    words = "\n".join(part for part in said if isinstance(part, str) and part)
    session = entity if kind == "session" else body.get("session")
    return (words, entity, kind, session if isinstance(session, str) else "") if words else None


def gist(body: Body) -> Body:
    """As much of a session's body as its line needs."""
    small = {name: body[name] for name in _ON_THE_LINE if name in body}
    return small | {corner: {"hot_pressure": True} for corner in CORNERS if _is_hot(body, corner)}


def line_row(
    number: int, session: str, body: Body, event: Body, car: Body, attached: Mapping[str, int]
) -> dict[str, Any]:
    """A session's line of the pit board: column to value."""
    start, date = text(body.get("start")), text(event.get("date"))
    surface, laps = text(body.get("surface")), si_of(body.get("laps"))
    return {
        "id": number,
        "entity": session,
        "sort_key": sort_key(start, date, born=session),
        "short": session[-6:],
        "event": text(body.get("event")),
        "venue": text(event.get("venue")),
        "event_date": date,
        "car": text(body.get("car")),
        "car_name": text(car.get("name")),
        "kind": text(body.get("kind")),
        "number": text(body.get("number")),
        "start": start,
        "driver": text(body.get("driver")),
        "status": text(body.get("status")),
        "surface": surface,
        "wet": surface == "wet" if surface else None,
        "laps": None if laps is None else round(laps),
        "best_lap_s": si_of(body.get("best_lap")),
        "hot_pressures": any(_is_hot(body, corner) for corner in CORNERS),
        "notes": attached.get("note", 0),
        "changes": attached.get("change", 0),
        "kept": attached.get("kept", 0) > 0,
        "result": text(body.get("result")),
    }


def _is_hot(body: Body, corner: str) -> bool:
    section = body.get(corner)
    return isinstance(section, dict) and "hot_pressure" in section


def sort_key(start: str, event_date: str, born: str = "") -> str:
    """What sorts sessions by time. One without a start is the next to run at its event.

    Without a date either, the day comes from `born`, the session's identifier.
    """
    dated = DATED.match(start)
    day = event_date or (dated[0] if dated else _day_of(born))
    return f"{day} {start if dated else f'{day} {start}' if start else '~'}"


def _day_of(entity: str) -> str:
    """The day in a UUIDv7; nothing for any other text."""
    from datetime import UTC, datetime

    try:
        milliseconds = int(entity[:8] + entity[9:13], 16)
        return datetime.fromtimestamp(milliseconds / 1000, UTC).date().isoformat()
    except (ValueError, OverflowError, OSError):
        return ""


def text(value: Any) -> str:
    """A value as a person reads it: words as they are, a reading as typed, unknown as nothing."""
    if isinstance(value, dict):
        value = value.get("typed")
    return "" if value is None else str(value)


def si_of(value: Any) -> float | None:
    """The number of a reading in its base unit; None when unknown or unreadable."""
    si = value.get("si") if isinstance(value, dict) else None
    if not isinstance(si, (int, float)) or isinstance(si, bool):
        return None
    return within(si)


def within(si: float) -> float | None:
    """That number where it is one that a table can hold; None for what is larger, or no number."""
    return float(si) if -_LARGEST < si < _LARGEST else None
