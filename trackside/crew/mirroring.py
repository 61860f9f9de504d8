"""One corner set like the one on the other side of its axle: its settings and targets, and never
what was read there.

A damper and its build stay where they are: a serial is in one place. Camber, toe and caster are
written down for each wheel with the same sign on both sides (toe-in is positive), so all of them go
across as they are. A count goes across from the same end.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from trackside.analysis.plausible_ranges import value_mark
from trackside.crew.copies import BUILD_COPIED
from trackside.crew.corrections import Corrections
from trackside.damper.clicks import as_counted, from_full_hard
from trackside.errors import BadInput
from trackside.logbook import Logbook, patch
from trackside.records import Build, Reading, Session, same, value_body
from trackside.records.fields import ADJUSTER_WORDS, ADJUSTERS, CORNER_FIELDS, OTHER_SIDE
from trackside.units import one_line

if TYPE_CHECKING:
    from trackside.analysis.shed import Shed

GOES_ACROSS: Final = tuple(
    name
    for name, field in CORNER_FIELDS.items()
    if field.carried and name not in ("damper", "build")
)
_DESIGN: Final = tuple(name for name in BUILD_COPIED if name not in ("adjusters", "family"))


@dataclass(frozen=True)
class Mirrored:
    """What setting the corner `to` like `corner` would do: the values that would be set, by field;
    those of them that stand there otherwise now; the values that stay as they are, each with
    why; whether the two dampers are known to be built unlike: then the same clicks are not the
    same force; and the fields that are the same on both sides already."""

    corner: str
    to: str
    values: Mapping[str, Reading | str]
    overwrites: Mapping[str, Reading | str]
    left: Mapping[str, str]
    unlike: bool
    alike: tuple[str, ...] = ()

    @property
    def by_path(self) -> dict[str, Reading | str]:
        """The values by their paths on the run sheet."""
        return {f"{self.to}.{name}": value for name, value in self.values.items()}

    @property
    def reason(self) -> str:
        """What the change is signed with."""
        return f"{self.to} set like {self.corner}"


def mirrored(session: Session, corner: str, shed: Shed) -> Mirrored:
    """What setting the other side of the axle like this corner would do. What is unknown here
    empties nothing there, and what cannot be right here does not go across."""
    to = OTHER_SIDE[corner]
    here, there = session.corner(corner), session.corner(to)
    builds = shed.build_at(session, corner), shed.build_at(session, to)
    values: dict[str, Reading | str] = {}
    left, alike = {}, []
    for name in GOES_ACROSS:
        value = here.value(name)
        if value is None:
            continue
        if name in ADJUSTERS:
            found = _count_there(name, value, *builds, to)
            if isinstance(found, str):
                left[name] = found
                continue
            value = found
        if value_mark(f"{corner}.{name}", value):
            left[name] = f"cannot be right at {corner}"
            continue
        if not same(there.value(name), value, CORNER_FIELDS[name].quantity):
            values[name] = value
        else:
            alike.append(name)
    stands = {name: was for name in values if (was := there.value(name)) is not None}
    unlike = any(name in ADJUSTERS for name in values) and _unlike(builds)
    return Mirrored(corner, to, values, stands, left, unlike, tuple(alike))


def _count_there(
    name: str, value: Reading | str, here: Build | None, there: Build | None, to: str
) -> Reading | str:
    """The count at the other corner for this one; a sentence where there is none."""
    knobs = [build.adjuster(name) if build else None for build in (here, there)]
    mine, theirs = knobs
    if not isinstance(value, Reading) or value.si is None:
        return f"“{one_line(value.typed if isinstance(value, Reading) else value)}” is no count"
    if here is None and there is None:
        return value  # nothing is known of either: as it was counted
    if there is None:
        return f"{to} has no damper on record: enter its serial"
    if mine is None or theirs is None:
        return f"{to if mine else OTHER_SIDE[to]} has no such adjuster on record"
    if mine.clicks != theirs.clicks:
        return f"{theirs.clicks} clicks there, {mine.clicks} here"
    if mine.counted_from == theirs.counted_from:
        return theirs.problem(value.si) or value
    hard = from_full_hard(value.si, mine.clicks, mine.counted_from)
    counted = as_counted(hard, theirs.clicks, theirs.counted_from)
    return theirs.problem(counted) or Reading.of_si(counted, "clicks")


def _unlike(builds: Iterable[Build | None]) -> bool:
    known = [build for build in builds if build is not None]
    return any(
        getattr(one, name) != getattr(other, name)
        for one, other in pairwise(known)
        for name in _DESIGN
    )


def put_across(
    logbook: Logbook, entity: str, found: Mirrored, *, instead: bool = False, why: str = ""
) -> None:
    """Write it into that session, in one step of undo. BadInput where values stand there already
    and these are not to replace them, or where they would be replaced after the event without a
    reason."""
    session = logbook.session_record(entity)
    if found.overwrites and not instead:
        names = ", ".join(told(name) for name in found.overwrites)
        raise BadInput(
            f"{found.to} has other values already: {names}", "--instead puts these in their place"
        )
    over = Corrections(logbook, date.today).is_over(session.event)
    if found.overwrites and not why.strip() and over:
        raise BadInput("a correction after the event needs its reason", "give it with --reason")
    body = {path: value_body(value) for path, value in found.by_path.items()}
    reason = ": ".join(part for part in (found.reason, one_line(why)) if part)
    if body:
        logbook.write(patch("session", entity, body), reason=reason)


def told(name: str) -> str:
    """The field as spoken."""
    return ADJUSTER_WORDS.get(name) or CORNER_FIELDS[name].label.lower()
