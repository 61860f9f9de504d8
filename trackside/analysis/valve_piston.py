"""One direction of a piston as it is today, and what the box can make of it."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from math import pi
from typing import Final

import numpy as np

from trackside.analysis.estimate import Floats, Ground, Setting, ground
from trackside.analysis.parts import parts_curve
from trackside.analysis.shed import Shed
from trackside.analysis.valve_answer import Valve
from trackside.analysis.valve_stock import (
    NO_SLOTS,
    Disc,
    Part,
    Slots,
    Stock,
    bleed_part,
    clamp_part,
    disc_part,
    gauged,
    spacer_part,
)
from trackside.analysis.valve_target import Target
from trackside.damper.clicks import as_counted
from trackside.damper.flow import flow_coefficient, force_at
from trackside.damper.parts import PartsCurve
from trackside.damper.valve_scan import Scan
from trackside.damper.valve_tables import SeatTables

MID_RANGE: Final = (0.25, 0.75)
"""The middle half of an adjuster's travel, as shares of it: our own, no source."""
_POSITIONS: Final = 60
"""Positions that are scanned; an adjuster with more is scanned at whole clicks."""


@dataclass(frozen=True)
class Piston:
    """One direction as it is today, and what it is scanned with."""

    target: Target
    shed: Shed
    now: PartsCurve
    base: Ground | None
    ring: float | None
    hub: float
    clamp: float
    recess: float | None
    spacer: float
    slots: Slots
    hole_area: float
    positions: Floats
    wanted: Floats
    widest: float
    """Diameter of its widest disc: whether the piston has room for a wider one is not on record."""
    discs: tuple[Disc, ...]

    @property
    def spacers(self) -> tuple[float, ...]:
        """Its spacer, where it has one."""
        return (self.spacer,) if self.spacer else ()

    @property
    def at(self) -> Setting:
        """The setting that the target was said against."""
        return self.target.today.setting


def piston_of(
    target: Target, shed: Shed, hold_position: bool = False, mid_range: bool = False
) -> Piston:
    """The direction of that target; its adjuster stays where it is, or in the middle half of its
    travel, or goes anywhere. NoEstimate names the parts that are not on record."""
    at = target.today.setting
    build, direction = at.build, at.direction
    now = parts_curve(build, direction)
    parts = build.parts(direction)
    assert parts is not None
    base = ground(build, direction, shed)
    measured = base if base.origin.kind in ("sheet", "sisters", "carried over") else None
    positions = np.array([at.from_hard]) if hold_position else _positions(at, mid_range)
    ring = at.preload_from_hard if now.takes_preload else None
    speeds = target.speed
    wanted = np.repeat(target.force[None, :], positions.size, axis=0)
    if measured is not None:
        was = np.array([force_at(speeds, now.path(k, ring)) for k in positions])
        bench = np.array([
            measured.curve.predict(k, speeds, measured.ring(at)).force for k in positions
        ])  # fmt: skip
        wanted = wanted * was / np.maximum(bench, 1e-9)
    width, depth = gauged(parts.slot_width or 0.0), gauged(parts.slot_depth or 0.0)
    slots = (parts.slot_count or 0, width, depth)
    discs = tuple((gauged(d), gauged(t)) for d, t in build.discs(direction) or ())
    return Piston(
        target,
        shed,
        now,
        measured,
        ring,
        float(parts.hub_to_seat or 0.0),
        gauged(parts.clamp or 0.0),
        parts.recess,
        gauged(parts.spacer or 0.0),
        slots if slots[0] else NO_SLOTS,
        pi / 4 * float(parts.bleed_hole or 0.0) ** 2,
        positions,
        wanted,
        max(d for d, _ in discs),
        discs,
    )


def _positions(at: Setting, mid_range: bool) -> Floats:
    knob = at.adjuster
    if knob is None:
        return np.array([0.0])
    step = knob.step if knob.clicks / knob.step <= _POSITIONS else 1.0
    every = np.arange(0.0, knob.clicks + 1e-9, max(step, knob.clicks / _POSITIONS))
    if mid_range:
        low, high = (share * knob.clicks for share in MID_RANGE)
        return every[(every >= low - 1e-9) & (every <= high + 1e-9)]
    return every


def tables_of(piston: Piston, clamp: float, kinds: set[Disc]) -> SeatTables:
    seat = piston.now.parts.seat
    load = (seat + (piston.recess or clamp)) / 2
    sizes = tuple(sorted({d for d, _ in kinds if d > clamp}, reverse=True))
    return SeatTables(clamp, load, seat, sizes)


def clamps_of(piston: Piston, stock: Stock) -> list[float]:
    """The clamp disc that is there, and those of the box on which the discs can lift."""
    sizes = [piston.clamp, *(size[0] for size in stock.sizes("clamp disc"))]
    return [size for size in dict.fromkeys(sizes) if size < piston.now.parts.seat]


def scan_of(piston: Piston, spacers: list[tuple[float, ...]], slots: list[Slots]) -> Scan:
    """What all its builds share."""
    parts = piston.now.parts
    coefficient = float(flow_coefficient(1.0, parts.piston_area, parts.density, parts.discharge))
    needle = np.zeros_like(piston.positions)
    if parts.needle:
        needle = np.asarray(parts.needle.area(piston.positions))
    areas = np.array([piston.hole_area + n * width * depth for n, width, depth in slots])
    return Scan(
        piston.target.speed,
        piston.wanted,
        coefficient * (areas[:, None] + needle[None, :]),
        np.array([preload_of(piston, sum(some)) for some in spacers]),
        coefficient * pi * parts.seat,
        coefficient * parts.port_area,
    )


def preload_of(piston: Piston, spacer: float) -> float:
    """Seat step less spacer, less what the ring lets go where it is."""
    preload, lift = piston.hub - spacer, piston.now.parts.ring_lift
    if preload <= 0.0 or not lift or not piston.ring:
        return preload
    return max(preload - lift * piston.ring, 0.0)


def spacers_of(piston: Piston, stock: Stock) -> list[tuple[float, ...]]:
    """What can lie between hub and discs: nothing, what is there, one or two of the box; none that
    holds the discs off a seat on which they lie today."""
    sizes = [size[0] for size in stock.sizes("spacer")]
    today = piston.spacers
    some: list[tuple[float, ...]] = [today, (), *((size,) for size in sizes)]
    some += [(*today, size) for size in sizes] if today else []
    some += [
        pair
        for pair in itertools.combinations_with_replacement(sizes, 2)
        if pair[0] != pair[1] or stock.counts[spacer_part(pair[0])] > 1
    ]
    most = max(piston.hub, piston.spacer) + 1e-9
    fitting: dict[int, tuple[float, ...]] = {}
    for one in some:
        if sum(one) <= most:
            fitting.setdefault(round(sum(one) * 1e7), one)
    return list(fitting.values())


def bleeds_of(piston: Piston, stock: Stock) -> list[Slots]:
    """The bleed disc that is there, none, and those of the box."""
    sizes = [(int(n), width, depth) for n, width, depth in stock.sizes("bleed disc")]
    return list(dict.fromkeys((piston.slots, NO_SLOTS, *sizes)))


def moved(piston: Piston, valve: Valve) -> tuple[Counter[Part], Counter[Part]]:
    """What goes in from the box, and what comes free."""
    before = Counter(disc_part(d) for d in piston.discs)
    after = Counter(disc_part(d) for d in valve.stack.discs)
    before += Counter(spacer_part(one) for one in piston.spacers) + Counter(
        [clamp_part(piston.clamp)]
    )
    after += Counter(map(spacer_part, valve.spacers)) + Counter([clamp_part(valve.clamp)])
    before += Counter([bleed_part(piston.slots)] if piston.slots[0] else [])
    after += Counter([bleed_part(valve.slots)] if valve.slots[0] else [])
    return after - before, before - after


def counted(at: Setting, hard: float) -> float | None:
    if at.adjuster is None:
        return None
    return float(as_counted(hard, at.adjuster.clicks, at.adjuster.counted_from))


def usual_parts(piston: Piston) -> Iterator[Part]:
    """Discs of the diameters that are there, in the thicknesses that discs are rolled in, and
    spacers in steps of a twentieth of a millimetre: our own choice, no source."""
    for wide in sorted({disc[0] for disc in piston.discs if disc[0] > piston.clamp}):
        for thick in (0.10e-3, 0.15e-3, 0.20e-3, 0.25e-3, 0.30e-3):
            yield disc_part((wide, thick))
    for n in range(1, 13):
        if n * 0.05e-3 <= piston.hub:
            yield spacer_part(n * 0.05e-3)
