"""A knob turned by so many clicks: where it stands then, or why it cannot be turned; and whether
the two sides of an axle stand alike."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from trackside.damper.clicks import from_full_hard, turned
from trackside.records import Adjuster, Build, Reading, Session

if TYPE_CHECKING:
    from trackside.analysis.shed import Shed


def positions_after(
    session: Session, shed: Shed | None, paths: Iterable[str], harder: float
) -> tuple[dict[str, Reading], dict[str, str]]:
    """The positions at these paths after `harder` clicks, softer below zero; and a sentence for
    each that cannot be turned."""
    values: dict[str, Reading] = {}
    troubles: dict[str, str] = {}
    for path in paths:
        build = shed.build_at(session, path[:2]) if shed else None
        after = _position_after(path, session.value(path), build, harder)
        if isinstance(after, str):
            troubles[path] = after
        else:
            values[path] = after
    return values, troubles


def _position_after(
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
        return f"{corner} {adjuster.words} is at its stop"
    return adjuster.problem(now)


Stand = tuple[str, float | None, Adjuster | None]
"""A corner, the count there, and the knob that counts it."""


def uneven(here: Stand, beside: Stand) -> str:
    """That two knobs of as many clicks stand differently, each from the end it counts from when
    that is the same, else both from full hard; empty when they do not, or it is not known."""
    corner, count, knob = here
    other, count_beside, knob_beside = beside
    if count is None or count_beside is None or knob is None or knob_beside is None:
        return ""
    if knob.clicks != knob_beside.clicks:
        return ""
    end = knob.counted_from
    if end != knob_beside.counted_from:
        end = "hard"
        count = from_full_hard(count, knob.clicks, knob.counted_from)
        count_beside = from_full_hard(count_beside, knob.clicks, knob_beside.counted_from)
    apart = round(abs(count - count_beside), 3)  # tenths of a turn leave a rest in the last digits
    if not apart:
        return ""
    clicks = f"{apart:g} click{'' if apart == 1 else 's'}"
    return f"{corner} {count:g}, {other} {count_beside:g} from {end}: uneven by {clicks}"
