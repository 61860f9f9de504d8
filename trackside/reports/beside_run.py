"""What the garage book has for a run: told beside it, each reading with its time."""

from __future__ import annotations

from collections.abc import Iterator

from trackside.analysis.hours import in_the_car, is_beyond
from trackside.analysis.tyre_sets import set_before
from trackside.analysis.weather import nearest_to_run
from trackside.analysis.weighing import newest_by, weighings
from trackside.logbook import Logbook, SessionLine
from trackside.preferences import Preferences
from trackside.records import Session
from trackside.reports.document import Said, Section
from trackside.reports.hours_words import hours_words
from trackside.reports.tyre_words import before_run_words
from trackside.reports.weather_words import weather_words
from trackside.reports.weighing_words import last_weighing_words


def beside_run(
    logbook: Logbook,
    entity: str,
    session: Session,
    preferences: Preferences,
    before: Session | None = None,
    *,
    in_short: bool = False,
) -> Iterator[Section]:
    """The sections of that run, `before` being the outing that it is compared with; one that would
    be empty is left out. `in_short` is for paper."""
    line = logbook.session_line(entity)
    begun = line.begun
    if near := nearest_to_run(logbook, entity, session):
        told = weather_words(near, begun, preferences)
        yield Section("Weather of the day", (Said(told),))
    tyres = [
        words
        for rear in (False, True)
        if (used := set_before(logbook, entity, session, rear=rear))
        for words in before_run_words(used, session, before, rear=rear)
    ]
    if tyres:
        yield Section("Tyres", tuple(map(Said, tyres)))
    if hours := _hours(logbook, session.car, line, preferences):
        yield Section("Hours before this run", hours)
    weighed = newest_by(weighings(logbook, session.car), begun) if session.car else None
    if weighed:
        said = last_weighing_words(weighed, preferences, in_short=in_short)
        yield Section("Corner weights", tuple(map(Said, said)))


def _hours(
    logbook: Logbook, car: str, line: SessionLine, preferences: Preferences
) -> tuple[Said, ...]:
    """What is in the car has behind it; a caution where that is what the shop allows."""
    found = in_the_car(logbook, car, line) if car else []
    return tuple(
        Said(hours_words(one, preferences), "caution" if is_beyond(one) else "plain")
        for one in found
    )


def beside_section(
    logbook: Logbook,
    entity: str,
    session: Session,
    preferences: Preferences,
    before: Session | None = None,
) -> Iterator[Section]:
    """The same as one section, a line each, so that a debrief is one sheet of paper; none where
    there is nothing."""
    lines = tuple(
        Said(_line(one), "caution" if any(said.kind == "caution" for said in one.said) else "small")
        for one in beside_run(logbook, entity, session, preferences, before, in_short=True)
    )
    if lines:
        yield Section("Beside this run", lines)


def beside_lines(
    logbook: Logbook, entity: str, session: Session, preferences: Preferences
) -> list[str]:
    """The same, as lines alone."""
    return [_line(one) for one in beside_run(logbook, entity, session, preferences)]


def _line(section: Section) -> str:
    return f"{section.title.lower()}: {'; '.join(said.text for said in section.said)}"
