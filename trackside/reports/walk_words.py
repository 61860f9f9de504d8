"""The walk round the car in words: how far it is, and what it left empty."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from trackside.crew.walk_round import empty
from trackside.records import Session
from trackside.records.fields import CORNER_NAMES

_PLACES = {
    "tread_inner": ("inner", "inner tread"),
    "tread_middle": ("middle", "middle tread"),
    "tread_outer": ("outer", "outer tread"),
    "hot_pressure": ("hot", "hot pressure"),
    "body_temperature": ("body", "damper body"),
    "gas_pressure": ("gas", "gas pressure"),
    "gas_temperature": ("gas at", "gas temperature"),
}
"""Field of the walk → the word on the sign, and what it is at length."""


def sign(path: str) -> str:
    """Wheel and place, as short as they are called: `FL MIDDLE`."""
    corner, _, name = path.partition(".")
    return f"{corner} {_PLACES[name][0].upper()}"


def where(path: str, session: Session, walk: Sequence[str]) -> str:
    """`front left, middle tread · 2 of 16 · 3 read`"""
    corner, _, name = path.partition(".")
    read = len(walk) - len(empty(session, walk))
    at = f"{walk.index(path) + 1} of {len(walk)}"
    return f"{CORNER_NAMES[corner]}, {_PLACES[name][1]} · {at} · {read} read"


def passed_said(paths: Sequence[str]) -> str:
    """That these were filled before, and so were passed; empty where none was."""
    return f"passed, filled already: {_listed(paths, ())}" if paths else ""


def walked(session: Session, walk: Sequence[str]) -> str:
    """What the walk read, and what is still empty."""
    missing = empty(session, walk)
    if not missing:
        return f"walk-round over: all {len(walk)} values read"
    read = len(walk) - len(missing)
    listed = _listed(missing, walk)
    return f"walk-round over: {read} of {len(walk)} values read, still empty: {listed}"


def _listed(paths: Iterable[str], walk: Sequence[str]) -> str:
    """`FL inner, hot; RR all`: all where a corner has no other value on the walk, and several."""
    by_corner: dict[str, list[str]] = {}
    for path in paths:
        corner, _, name = path.partition(".")
        by_corner.setdefault(corner, []).append(_PLACES[name][0])
    at = Counter(path.partition(".")[0] for path in walk)
    told = {
        corner: ["all"] if 1 < at[corner] == len(names) else names
        for corner, names in by_corner.items()
    }
    return "; ".join(f"{corner} {', '.join(names)}" for corner, names in told.items())
