"""The runs of a session: the next one, one written down later, one that belongs elsewhere, and a
session that was two.

A run is numbered by its place in time among the runs of its session. Each verb gives all writes of
one step of undo; nothing is written here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from trackside.crew.moments import read_time
from trackside.crew.next_session import Known, opened_now
from trackside.errors import BadInput
from trackside.logbook import Logbook, SessionLine, Write, patch, put
from trackside.logbook.fold import patched
from trackside.records import Reading, Session


class RunWrites(NamedTuple):
    """What is to be written, and the run that is in hand then."""

    writes: tuple[Write, ...]
    entity: str


def runs_of(logbook: Logbook, line: SessionLine) -> list[SessionLine]:
    """The runs of that run's session, itself among them, oldest first. A run of the same name that
    says no number of its own is a session by itself."""
    others = (one for one in _of_the_car(logbook, line) if _named_alike(one, line))
    found = [one for one in others if one.run or one.entity == line.entity]
    return sorted(found, key=_by_time)


def sessions_beside(logbook: Logbook, line: SessionLine) -> dict[str, SessionLine]:
    """The other sessions of this car at the event, newest first, by name, each with a run of it."""
    found: dict[str, SessionLine] = {}
    for one in _of_the_car(logbook, line):
        if not _named_alike(one, line):
            found.setdefault(one.session, one)
    return found


def next_run(
    logbook: Logbook,
    in_hand: Known,
    values: Mapping[str, Any] | None = None,
    set_up_of: Known | None = None,
) -> RunWrites:
    """The next run of the session in hand, with the set-up of the run in hand, or of another one of
    the car, `values` over it."""
    runs = runs_of(logbook, logbook.session_line(in_hand[0]))
    anew = _numbered(runs, following=True) if any(not run.run for run in runs) else ()
    last = len(runs) if anew else max(map(_number, runs))
    body = _carried(set_up_of or in_hand) | {"run": _count(last + 1)}
    if set_up_of is not None:
        body |= {"event": in_hand[1].event} | _called(in_hand[1])
    opened_now(logbook, body)
    new = put("session", patched(body, dict(values or {})))
    return RunWrites((new, *anew), new.entity)


def run_between(logbook: Logbook, in_hand: Known, start: str) -> RunWrites:
    """A run of the session in hand that was not written down, begun at `start` (10:45, or with its
    day): with the set-up of the run before it. It has run: nothing is to be set for it. The runs
    behind it count one more."""
    line = logbook.session_line(in_hand[0])
    begun = read_time(start, line.begun[:10])
    runs = runs_of(logbook, line)
    before = [run for run in runs if run.begun <= begun]
    source = before[-1].entity if before else runs[0].entity
    place = len(before)
    body = _carried((source, logbook.session_record(source)))
    new = put("session", body | {"start": begun, "run": _count(place + 1), "status": "done"})
    others = _numbered(runs[:place], following=True) + _numbered(runs[place:], place + 2)
    return RunWrites((new, *others), new.entity)


def run_moved(logbook: Logbook, entity: str, session: SessionLine) -> RunWrites:
    """That run among the runs of another session of the same car, in its place by time; `session`
    is any run of it. Both sessions are numbered again."""
    line = logbook.session_line(entity)
    if (line.event, line.car) != (session.event, session.car):
        raise BadInput("that session is of another car or event", "choose one of this event")
    if _named_alike(line, session):
        raise BadInput(f"it is a run of {line.session} already", "choose another session")
    left = [run for run in runs_of(logbook, line) if run.entity != entity]
    there = sorted([*runs_of(logbook, session), line], key=_by_time)
    target = logbook.session_record(session.entity)
    body = _called(target) | {"run": _count(there.index(line) + 1)}
    others = (write for write in _numbered(there) if write.entity != entity)
    return RunWrites((patch("session", entity, body), *others, *_numbered(left)), entity)


def split_from(logbook: Logbook, entity: str) -> RunWrites:
    """That run and those behind it as a session of their own, with the next free number."""
    line = logbook.session_line(entity)
    runs = runs_of(logbook, line)
    at = next(n for n, run in enumerate(runs) if run.entity == entity)
    if not at:
        raise BadInput(
            f"{line.title} is the first run of its session", "split it off at a later run"
        )
    alike = (one for one in _of_the_car(logbook, line) if _folded(one.kind) == _folded(line.kind))
    free = 1 + max((int(one.number) for one in alike if one.number.isdecimal()), default=0)
    called = {"number": _count(free)}
    gone = runs[at:]
    split = (
        patch("session", run.entity, called | {"run": _count(n) if len(gone) > 1 else None})
        for n, run in enumerate(gone, 1)
    )
    return RunWrites((*split, *_numbered(runs[:at])), entity)


def _of_the_car(logbook: Logbook, line: SessionLine) -> list[SessionLine]:
    return logbook.session_lines(event=line.event, car=line.car)


def _named_alike(one: SessionLine, other: SessionLine) -> bool:
    return _folded(one.session) == _folded(other.session)


def _folded(text: str) -> str:
    return text.strip().casefold()


def _by_time(run: SessionLine) -> tuple[str, int, str]:
    return run.sort_key, _number(run), run.entity


def _number(run: SessionLine) -> int:
    return int(run.run) if run.run.isdecimal() else 0


def _numbered(
    runs: Sequence[SessionLine], first: int = 1, *, following: bool = False
) -> tuple[Write, ...]:
    """The writes that number these runs in this order, from `first` on; the only run of a session
    has no number, unless others are `following`."""
    alone = len(runs) == 1 and first == 1 and not following
    wanted = ((run, "" if alone else str(n)) for n, run in enumerate(runs, first))
    return tuple(
        patch("session", run.entity, {"run": _count(int(number)) if number else None})
        for run, number in wanted
        if run.run != number
    )


def _count(number: int) -> dict[str, Any]:
    return Reading.of_si(float(number), "count").body()


def _carried(run: Known) -> dict[str, Any]:
    entity, session = run
    called = {name: value for name, value in _called(session).items() if value is not None}
    return session.carried_over() | called | {"based_on": entity}


def _called(session: Session) -> dict[str, Any]:
    """What names the session of a run."""
    return {"kind": session.kind, "number": session.number.body() if session.number else None}
