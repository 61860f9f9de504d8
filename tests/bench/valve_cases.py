"""A damper of `parts_bench`, another stack for it out of a box, and the search for that stack."""

from __future__ import annotations

import time
from collections import Counter
from dataclasses import replace
from math import pi, sqrt
from typing import NamedTuple

import numpy as np

from tests.bench.parts_bench import SPEEDS as RUN
from tests.bench.parts_bench import THICKNESS, Sizes, made_dampers
from trackside.analysis.parts import parts_curve
from trackside.analysis.revalve import set_at
from trackside.analysis.shed import Shed
from trackside.analysis.valve_search import Asked, search
from trackside.analysis.valve_stock import Disc, Stacked, Stock, disc_part, gauged, stacks
from trackside.analysis.valve_target import Target, Wish, target_of
from trackside.records import BoxPart, Build, Damper, DynoSheet
from trackside.records.discs import stack_text

SPEEDS = (0.025, 0.05, 0.1, 0.2, 0.3)
SPACER = 0.3e-3
NEAREST = Asked(nearest_first=True)


class Trip(NamedTuple):
    """Where the true stack came among the answers (99: not at all), and what the search took."""

    place: int
    stacks: int
    combinations: int
    seconds: float
    changed: int


def build_of(told: Sizes, discs: tuple[Disc, ...]) -> Build:
    """The damper as its crew would write it down."""
    seat, angle, lift = told.needle
    parts = {
        "clamp": told.clamp, "seat": told.seat, "recess": told.ring[0], "spacer": SPACER,
        "hub_to_seat": told.preload + SPACER, "port_count": 1, "slot_count": 0,
        "port_diameter": sqrt(4 * told.port_area / pi),
        "bleed_hole": sqrt(4 * told.bleed_area / pi),
        "needle_seat": seat, "needle_angle": float(angle), "needle_lift": lift,
    }  # fmt: skip
    rod = 0.014
    knob = {"acts_on": "rebound_bleed", "clicks": told.clicks, "counted_from": "hard"}
    return Build.checked({
        "damper": "X", "version": "A", "rod_diameter": rod,
        "piston_diameter": sqrt(4 * told.piston_area / pi + rod**2), "adjusters": [knob],
        "rebound_stack": stack_text(discs), "rebound_parts": parts,
    })  # fmt: skip


def box_of(discs: tuple[Disc, ...], clamp: float) -> Stock:
    """Three of each usual thickness in every diameter that is there, and one below; spacers."""
    wide = sorted({d for d, _ in discs}, reverse=True)
    wide += [gauged(wide[-1] - 2e-3)] if wide[-1] - 2e-3 > clamp + 1.5e-3 else []
    parts = [
        {"sort": "disc", "diameter": d, "thickness": t, "count": 3}
        for d in wide
        for t in (0.10e-3, 0.15e-3, 0.20e-3, 0.25e-3, 0.30e-3)
    ]
    parts += [
        {"sort": "spacer", "thickness": t, "count": 2} for t in (0.1e-3, 0.2e-3, 0.25e-3, 0.3e-3)
    ]
    return Stock.of(BoxPart.checked(part) for part in parts)


def round_trip(seed: int, asked: Asked = NEAREST) -> Trip:
    """Any stack of the box that is at most two discs from the damper's own: its curve, from the
    parts as they were measured, is the target."""
    [damper] = made_dampers(1, seed)
    told, rng = damper.told, np.random.default_rng((seed, 15))
    discs = tuple((gauged(d), gauged(t)) for d, t in told.discs)
    stock = box_of(discs, told.clamp)
    kinds = [(d, t) for d, t in stock.sizes("disc")]
    every = list(stacks(discs, kinds, 2, stock.counts, told.seat + 1e-8, 1.0))
    truth = every[1 + int(rng.integers(len(every) - 1))]
    build, at = build_of(told, discs), float(told.clicks // 2)
    true = parts_curve(build_of(told, truth.discs), "rebound").predict(at, SPEEDS).force
    shed = Shed((Damper(serial="X"),), (build,), (), {})
    wishes = [Wish("rebound", v, float(f)) for v, f in zip(SPEEDS, true, strict=True)]
    target = target_of(wishes, set_at(build, "rebound", at, None), shed)
    return _searched(target, shed, stock, asked, truth)


def bench_trip(seed: int, asked: Asked) -> Trip:
    """The same with one disc changed, and what the real damper does on a bench as the target: its
    present build has a sheet of three positions, its parts are not quite as measured."""
    [damper] = made_dampers(1, seed)
    told, rng = damper.told, np.random.default_rng((seed, 77))
    discs = tuple((gauged(d), gauged(t)) for d, t in told.discs)
    stock = box_of(discs, told.clamp)
    kinds = [(d, t) for d, t in stock.sizes("disc")]
    every = list(stacks(discs, kinds, 1, stock.counts, told.seat + 1e-8, 1.0))
    truth = every[1 + int(rng.integers(len(every) - 1))]
    kept: dict[Disc, list[Disc]] = {}
    for said, is_so in zip(discs, damper.real.discs, strict=True):
        kept.setdefault(said, []).append(is_so)
    real = tuple(
        kept[disc].pop() if kept.get(disc) else (disc[0], disc[1] + THICKNESS * rng.normal())
        for disc in truth.discs
    )
    changed = replace(damper, real=replace(damper.real, discs=real))
    at = float(told.clicks // 2)
    rows = [
        {"position": k, "direction": "rebound", "speed": float(v), "force": float(f)}
        for k in (0.0, at, float(told.clicks))
        for v, f in zip(RUN, damper.measure(k, seed * 100 + int(k)), strict=True)
    ]
    sheet = DynoSheet.checked({
        "damper": "X", "build": "A", "date": "2026-01-01", "source": "x", "rows": rows,
        "counted_from": "hard",
    })  # fmt: skip
    build = build_of(told, discs)
    shed = Shed((Damper(serial="X"),), (build,), (sheet,), {})
    force = changed.true_force(at, np.array(SPEEDS))
    wishes = [Wish("rebound", v, float(f)) for v, f in zip(SPEEDS, force, strict=True)]
    target = target_of(wishes, set_at(build, "rebound", at, None), shed)
    return _searched(target, shed, stock, asked, truth)


def _searched(target: Target, shed: Shed, stock: Stock, asked: Asked, truth: Stacked) -> Trip:
    start = time.perf_counter()
    found = search([target], shed, stock, asked, advise=False)
    took = time.perf_counter() - start
    wanted = Counter(map(disc_part, truth.discs))
    places = (
        n
        for n, answer in enumerate(found.answers)
        if Counter(map(disc_part, answer.sides[0].valve.stack.discs)) == wanted
    )
    return Trip(next(places, 99), found.stacks, found.combinations, took, truth.changed)
