"""A wanted curve as a person types it: `rebound 25 mm/s same, 100 +5 %; bump 50 640 N`."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from trackside.analysis.estimate import DIRECTIONS, Setting
from trackside.analysis.range_watch import NEAR, OFTEN, RUNS, range_watch, wanted_mid_range
from trackside.analysis.revalve import half_open, set_at
from trackside.analysis.shed import Shed
from trackside.analysis.used import last_corners
from trackside.analysis.valve_target import Target, Wish, like_another, target_of
from trackside.errors import BadInput, BadNumber, NoEstimate, UnknownRecord
from trackside.logbook import Logbook
from trackside.preferences import Preferences
from trackside.records import Build
from trackside.units import clean, one_line, read, read_number, show

HOW: Final = (
    "write rod speed and force, like rebound 25 mm/s same, 100 +5 %, 300 +15 %; bump 50 640 N"
)
_NUMBER = r"\d+(?:[.,]\d+)?"
_WISH: Final = re.compile(
    rf"(?:(?P<way>bump|rebound|reb)\b\s*:?\s*)?(?P<speed>{_NUMBER})\s*(?P<unit>[a-z]+/s|ips)?"
    rf"\s*(?:[:=]\s*|\s)(?P<what>.+)",
    re.I,
)
_SHARE: Final = re.compile(rf"(?P<sign>[+-])\s*(?P<size>{_NUMBER})\s*%?")
_PARTED: Final = re.compile(r"\s*(?:;|\n|,(?!\d)|(?<!\d),)\s*")
_FASTEST: Final = 5.0
"""m/s: above this a rod speed is a typo of the unit."""
_MOST: Final = 3.0
"""A force that is so many times today's is a typo."""


def read_wishes(text: str, preferences: Preferences) -> list[Wish]:
    """What `text` asks for: speeds and forces in the crew's units unless it names others. A
    direction holds until another is named. BadInput says what cannot be read."""
    found, way = list[Wish](), ""
    plain = clean(text).replace("−", "-").replace("–", "-")
    for piece in filter(None, (one.strip() for one in _PARTED.split(plain))):
        match = _WISH.fullmatch(piece)
        if match is None:
            raise BadInput(f"“{one_line(piece)}” is no speed and force", HOW)
        way = {"reb": "rebound"}.get((match["way"] or "").casefold(), match["way"] or way)
        way = way.casefold()
        if not way:
            raise BadInput("it is not said whether that is bump or rebound", HOW)
        found.append(_wish(way, match, piece, preferences))
    if not found:
        raise BadInput("no force is asked for", HOW)
    return found


def _wish(way: str, match: re.Match[str], piece: str, preferences: Preferences) -> Wish:
    said = f"“{one_line(piece)}”"
    try:
        typed = f"{match['speed']} {match['unit'] or ''}".strip()
        speed = read(typed, "speed", preferences.unit("speed")).si
        if not 0.0 < speed <= _FASTEST:
            raise BadInput(f"{said}: no rod moves so", "give a rod speed above zero")
        what = match["what"].strip()
        if what.casefold() in ("same", "as now", "as it is"):
            return Wish(way, speed)
        if share := _SHARE.fullmatch(what):
            size = read_number(share["size"]) / 100.0
            change = -size if share["sign"] == "-" else size
            if not -1.0 < change < _MOST:
                raise BadInput(f"{said}: no valve does that", "ask for less of a change")
            return Wish(way, speed, share=change)
        if what.endswith("%"):
            raise BadInput(f"{said}: more or less than now?", "write +15 % or -10 %")
        force = read(what, "force", preferences.unit("force")).si
    except BadNumber as error:
        raise BadInput(f"{said}: {error.cause}", HOW) from None
    if force <= 0.0:
        raise BadInput(f"{said}: a force is above zero", "each direction has its own: say which")
    return Wish(way, speed, force)


def wished_of(
    logbook: Logbook,
    shed: Shed,
    serial: str,
    wishes: Sequence[Wish],
    preferences: Preferences,
    position: float | None = None,
    ring: float | None = None,
) -> list[Target]:
    """Those wishes against the damper's curve of today, a target for each direction, rebound and
    bump apart. Today is at `position` and `ring` as counted, else as it last ran, else half open.
    BadInput where the force would fall with speed; NoEstimate says what is missing."""
    build = shed.build(serial)
    if build is None:
        raise UnknownRecord(f"“{one_line(serial)}” has no build in the shed", "enter it first")
    targets = []
    for direction in DIRECTIONS:
        if any(wish.direction == direction for wish in wishes):
            at = today(logbook, build, direction, position, ring)
            target = target_of(wishes, at, shed)
            _must_rise(target, preferences)
            targets.append(target)
    return targets


def today(
    logbook: Logbook, build: Build, direction: str, position: float | None, ring: float | None
) -> Setting:
    """How the damper is set: at those counts, else as it last ran, else in the middle."""
    knob, preload = build.bleed_adjuster(direction), build.adjuster(f"{direction}_preload")
    last = next(iter(last_corners(logbook, build.damper)), None)

    def ran(acts_on: str) -> float | None:
        value = last.value(acts_on) if last is not None else None
        count = getattr(value, "si", None)
        return None if count is None else float(count)

    if knob and position is None:
        position = ran(knob.acts_on)
        if position is None or knob.problem(position):
            position = half_open(build, direction)
    if preload and ring is None:
        ring = ran(preload.acts_on)
        if ring is None or preload.problem(ring):
            ring = 0.0 if preload.counted_from == "hard" else float(preload.clicks)
    return set_at(build, direction, position, ring)


def wishes_like(
    logbook: Logbook, shed: Shed, other: str, direction: str | None, preferences: Preferences
) -> list[Wish]:
    """Another damper's curve at the reference speeds, as that one last ran. `SERIAL@12` is at that
    position."""
    serial, _, count = other.partition("@")
    build = shed.build(serial.strip())
    if build is None:
        raise UnknownRecord(f"“{one_line(serial)}” has no build in the shed", "name another damper")
    position = read_number(count) if count.strip() else None
    found, reasons = list[Wish](), list[NoEstimate]()
    for way in DIRECTIONS if direction is None else (direction,):
        at = today(logbook, build, way, position, None)
        try:
            found += like_another(replace(at, corner=""), preferences.reference_speeds, shed)
        except NoEstimate as error:
            reasons.append(error)
    if not found:
        raise reasons[0]
    return found


def wishes_mid_range(
    logbook: Logbook, shed: Shed, serial: str, speeds: Sequence[float]
) -> list[Wish]:
    """The curve of a damper where an adjuster of it lives at an end of its travel: what a build is
    to make mid-range. BadInput where none does; NoEstimate where nobody knows its curve."""
    build = shed.build(serial)
    if build is None:
        raise UnknownRecord(f"“{one_line(serial)}” has no build in the shed", "enter it first")
    ran = last_corners(logbook, build.damper)
    watched = range_watch(build, ran)
    if not watched:
        raise BadInput(
            f"no adjuster of {build.damper} lives at an end of its travel",
            f"one does that is within {NEAR:g} clicks of it in {OFTEN} of the last {RUNS} runs; "
            "say what is wanted",
        )
    bleeds = [one for one in watched if not one.adjuster.acts_on.endswith("_preload")]
    if not bleeds:
        raise BadInput(
            f"the {watched[0].adjuster.words} adjuster lives at an end, and a ring is not searched",
            "a spacer moves it: say what is wanted",
        )
    found: dict[tuple[str, float], Wish] = {}
    for one in bleeds:
        for wishes in wanted_mid_range(one, ran[0], shed, speeds).values():
            found |= {(wish.direction, wish.speed): wish for wish in wishes}
    if not found:
        raise NoEstimate(
            f"nobody knows the curve of {build.damper} where its {bleeds[0].adjuster.words} "
            "adjuster lives",
            "a dyno sheet, a shop rule or its parts would say",
        )
    return list(found.values())


def _must_rise(target: Target, preferences: Preferences) -> None:
    at = target.falls_after
    if at is None:
        return
    speeds = [_said(v, "speed", preferences) for v in target.speed[at : at + 2]]
    forces = [_said(f, "force", preferences) for f in target.force[at : at + 2]]
    if speeds[0] == speeds[1]:
        raise BadInput(f"{target.direction} at {speeds[0]} is said twice", "say each speed once")
    raise BadInput(
        f"the wanted {target.direction} force falls with speed: {forces[0]} at {speeds[0]}, "
        f"{forces[1]} at {speeds[1]}",
        "no damper does that: ask for a force that rises",
    )


def _said(value: float, quantity: str, preferences: Preferences) -> str:
    return show(float(value), quantity, preferences.unit(quantity), with_unit=True)
