"""An answer of the search as a strip-down to come: what its build has, and what comes out of the
box for it."""

from __future__ import annotations

from typing import Any

from trackside.analysis.valve_answer import Answer, Side
from trackside.crew.strip_downs import StripDowns
from trackside.logbook import Write
from trackside.records.discs import in_mm, stack_text
from trackside.records.reading import Reading


def planned_valve(jobs: StripDowns, serial: str, answer: Answer, why: str, goes_in: str) -> Write:
    """A job that plans that build. BadInput where the damper has work left on another."""
    parts: dict[str, Any] = {}
    for side in answer.sides:
        parts |= planned_side(side)
    if goes_in:
        parts["goes_in"] = goes_in
    return jobs.planned(serial, why, parts=parts)


def planned_side(side: Side) -> dict[str, Any]:
    """Path → value of what one direction of the planned build has otherwise than today's."""
    direction, valve = side.target.direction, side.valve
    build = side.target.today.setting.build
    was = build.parts(direction)
    found: dict[str, Any] = {}
    if valve.stack.changed:
        found[f"{direction}_stack"] = stack_text(valve.stack.discs)
    count, width, depth = valve.slots
    sizes = {"clamp": valve.clamp, "spacer": valve.spacer}
    if count:
        sizes |= {"slot_width": width, "slot_depth": depth}
    for name, size in sizes.items():
        if was is None or abs((getattr(was, name) or 0.0) - size) > 5e-8:
            found[f"{direction}_parts.{name}"] = _typed(size)
    if was is None or (was.slot_count or 0) != count:
        found[f"{direction}_parts.slot_count"] = count
    return found


def _typed(size: float) -> dict[str, Any]:
    return Reading(typed=in_mm(size), unit="mm", si=size).body()
