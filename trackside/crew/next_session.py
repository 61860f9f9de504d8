"""What the next session starts from: the same set-up, the next number, the time by the clock."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from trackside.errors import NotEntered
from trackside.logbook import Logbook
from trackside.records import Reading, Session
from trackside.units import one_line

Known = tuple[str, Session]
"""A session with its entity."""


KnownCar = tuple[str, str]
"""A car's code and name."""


def cars_at(logbook: Logbook, event: str) -> list[KnownCar]:
    """The cars of which a session of that event can be opened, the one that ran last first: those
    of its sessions, then every other that is entered, for it may run there yet."""
    there = [(line.car, line.car_name) for line in logbook.session_lines(event=event) if line.car]
    known = [(car, one_line(str(body.get("name") or ""))) for car, body in logbook.once("car")]
    newest = logbook.session_lines(limit=1)
    last = newest[0].car if newest else ""
    known.reverse()
    found = dict(there) | dict(sorted(known, key=lambda car: car[0] != last))
    return list(found.items())


def next_session(
    logbook: Logbook, in_hand: Known | None, event: str | None = None, car: str | None = None
) -> dict[str, Any]:
    """Its body, of the event and car given, or else of those of the current session. NotEntered
    where the logbook has no event or car yet."""
    before = _carried_from(logbook, in_hand, car)
    if before is not None:
        entity, session = before
        body = session.carried_over()
        body["based_on"] = entity
        number = session.si("number")
        if event and event != body.get("event"):
            body["event"] = event
            number = 0
        if number is not None:
            body["number"] = Reading.of_si(number + 1, "count").body()
    else:
        body = {"kind": "practice", "number": Reading.of_si(1, "count").body()}
        body |= {"status": "planned", "event": event, "car": car}
    for kind in ("event", "car"):
        if not body.get(kind):
            every = logbook.all(kind)
            if not every:
                raise NotEntered(kind)
            body[kind] = every[-1][0]
    opened_now(logbook, body)
    return body


def opened_now(logbook: Logbook, body: dict[str, Any]) -> None:
    """Give it the time by the clock, and say that it is no more than when it was opened; none where
    the clock is behind what was written: without, it sorts as the newest."""
    if logbook.ahead_of_clock():
        body.pop("start", None)
    else:
        body["start"] = body["opened"] = datetime.now().strftime("%Y-%m-%d %H:%M")


def _carried_from(logbook: Logbook, in_hand: Known | None, car: str | None) -> Known | None:
    """The session whose set-up goes on: the one in hand, or the newest, of that car if one is
    named. A hand may be quicker than the start of the program, which puts one in hand."""
    if in_hand is not None and car in (None, in_hand[1].car):
        return in_hand
    newest = logbook.session_lines(car=car, limit=1)
    found = newest[0].entity if newest else ""
    return (found, logbook.session_record(found)) if found else None
