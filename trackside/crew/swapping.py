"""What no longer holds at a corner once another damper, or another build of it, is there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from trackside.records.fields import ADJUSTERS, CORNERS, OF_THE_DAMPER

if TYPE_CHECKING:
    from trackside.analysis.shed import Shed
    from trackside.records import Adjuster, Build, Reading, Session


@dataclass(frozen=True)
class Swap:
    """What is unknown now at `corner`: the value that was there, by its field; the counts, each
    with the adjuster that is there now (None: no such adjuster), and what was read of the other
    damper. `damper` is the one that is there now, empty for none; `known` says whether its build is
    in the shed, `before` the build of this very damper that was there, empty for another damper."""

    corner: str
    damper: str
    known: bool
    before: str = ""
    counts: Mapping[str, Adjuster | None] = field(default_factory=dict)
    read: tuple[str, ...] = ()
    values: Mapping[str, Reading | str | None] = field(default_factory=dict)

    @property
    def cleared(self) -> tuple[str, ...]:
        """The paths that are unknown now."""
        return tuple(f"{self.corner}.{name}" for name in self.values)


def swapped(before: Session, after: Session, corner: str, shed: Shed) -> Swap:
    """From one session to the same with another damper or build at that corner.

    A count stays where the new knob has as many clicks from the same end; of a knob that differs,
    or is not on record, nobody knows where it is. A count of a damper that is not in the shed
    stays: its name was a slip, or nothing is known to differ. What was read of the damper goes with
    it, but not in a session that ran: there a serial is put right, and what was read was read.
    """
    was, now = before.corner(corner), after.corner(corner)
    builds = shed.build_at(before, corner), shed.build_at(after, corner)
    swap = Swap(corner, now.damper or "", builds[1] is not None)
    if not was.damper:
        return swap
    other = was.damper.casefold() != (now.damper or "").casefold()
    rebuilt = (was.build or "").casefold() != (now.build or "").casefold()
    counts = [n for n in ADJUSTERS if was.value(n) is not None and _differs(n, *builds)]
    read = OF_THE_DAMPER if (other or rebuilt) and not before.ran else ()
    read = tuple(name for name in read if was.value(name) is not None)
    return replace(
        swap,
        before="" if other else was.build or "",
        counts={name: builds[1].adjuster(name) if builds[1] else None for name in counts},
        read=read,
        values={name: was.value(name) for name in (*counts, *read)},
    )


def _differs(name: str, was: Build | None, now: Build | None) -> bool:
    if was is None:
        return False
    first, last = was.adjuster(name), now.adjuster(name) if now else None
    if first is None and last is None:
        return False
    return _counted(first) != _counted(last)


def _counted(knob: Adjuster | None) -> tuple[int, str] | None:
    return (knob.clicks, knob.counted_from) if knob else None


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
    found: Sequence[Rebuilt], carried: Session, shed: Shed
) -> tuple[dict[str, str | None], list[Swap]]:
    """What the next session says of these dampers in their newest builds, over what it carries on:
    path to value, None for a count that says nothing there; and the swaps that clear something."""
    values: dict[str, str | None] = {}
    swaps = []
    for one in found:
        path = f"{one.corner}.build"
        after = carried.with_value(path, one.newest.version)
        swap = swapped(carried, after, one.corner, shed)
        values |= {path: one.newest.version, **dict.fromkeys(swap.cleared)}
        swaps.append(swap)
    return values, [swap for swap in swaps if swap.cleared]
