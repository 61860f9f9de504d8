"""Where else the dampers of a run are on record while it is on: on another car of its session."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple, TypeAlias

from trackside.analysis.time_table import beside, day_of, slot_of, time_table
from trackside.logbook import Logbook, SessionLine


class OtherCar(NamedTuple):
    """A run of another car: the car's name with its number, and what the crew calls the run."""

    car: str
    title: str


Elsewhere: TypeAlias = Mapping[str, OtherCar]
"""Serial, casefolded, to the other car that has it."""


def fitted_elsewhere(logbook: Logbook, entity: str) -> dict[str, OtherCar]:
    """The dampers of the other cars in the session of that run, and in those that are on at the
    same time. Of each car its last run that had begun by then counts, else its first: a damper may
    go from one car to another between runs."""
    line = logbook.session_line(entity)
    runs: dict[str, list[SessionLine]] = {}
    for other in _in_the_session(logbook, line):
        if other.car and other.car != line.car:
            runs.setdefault(other.car, []).append(other)
    found: dict[str, OtherCar] = {}
    for car, lines in runs.items():
        lines.sort(key=lambda one: (one.sort_key, one.entity))
        begun = [one for one in lines if one.sort_key <= line.sort_key]
        run = begun[-1] if begun else lines[0]
        there = OtherCar(_named(logbook, car), run.title)
        for serial in logbook.session_record(run.entity).dampers:
            found.setdefault(serial.casefold(), there)
    return found


def _in_the_session(logbook: Logbook, line: SessionLine) -> list[SessionLine]:
    """The runs of its event that are of the same session, or of one that is on meanwhile."""
    if not line.event or not line.car:
        return []
    day = day_of(line)
    slots = time_table(logbook, day)
    slot = slot_of(slots, line.entity)
    meanwhile = {one.entity for s in (beside(slots, slot) if slot else ()) for one in s.lines}
    return [
        other
        for other in logbook.session_lines(event=line.event)
        if other.entity in meanwhile
        or (
            other.session.casefold() == line.session.casefold()
            and (day_of(other) or day) == (day or day_of(other))
        )
    ]


def _named(logbook: Logbook, car: str) -> str:
    body = logbook.state(car) or {}
    number = str(body.get("number") or "").strip()
    return " ".join(part for part in (str(body.get("name") or "another car"), number) if part)
