"""What a venue's road is like: asked once, with any of its events."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trackside.corner.road import Road, road
from trackside.errors import NoEstimate
from trackside.records import Event, Session

if TYPE_CHECKING:
    from trackside.logbook import Logbook


def venue_road(
    session: Session, logbook: Logbook, letter: str | None = None, speed: float | None = None
) -> Road:
    """Class and speed (m/s) as given, else as on record. NoEstimate names what is on record
    nowhere, BadNumber what is none."""
    known, at, venue = _on_record(session, logbook)
    letter, speed = letter or known, speed or at
    missing = [
        name for name, one in (("road class", letter), ("speed on it", speed)) if one is None
    ]
    if letter is None or speed is None:
        raise NoEstimate(
            f"no {' and no '.join(missing)} on record for {venue}",
            "enter it with the event, or give --class and --speed",
        )
    return road(letter, speed)


def venue_speed(session: Session, logbook: Logbook) -> float:
    """The speed (m/s) on record. NoEstimate where there is none."""
    _, speed, venue = _on_record(session, logbook)
    if speed is None:
        raise NoEstimate(
            f"no speed on the road is on record for {venue}",
            "enter it with the event, or give --speed",
        )
    return speed


def _on_record(session: Session, logbook: Logbook) -> tuple[str | None, float | None, str]:
    """Class, speed and venue: of the session's event, else of the latest event at its venue."""
    known = dict(logbook.records(Event, "event"))
    own = known.get(session.event)
    if own is None:
        return None, None, "this run"
    venue = own.venue.casefold()
    there = [one for one in known.values() if one.venue.casefold() == venue]
    events = [own, *sorted(there, key=lambda one: one.date, reverse=True)]
    letter = next((one.road_class for one in events if one.road_class), None)
    speed = next((one.road_speed for one in events if one.road_speed), None)
    return letter, speed, own.venue
