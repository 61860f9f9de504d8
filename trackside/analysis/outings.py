"""Which outings a debrief compares with: the driver's own, the car's, and one in another car."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from trackside.analysis.recall import outing_before
from trackside.records.likeness import folded, likely

if TYPE_CHECKING:
    from trackside.logbook import Logbook
    from trackside.records import Session


@dataclass(frozen=True)
class Outings:
    """Earlier sessions by their entity; empty where there is none.

    `own`: the last one of this driver in this car; of the car where no driver is named. `car`: the
    last run of the car, if another driver had it later than `own`. `elsewhere`: this driver's last
    run in another car, if that was later than `own`. `alike`: other names of drivers in the
    logbook that this name may be a slip of.
    """

    own: str
    car: str
    elsewhere: str
    alike: tuple[str, ...] = ()

    @property
    def compared(self) -> str:
        """The outing that the page compares with first."""
        return self.own or self.car


def outings_before(logbook: Logbook, session: str) -> Outings:
    """The outings before that session."""
    line = logbook.session_line(session)
    own = outing_before(logbook, session) or ""
    if not line.driver:
        return Outings(own, "", "")
    car = elsewhere = ""
    if line.car:
        car = _first_that_ran(logbook, session, own, car=line.car)
    elsewhere = _first_that_ran(logbook, session, own, driver=line.driver)
    if elsewhere and logbook.session_line(elsewhere).car == line.car:
        elsewhere = ""
    known = (driver for _, driver in logbook.session_names() if driver)
    others = likely(line.driver, (name for name in known if name != line.driver))
    if own or elsewhere:  # a name with outings of its own is no slip of a letter
        others = tuple(name for name in others if folded(name) == folded(line.driver))
    return Outings(own, car, elsewhere, others)


def run_of_car_before(logbook: Logbook, session: str) -> str:
    """The car's newest run before that session, whoever drove; "" where there is none, or the
    session names no car."""
    car = logbook.session_line(session).car
    return _first_that_ran(logbook, session, "", car=car) if car else ""


MOST = 12
"""So many runs of a car are asked how warm things become (our own, no source)."""


def newest_that_ran(logbook: Logbook, session: str) -> list[Session]:
    """That run and those of its car before it, the newest first, as far as they ran: so many as
    `MOST` at most."""
    car = logbook.session_line(session).car
    found = [logbook.session_record(session)]
    if car:
        for line in logbook.each_session(before=session, car=car):
            if len(found) > MOST:
                break
            if line.ran:
                found.append(logbook.session_record(line.entity))
    return [run for run in found if run.ran][:MOST]


def _first_that_ran(logbook: Logbook, session: str, until: str, **of: str) -> str:
    """The newest session before that one that ran; "" when `until` is met first."""
    for other in logbook.each_session(before=session, **of):
        if other.entity == until:
            return ""
        if other.ran:
            return other.entity
    return ""
