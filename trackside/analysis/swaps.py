"""Another damper, or another build of it, at a corner: each count with its counting end."""

from __future__ import annotations

from trackside.analysis.gauges import same_hardware
from trackside.analysis.shed import Shed
from trackside.analysis.value_change import ValueChange
from trackside.records import Build, CornerSheet, Reading, Session, in_words
from trackside.records.fields import ADJUSTER_WORDS, ADJUSTERS


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
    found, counts = {}, []
    head = f"{corner}.damper" if is_other else f"{corner}.build"
    for name in ADJUSTERS:
        ends = _counted(was.value(name), then, name), _counted(now.value(name), here, name)
        if ends == ("", "") or (not is_other and ends[0] == ends[1]):
            continue
        path, words = f"{corner}.{name}", ADJUSTER_WORDS[name]
        how = f"{ends[0] or 'none'} to {ends[1] or 'none'}"
        counts.append(f"{words} {how}")
        found[path] = ValueChange(path, words, ends[0], ends[1], how, within=head)
    units = _unit_named(was, then, is_other), _unit_named(now, here, is_other)
    how = f"{units[0]} to {units[1]}" + "".join(f"; {count}" for count in counts)
    found[head] = ValueChange(head, "damper" if is_other else "build", *units, how)
    if is_other and (was.build or "") != (now.build or ""):
        build = was.build or "unknown", now.build or "unknown"
        path = f"{corner}.build"
        found[path] = ValueChange(path, "build", *build, f"{build[0]} to {build[1]}", within=head)
    return found


def _unit_named(sheet: CornerSheet, build: Build | None, is_other: bool) -> str:
    version = sheet.build or (build.version if build else "")
    if not is_other:
        return version or "unknown"
    return " build ".join(part for part in (sheet.damper or "unknown", version) if part)


def _counted(value: Reading | str | None, build: Build | None, name: str) -> str:
    """`8 from full hard`; `not entered` without a count; that the end is not known where the build
    is not; empty for a knob that neither has a count nor is there."""
    knob = build.adjuster(name) if build else None
    if value is None:
        return "not entered" if knob else ""
    told = in_words(value, "clicks")
    if build is None:
        return f"{told} from an end that is not known"
    return f"{told} from full {knob.counted_from}" if knob else f"{told}, no such knob on record"
