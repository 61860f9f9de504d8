"""What no longer holds at a corner once another damper, or another build of it, is there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from trackside.records.fields import (
    ADJUSTER_WORDS,
    ADJUSTERS,
    CORNER_FIELDS,
    CORNERS,
    OF_THE_DAMPER,
)

if TYPE_CHECKING:
    from trackside.preferences import Preferences
    from trackside.records import Adjuster, Build, Session
    from trackside.review.shed import Shed


@dataclass(frozen=True)
class Swap:
    """`cleared` are the paths that are now unknown; `told` says so in a line, empty when nothing
    was cleared."""

    cleared: tuple[str, ...]
    told: str


def swapped(
    before: Session, after: Session, corner: str, shed: Shed, preferences: Preferences
) -> Swap:
    """From one session to the same with another damper or build at that corner.

    A count stays where the new knob has as many clicks from the same end; of a knob that differs,
    or is not on record, nobody knows where it is. A count of a damper that is not in the shed
    stays: its name was a slip, or nothing is known to differ. What was read of the damper goes with
    it, but not in a session that ran: there a serial is put right, and what was read was read.
    """
    was, now = before.corner(corner), after.corner(corner)
    if not was.damper:
        return Swap((), "")
    other = was.damper.casefold() != (now.damper or "").casefold()
    builds = shed.build_at(before, corner), shed.build_at(after, corner)
    counts = [n for n in ADJUSTERS if was.value(n) is not None and _differs(n, *builds)]
    rebuilt = (was.build or "").casefold() != (now.build or "").casefold()
    read = []
    if (other or rebuilt) and not before.ran:
        read = [n for n in OF_THE_DAMPER if was.value(n) is not None]
    names = (*counts, *read)
    if not names:
        return Swap((), "")
    values = (f"{_label(n)} {_shown(before, corner, n, preferences)}" for n in names)
    reasons = [*_reasons(counts, builds[1])]
    if now.damper and builds[1] is None:
        reasons = [f"{now.damper} is not in the damper shed"]
    if read:
        reasons.append("read of the other one")
    why = "; ".join(reasons)
    told = f"{corner} cleared: {', '.join(values)} ({why})"
    return Swap(tuple(f"{corner}.{name}" for name in names), told)


def _differs(name: str, was: Build | None, now: Build | None) -> bool:
    if was is None:
        return False
    first, last = was.adjuster(name), now.adjuster(name) if now else None
    if first is None and last is None:
        return False
    return _counted(first) != _counted(last)


def _counted(knob: Adjuster | None) -> tuple[int, str] | None:
    return (knob.clicks, knob.counted_from) if knob else None


def _reasons(counts: list[str], now: Build | None) -> Iterator[str]:
    """What the new knobs are like, each said once."""
    knobs = [now.adjuster(name) if now else None for name in counts]
    said = (f"{k.clicks} from full {k.counted_from} now" if k else "no such knob" for k in knobs)
    yield from dict.fromkeys(said)


def _label(name: str) -> str:
    return ADJUSTER_WORDS.get(name) or CORNER_FIELDS[name].label.lower()


def _shown(session: Session, corner: str, name: str, preferences: Preferences) -> str:
    from trackside.telling import figures

    return figures.value(
        session.corner(corner).value(name), CORNER_FIELDS[name].quantity, preferences
    )


@dataclass(frozen=True)
class Rebuilt:
    """A damper that the next session would start with in a build that is not its newest."""

    corner: str
    damper: str
    carried: Build
    newest: Build


def rebuilt(session: Session, shed: Shed) -> list[Rebuilt]:
    """Each such damper of that session, in the order of the corners."""
    found = []
    for corner in CORNERS:
        carried, serial = shed.build_at(session, corner), session.corner(corner).damper
        newest = shed.build(serial) if serial else None
        if carried is not None and newest is not None and newest.version != carried.version:
            found.append(Rebuilt(corner, newest.damper, carried, newest))
    return found


def newest_builds(
    found: Sequence[Rebuilt], carried: Session, shed: Shed, preferences: Preferences
) -> tuple[dict[str, str | None], str]:
    """What the next session says of these dampers in their newest builds, over what it carries on:
    path to value, None for a count that says nothing there; and that in a line."""
    values: dict[str, str | None] = {}
    told = []
    for one in found:
        path = f"{one.corner}.build"
        after = carried.with_value(path, one.newest.version)
        swap = swapped(carried, after, one.corner, shed, preferences)
        values |= {path: one.newest.version, **dict.fromkeys(swap.cleared)}
        told.append(swap.told)
    return values, " · ".join(words for words in told if words)
