"""From a build's parts, as measured at the strip-down, to the curve they make."""

from __future__ import annotations

from functools import lru_cache
from math import pi

from trackside.damper.parts import DISCHARGE, Needle, PartsCurve, ValveParts
from trackside.damper.stack import Stack
from trackside.errors import BadNumber, NoEstimate
from trackside.records import Build, Parts

_NEEDED = {
    "clamp": "the clamp disc's diameter",
    "seat": "the seat's diameter",
    "hub_to_seat": "the seat step",
    "spacer": "the spacer (0 without one)",
    "port_count": "how many ports",
    "port_diameter": "the ports' diameter",
    "slot_count": "the bleed disc's slots (0 without)",
    "bleed_hole": "the bleed hole (0 without one)",
}
_SLOT = {"slot_width": "the slots' width", "slot_depth": "the slots' depth"}
_NEEDLE = {
    "needle_seat": "the needle's seat",
    "needle_angle": "the needle's half angle",
    "needle_lift": "the needle's lift per click",
}


@lru_cache(maxsize=256)
def parts_curve(build: Build, direction: str) -> PartsCurve:
    """The curve of that direction. NoEstimate names every figure that is missing, or what does
    not fit together."""
    parts = build.parts(direction) or Parts()
    missing = _missing(build, direction, parts)
    if missing:
        raise NoEstimate(
            f"the {direction} parts of {build.damper} build {build.version} lack "
            f"{', '.join(missing)}",
            "measure them at the next strip-down and enter them with the build",
        )
    try:
        curve = PartsCurve(_valve(build, direction, parts))
        curve.path(0.0)
    except BadNumber as error:
        where = f"{direction} parts of {build.damper} build {build.version}"
        raise NoEstimate(f"{where}: {error.cause}", error.remedy) from error
    return curve


def _missing(build: Build, direction: str, parts: Parts) -> list[str]:
    wanted = dict(_NEEDED)
    if parts.slot_count:
        wanted |= _SLOT
    if build.bleed_adjuster(direction):
        wanted |= _NEEDLE
    missing = [words for name, words in wanted.items() if getattr(parts, name) is None]
    if not (build.piston_diameter and build.rod_diameter):
        missing.insert(0, "the piston's and rod's diameters")
    if build.discs(direction) is None:
        missing.append(f"a {direction} stack written like 27×0.15 ×2, 21×0.10")
    return missing


def _valve(build: Build, direction: str, parts: Parts) -> ValveParts:
    """Where no recess is given the oil presses midway between clamp and seat: ports lie there."""

    def known(name: str) -> float:
        return float(getattr(parts, name))

    seat, inner = known("seat"), parts.recess or known("clamp")
    bleed = pi / 4 * known("bleed_hole") ** 2
    if parts.slot_count:
        bleed += parts.slot_count * known("slot_width") * known("slot_depth")
    needle = None
    if build.bleed_adjuster(direction):
        needle = Needle(known("needle_seat"), known("needle_angle"), known("needle_lift"))
    piston, rod = float(build.piston_diameter or 0), float(build.rod_diameter or 0)
    return ValveParts(
        piston_area=pi / 4 * (piston**2 - rod**2),
        stack=Stack(build.discs(direction) or (), known("clamp")),
        seat=seat,
        preload=known("hub_to_seat") - known("spacer"),
        port_area=known("port_count") * pi / 4 * known("port_diameter") ** 2,
        pressed_area=pi / 4 * (seat**2 - parts.recess**2) if parts.recess else None,
        load=(seat + inner) / 2,
        bleed_area=bleed,
        needle=needle,
        ring_lift=parts.ring_lift if build.adjuster(f"{direction}_preload") else None,
        discharge=parts.discharge or DISCHARGE,
    )
