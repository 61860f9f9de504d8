"""Hints of what a driver may feel after a change. Common practice, no source: which way the car
tends to go, no promise. Where a simple model speaks against what crews say, both views are given.

The model is a car's body on two springs and dampers with straight lines (a half car): it says which
tyres carry more load in the first moment of braking or throttle, and which less. It knows no aero
forces and no tyre. `tests/reports/test_hints.py` checks each of its views.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from trackside.analysis.felt import Moved
from trackside.records.fields import CORNER_NAMES

_MODEL = "A simple model says otherwise"

_DAMPING: dict[tuple[str, str, int], str] = {
    ("front", "bump", 1): "nose dives slower under braking; harsher over kerbs at the front",
    ("front", "bump", -1): "nose dives quicker under braking; calmer over kerbs at the front",
    ("front", "rebound", 1): "nose stays down longer when you open the throttle; over bumps the "
    "front may skip. Two views: crews say less understeer at first. " + _MODEL + ": less load on "
    "the front tyres at first, more a moment later",
    ("front", "rebound", -1): "nose comes up sooner when you open the throttle; the front follows "
    "bumps better",
    ("rear", "bump", 1): "tail squats slower on the throttle. Two views: crews say a wheel spins "
    "more easily. " + _MODEL + ": more load on the rear tyres at first",
    ("rear", "bump", -1): "tail squats quicker on the throttle; calmer over bumps at the rear",
    ("rear", "rebound", 1): "tail rises slower under braking; over bumps the rear may skip. Two "
    "views: crews say calmer on entry. " + _MODEL + ": less load on the rear tyres at first, more "
    "a moment later",
    ("rear", "rebound", -1): "tail rises sooner under braking; the rear follows bumps better",
}
_STIFFER_FRONT = "the front takes more of the load that moves across in a turn: towards understeer"
_SOFTER_FRONT = "the front takes less of the load that moves across in a turn: towards oversteer"
_STIFFER_REAR = "the rear takes more of the load that moves across in a turn: towards oversteer"
_SOFTER_REAR = "the rear takes less of the load that moves across in a turn: towards understeer"
_OTHER: dict[tuple[str, str, int], str] = {
    ("spring_rate", "front", 1): "less dive, harsher over bumps; " + _STIFFER_FRONT,
    ("spring_rate", "front", -1): "more dive, calmer over bumps; " + _SOFTER_FRONT,
    ("spring_rate", "rear", 1): "less squat, harsher over bumps; " + _STIFFER_REAR,
    ("spring_rate", "rear", -1): "more squat, calmer over bumps; " + _SOFTER_REAR,
    ("bar", "front", 1): _STIFFER_FRONT,
    ("bar", "front", -1): _SOFTER_FRONT,
    ("bar", "rear", 1): _STIFFER_REAR,
    ("bar", "rear", -1): _SOFTER_REAR,
    ("bar", "front", 0): "stiffer is towards understeer in a turn, softer towards oversteer",
    ("bar", "rear", 0): "stiffer is towards oversteer in a turn, softer towards understeer",
    ("wing", "front", 1): "more front grip in fast turns, and a little more drag",
    ("wing", "front", -1): "less front grip in fast turns, and a little less drag",
    ("wing", "rear", 1): "more rear grip in fast turns, and more drag on the straight",
    ("wing", "rear", -1): "less rear grip in fast turns, and less drag on the straight",
    ("wing", "front", 0): "more wing is more front grip in fast turns, less wing less",
    ("wing", "rear", 0): "more wing is more rear grip in fast turns, less wing less",
    ("bias", "front", 1): "the front wheels lock sooner; the rear is calmer under braking",
    ("bias", "front", -1): "the rear wheels lock sooner; the car turns more under braking",
    ("bias", "", 0): "towards the front the front wheels lock sooner, towards the rear the rear "
    "wheels do",
    ("toe", "front", 1): "calmer on the straight, slower into the turn",
    ("toe", "front", -1): "quicker into the turn, more nervous on the straight",
    ("toe", "rear", 1): "rear calmer under braking and on the throttle",
    ("toe", "rear", -1): "rear turns more readily, less calm under braking and on the throttle",
}
_HARDER = {1: "harder", -1: "softer"}
_MORE = {
    "spring_rate": {1: "stiffer", -1: "softer"},
    "bar": {1: "stiffer", -1: "softer", 0: "changed"},
    "wing": {1: "more", -1: "less", 0: "changed"},
    "bias": {1: "further to the front", -1: "further to the rear", 0: "changed"},
    "toe": {1: "more in", -1: "more out"},
}


def hints(moved: Iterable[Moved]) -> Iterator[str]:
    """A sentence for each change that has a hint, and one that names those without."""
    without = []
    for one in moved:
        if hint := _hint(one):
            yield hint
        else:
            without.append(f"{where_words(one)} {one.name}".strip())
    if without:
        yield f"No hint for {', '.join(dict.fromkeys(without))}."


def where_words(one: Moved) -> str:
    """The corner, the axle where both of it were changed, or nothing."""
    return (
        CORNER_NAMES[one.corners[0]] if len(one.corners) == 1 else one.axle if one.corners else ""
    )


def _hint(one: Moved) -> str:
    if text := _DAMPING.get((one.axle, one.part, one.sense)):
        return f"{where_words(one)} {one.part} {_HARDER[one.sense]}: {text}"
    axle = "" if one.part == "bias" and one.sense == 0 else one.axle
    text = _OTHER.get((one.part, axle, one.sense), "")
    label = f"{where_words(one)} {one.name}".strip()
    return f"{label} {_MORE[one.part][one.sense]}: {text}" if text else ""
