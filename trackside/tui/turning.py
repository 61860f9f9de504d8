"""A knob turned by so many clicks: where it stands then, or why it cannot be turned."""

from __future__ import annotations

from trackside.damper.clicks import turned
from trackside.records import Build, Reading


def position_after(
    path: str, value: Reading | str | None, build: Build | None, harder: float
) -> Reading | str:
    """The position at `path` (`FL.rebound_bleed`) after `harder` clicks, softer below zero; a
    sentence where the adjuster or its position is unknown, or where it stands at its stop."""
    corner, _, name = path.partition(".")
    adjuster = build.adjuster(name) if build else None
    if adjuster is None:
        return f"{corner} has no such adjuster on record: type the count, or enter the damper"
    now = value.si if isinstance(value, Reading) else None
    if now is None:
        return f"the position at {corner} is not known: type the count first"
    after = turned(now, harder * adjuster.step, adjuster.clicks, adjuster.counted_from)
    if not adjuster.problem(after):
        return Reading.of_si(after, "clicks")
    if 0 <= now <= adjuster.clicks:
        return f"{corner} {adjuster.words} stands at its stop"
    return adjuster.problem(now)
