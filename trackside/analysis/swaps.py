"""Another damper, or another build of it, at a corner: each count with its counting end."""

from __future__ import annotations

from collections.abc import Sequence

from trackside.analysis.gauges import same_hardware
from trackside.analysis.shed import Shed
from trackside.analysis.value_change import ClickChange, End, UnitChange, Value, ValueChange
from trackside.records import Build, CornerSheet, Session, same
from trackside.records.fields import ADJUSTERS


def is_swapped(before: Session, after: Session, corner: str, shed: Shed) -> bool:
    """Whether another damper, or another build of it, is at that corner, both being known."""
    was, now = before.corner(corner), after.corner(corner)
    if not was.damper or not now.damper:
        return False
    if was.damper.casefold() != now.damper.casefold():
        return True
    builds = [shed.build_at(session, corner) for session in (before, after)]
    if builds[0] is not None and builds[1] is not None:
        return builds[0].version.casefold() != builds[1].version.casefold()
    return bool(was.build and now.build) and not same_hardware(was, now)


def swap(before: Session, after: Session, corner: str, shed: Shed) -> dict[str, ValueChange]:
    """By path, what another damper or build changes: the damper with each count and its end. The
    counts of another damper are said with it; of another build, where they differ."""
    was, now = before.corner(corner), after.corner(corner)
    then, here = (shed.build_at(session, corner) for session in (before, after))
    is_other = (was.damper or "").casefold() != (now.damper or "").casefold()
    if not is_other and not is_swapped(before, after, corner, shed):
        return {}
    head = f"{corner}.damper" if is_other else f"{corner}.build"
    counts = []
    for name in ADJUSTERS:
        values = was.value(name), now.value(name)
        ends = _end(then, name), _end(here, name)
        absent = [
            value is None and end not in ("hard", "soft")
            for value, end in zip(values, ends, strict=True)
        ]
        if all(absent) or (not is_other and _counts_alike(values, ends, absent)):
            continue
        counts.append(ClickChange(f"{corner}.{name}", *values, within=head, ends=ends))
    versions = _version(was, then), _version(now, here)
    names = (was.damper, now.damper) if is_other else versions
    found: dict[str, ValueChange] = {count.path: count for count in counts}
    found[head] = UnitChange(head, *names, builds=versions, counts=tuple(counts))
    if is_other and (was.build or "") != (now.build or ""):
        path = f"{corner}.build"
        found[path] = UnitChange(
            path, was.build, now.build, within=head, builds=(was.build, now.build)
        )
    return found


def _version(sheet: CornerSheet, build: Build | None) -> str | None:
    """The build's name, as entered, or as it is known from the shed."""
    return sheet.build or (build.version if build else None)


def _end(build: Build | None, name: str) -> End:
    if build is None:
        return "unknown"
    knob = build.adjuster(name)
    return knob.counted_from if knob else "no knob"


def _counts_alike(
    values: tuple[Value, Value], ends: tuple[End, End], absent: Sequence[bool]
) -> bool:
    """Whether both builds stand at the same count of the same end; two knobs whose counts nobody
    entered do."""
    if values == (None, None):
        return not any(absent)
    return ends[0] == ends[1] and same(*values, "clicks")
