"""One side of an axle set like the other: what changes there, and what stays, in words."""

from __future__ import annotations

from trackside.crew.mirroring import Mirrored, told
from trackside.preferences import Preferences
from trackside.records.fields import CORNER_FIELDS
from trackside.reports import formatting

UNLIKE = "the two dampers are not built alike: the same clicks are not the same force"
MOST = 6
"""Values that a line names; how many more there are is said behind them."""


def changes_words(found: Mirrored, preferences: Preferences) -> list[str]:
    """Each value that changes: `rebound 12 → 9`, `spring – → 60.0 N/mm`."""
    return [
        f"{told(name)} {_shown(found, name, preferences)} → "
        f"{formatting.value(value, CORNER_FIELDS[name].quantity, preferences)}"
        for name, value in found.values.items()
    ]


def _shown(found: Mirrored, name: str, preferences: Preferences) -> str:
    was = found.overwrites.get(name)
    return formatting.value(was, CORNER_FIELDS[name].quantity, preferences)


def left_words(found: Mirrored) -> list[str]:
    """Each value that stays as it is, with why; and that the dampers are not built alike."""
    left = [f"{told(name)} left: {why}" for name, why in found.left.items()]
    return [*left, UNLIKE] if found.unlike else left


def _unchanged(found: Mirrored) -> str:
    if found.alike and not found.left:
        return f"{found.to} is like {found.corner} already"
    if found.alike or found.left:
        return f"nothing set at {found.to}"
    return f"{found.corner} has no settings yet: nothing set at {found.to}"


def done_words(found: Mirrored, preferences: Preferences, undo: str = "") -> str:
    """What was set: `FR set like FL: rebound 12 → 9, camber – → −3.00 °`."""
    changes = changes_words(found, preferences)
    if not changes:
        return " · ".join([_unchanged(found), *left_words(found)])
    more = f" and {len(changes) - MOST} more" if len(changes) > MOST else ""
    said = f"{found.reason}: {', '.join(changes[:MOST])}{more}"
    takes = f"{undo} takes {'it' if len(changes) == 1 else 'them'} back" if undo else ""
    return " · ".join(part for part in (said, *left_words(found), takes) if part)
