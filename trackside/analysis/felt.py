"""What of a change a driver may feel: which part of the car went which way."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from trackside.analysis.changes import AXLES, Changes, ForceChange
from trackside.analysis.value_change import ValueChange
from trackside.records.fields import ADJUSTERS
from trackside.records.likeness import folded


@dataclass(frozen=True)
class Moved:
    """One part of the car that was changed.

    `part`: bump, rebound, a corner's field (`spring_rate`), or of the whole car bar, wing, bias;
    "" for what has no such name. `axle`: front, rear, or "" where it is not known. `corners`: those
    at which it was changed; none for an item of the whole car, whose name says where it is.
    `sense`: 1 for harder or more, −1 for softer or less, 0 where it is not known.
    `name`: the change's own label.
    """

    part: str
    axle: str
    corners: tuple[str, ...]
    sense: int
    name: str


def moved(changes: Changes) -> tuple[Moved, ...]:
    """The clearest force first, then the rest in run-sheet order; what is in the noise, and what
    has no known force, is not among them."""
    clear = [force for force in changes.forces if not force.in_noise]
    return (*_by_force(clear), *_by_value(changes.values))


def _by_force(forces: Iterable[ForceChange]) -> Iterator[Moved]:
    of_axle: dict[tuple[str, str], list[ForceChange]] = {}
    for force in forces:
        axle = next(name for name, corners in AXLES.items() if force.corner in corners)
        of_axle.setdefault((axle, force.direction), []).append(force)
    for (axle, direction), found in of_axle.items():
        senses = {force.sense for force in found}
        for force in found if len(senses) > 1 else found[:1]:
            alike = len(found) == 2 and len(senses) == 1
            corners = AXLES[axle] if alike else (force.corner,)
            yield Moved(direction, axle, corners, force.sense, direction)


def _by_value(values: Iterable[ValueChange]) -> Iterator[Moved]:
    of_axle: dict[tuple[str, str], list[ValueChange]] = {}
    items = []
    for value in values:
        name = value.name
        if not value.corner:
            items.append(value)
        elif name not in (*ADJUSTERS, "damper", "build", "gas_pressure"):
            axle = next(axle for axle, corners in AXLES.items() if value.corner in corners)
            of_axle.setdefault((axle, name), []).append(value)
    for (axle, name), found in of_axle.items():
        senses = {value.sense for value in found}
        corners = tuple(value.corner for value in found)
        if len(found) == 2 and len(senses) == 1:
            yield Moved(name, axle, corners, senses.pop(), found[0].label)
        else:  # one side, or each its own way: a matter of corner weights, not of an axle
            yield Moved("", axle, corners, 0, found[0].label)
    for value in items:
        yield _item(value)


_PARTS = (
    ("bias", re.compile(r"\bbias\b|\bbrake balance\b|\bbalance bar\b")),
    ("wing", re.compile(r"\bwing\b|\bflap\b|\bgurney\b|\bspoiler\b|\bsplitter\b")),
    ("bar", re.compile(r"\bbar\b|\barb\b|\banti.?roll\b|\broll.?bar\b")),
)
_AXLE = re.compile(r"\b(front|rear)\b")
_NUMBER = re.compile(r"-?\d+(?:[.,]\d+)?")
_GONE = re.compile(r"\b(off|none|out|disconnected|unhooked|removed)\b")
_ANGLE = re.compile(r"(-?\d+(?:[.,]\d+)?)\s*(?:°|deg)")
_SIZE = re.compile(r"(\d+(?:[.,]\d+)?)\s*(?:mm|in\b|\")")
_SHARE = re.compile(r"(\d+(?:[.,]\d+)?)\s*%")


def _item(value: ValueChange) -> Moved:
    """Bar, wing or bias by its name. Which way it went is taken from what was typed only where the
    words leave no doubt: a hole may be counted from either end."""
    name = folded(value.label)
    part = next((part for part, said in _PARTS if said.search(name)), "")
    axles = set(_AXLE.findall(name))
    axle = axles.pop() if len(axles) == 1 else ""
    was, now = (folded(v) if isinstance(v, str) else "" for v in (value.before, value.after))
    sense = 0
    if part == "bar":
        sense = _sense_of_bar(was, now)
    elif part == "wing":
        sense = _by_number(_ANGLE, was, now)
    elif part == "bias" and (axle or "front" in was + now or "rear" in was + now):
        axle = axle or ("front" if "front" in was + now else "rear")
        sense = _by_number(_SHARE, was, now) or _by_number(_NUMBER, was, now)
        sense, axle = (sense if axle == "front" else -sense), "front"
    return Moved(part, axle, (), sense, value.label)


def _sense_of_bar(was: str, now: str) -> int:
    gone = bool(_GONE.search(was)), bool(_GONE.search(now))
    if gone[0] != gone[1]:
        return 1 if gone[0] else -1
    sizes = _SIZE.findall(was), _SIZE.findall(now)
    rest = _SIZE.sub("", was), _SIZE.sub("", now)
    return _by_number(_SIZE, was, now) if len(sizes[0]) == 1 and rest[0] == rest[1] else 0


def _by_number(pattern: re.Pattern[str], was: str, now: str) -> int:
    """Which way the one number that fits went; 0 without one on each side."""
    found = [pattern.findall(text) for text in (was, now)]
    if any(len(numbers) != 1 for numbers in found):
        return 0
    a, b = (float(numbers[0].replace(",", ".")) for numbers in found)
    return (b > a) - (b < a)
