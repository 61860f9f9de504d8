"""Fits, sisters, shop rules and curves of parts as they came out before: `tests/told.py` says how
to renew them.

The figures are no source for anything. The other tests hold the laws and the sourced numbers; here
a band, a doubt or a belief that is another than yesterday is seen.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from tests.bench.trial_bench import TUNING, sisters
from tests.bench.virtual_bench import SPEEDS, virtual_damper
from tests.damper.test_parts import EQUAL, PARTS, PYRAMID
from tests.told import agrees, spelled
from trackside.damper.advice import best_run, untold
from trackside.damper.clicks import ForceSteps
from trackside.damper.likeness import Kind
from trackside.damper.oil import OilData
from trackside.damper.parts import PartsCurve, revalved
from trackside.damper.recording import Recording
from trackside.damper.response import response_travel
from trackside.damper.sheet_fit import DirectionFit, SheetFit, SheetRows, fit_sheet
from trackside.damper.shop import shop_curve
from trackside.damper.sisters import Family, Sister, mean_half_band
from trackside.damper.stack import Stack
from trackside.damper.warming import fit_warmed
from trackside.damper.wear import gained
from trackside.errors import TracksideError

ASKED = np.array([0.0, 0.002, 0.013, 0.05, 0.12, 0.3, 0.5, 0.9])


def curve(source: Any, positions: tuple[float, ...], *more: Any) -> Iterator[str]:
    """Force with its band at each position, and the change from each to the next."""
    for position in positions:
        try:
            found = source.predict(position, ASKED, *more)
        except TracksideError as why:
            yield f"{position:g}: {why}"
            continue
        yield f"{position:g} {found.basis}"
        for name in ("force", "low", "high"):
            yield from spelled(list(getattr(found, name)), f"  {name}")
    for a, b in pairwise(positions):
        try:
            step = source.difference(a, b, ASKED)
        except TracksideError as why:
            yield f"{a:g} to {b:g}: {why}"
            continue
        yield f"{a:g} to {b:g} {step.basis}"
        for name in ("change", "percent", "low", "high"):
            yield from spelled(list(getattr(step, name)), f"  {name}")


def fit_told(fit: DirectionFit | None, clicks: float) -> Iterator[str]:
    """All that a fit says of itself."""
    if fit is None:
        yield "no rows"
        return
    yield f"{fit.rms_percent:.2f} % at {fit.positions} {fit.preloads}"
    yield from spelled(fit.parameters, "parameter")
    yield f"untold {untold(fit)}"
    yield from spelled(best_run(fit, clicks), "run")
    yield from spelled(list(fit.scatter([50.0, 500.0, 3000.0])), "scatter")
    yield from spelled(fit.path(fit.positions[0], fit.preloads[0]), "path")
    yield from curve(fit, (0.0, clicks / 3, clicks, 1.2 * clicks, 4 * clicks))
    yield "warm"
    yield from curve(fit, (clicks / 2,), None, 0.6, 0.97)


@lru_cache
def fitted(seed: int, count: int, kept: tuple[tuple[str, Any], ...] = ()) -> SheetFit:
    """A virtual damper's sheet at so many positions."""
    damper = virtual_damper(seed)
    places = np.linspace(0, damper.clicks, count) if count > 1 else [damper.clicks / 2]
    return fit_sheet(SheetRows(*damper.measure(places, seed=seed).columns), **dict(kept))


@pytest.mark.parametrize(("seed", "count"), [(3, 5), (1011, 3), (8, 2), (5, 1)])
def test_a_sheet_fitted(seed: int, count: int) -> None:
    def lines() -> Iterator[str]:
        for direction in ("bump", "rebound"):
            yield f"== {direction}"
            yield from fit_told(
                fitted(seed, count).direction(direction), virtual_damper(seed).clicks
            )

    agrees(lines(), __file__, f"fit-{seed}-{count}")


def test_a_sheet_with_a_ring_with_gas_in_it_and_without_friction() -> None:
    def lines() -> Iterator[str]:
        damper = virtual_damper(21)
        places = np.linspace(0, damper.clicks, 3)
        position, direction, speed, force = damper.measure(places, seed=4).columns
        bump = np.array([d == "bump" for d in direction])
        many = [np.concatenate([column[bump]] * 3) for column in (position, speed, force)]
        ring = np.repeat([0.0, 2.0, 4.0], bump.sum())
        lift = 1.0 - 0.06 * ring * np.minimum(many[1] / 0.2, 1.0)
        rows = SheetRows(many[0], ["bump"] * ring.size, many[1], many[2] * lift, None, ring)
        found = fit_sheet(rows).bump
        assert found is not None
        yield from fit_told(found, damper.clicks)
        for preload in (0.0, 1.0, 4.0, 5.0):
            yield f"ring at {preload:g}"
            yield from curve(found, (damper.clicks / 4,), preload)
        free = fitted(3, 5, (("friction_in", False),)).bump
        yield from fit_told(free, virtual_damper(3).clicks)
        held = [column[bump] for column in damper.measure(places, 4, gas_in=True).columns[::2]]
        force = damper.measure(places, 4, gas_in=True).columns[3][bump]
        gas = fit_sheet(
            SheetRows(held[0], ["bump"] * force.size, held[1], force), gas_force=damper.gas_force
        )
        yield from fit_told(gas.bump, damper.clicks)

    agrees(lines(), __file__, "fit-ring")


def test_one_position_carried_by_the_shops_rule() -> None:
    def lines() -> Iterator[str]:
        for share in (0.02, 0.06):
            for direction in ("bump", "rebound"):
                fit = replace(fitted(5, 1).direction(direction), click_law=ForceSteps(share, 0.1))
                yield f"== {direction} {share:g}"
                at = virtual_damper(5).clicks / 2
                yield from curve(fit, (at - 3, at, at + 1, at + 4))

    agrees(lines(), __file__, "fit-shop")


def test_a_sheet_that_warmed_as_it_ran() -> None:
    def lines() -> Iterator[str]:
        damper = virtual_damper(12)
        position, direction, speed, force = damper.measure(
            np.linspace(0, damper.clicks, 4), seed=6
        ).columns
        oil = np.linspace(22.0, 60.0, force.size)
        thinner = force * (1.0 - 0.0016 * (oil - 22.0))
        rows = SheetRows(position, direction, speed, thinner, oil)
        for data in (None, OilData(15.0, 4.0)):
            found = fit_warmed(rows, data)
            yield f"{found.oil_C}"
            for side in ("bump", "rebound"):
                yield from spelled(found.direction(side).viscous, "viscous")
                yield from curve(found.direction(side), (0.0, damper.clicks / 2))

    agrees(lines(), __file__, "fit-warm")


def test_force_gained_or_lost_between_two_sheets() -> None:
    def lines() -> Iterator[str]:
        before = fitted(3, 5).bump
        damper = virtual_damper(3)
        weaker = replace(damper, bump=replace(damper.bump, base_bleed=2 * damper.bump.base_bleed))
        rows = SheetRows(*weaker.measure(np.linspace(0, damper.clicks, 5), seed=9).columns)
        after = fit_sheet(rows).bump
        assert before is not None
        assert after is not None
        speed = np.array([0.025, 0.05, 0.1, 0.2, 0.4])
        for places in (before.positions, before.positions[:1], before.positions[2:4]):
            for oil in (None, (1.0, 1.0), (0.7, 0.98), (1.0, 0.97)):
                found = gained(before, after, places, before.preloads[0], speed, oil)
                yield f"{len(places)} {oil}"
                yield from spelled([*found.share, found.log, found.deviation], "  gain")

    agrees(lines(), __file__, "gained")


@lru_cache
def kin() -> tuple[tuple[Sister, ...], DirectionFit, DirectionFit, int]:
    """Three sisters, and one or two runs of a fourth."""
    family = sisters(TUNING[41], 4)
    clicks = family[0].bump.clicks

    def fit(n: int, places: Any) -> DirectionFit:
        rows = family[n].sheet(places, n + 1, gain=0.005).columns[:4]
        return fit_sheet(SheetRows(*rows)).direction("bump")

    known = tuple(Sister(f"S{n}", fit(n, np.linspace(0, clicks, 4).round())) for n in (1, 2, 3))
    return known, fit(0, [round(clicks / 3)]), fit(0, [2, round(clicks / 2)]), clicks


def test_a_damper_known_from_its_sisters() -> None:
    def lines() -> Iterator[str]:
        known, one, two, clicks = kin()
        needles = tuple(replace(sister, kind=Kind.NEEDLE) for sister in known)
        for name, own, those in (
            ("none", None, known), ("one", one, known), ("two", two, known),
            ("one sister", one, known[:1]), ("needle", one, needles),
            ("both", one, (known[0], needles[1])),
        ):  # fmt: skip
            family = Family("bump", own, those)
            yield f"== {name}"
            yield from spelled(family.factor, "factor")
            yield from curve(family, (0.0, clicks / 2, float(clicks)))
            places = [clicks / 4, clicks / 2]
            yield f"half band {mean_half_band(family, places, SPEEDS[2:6]):.4g}"
            run = family.next_run(places, SPEEDS[2:6], clicks)
            yield from spelled(run, "next")
            kept, strangers = family.strangers()
            yield f"kept {[one.name for one in kept]}"
            yield from spelled(strangers, "stranger")

    agrees(lines(), __file__, "sisters")


def test_a_stranger_among_sisters() -> None:
    def lines() -> Iterator[str]:
        known, one, _, _ = kin()
        family = Family("bump", one, (*known, Sister("odd", fitted(3, 5).direction("bump"))))
        kept, strangers = family.strangers()
        yield f"kept {[sister.name for sister in kept]}"
        yield from spelled(strangers, "stranger")

    agrees(lines(), __file__, "strangers")


def test_the_shops_rule() -> None:
    def lines() -> Iterator[str]:
        for force, speed, share, acts in (
            (900.0, 0.1, 0.06, "bleed"), (400.0, 0.05, 0.02, "bleed"), (900.0, 0.1, 0.06, "crack"),
        ):  # fmt: skip
            rule = shop_curve(force, speed, share, acts)  # type: ignore[arg-type]
            yield f"== {force} {speed} {share} {acts}"
            yield from spelled(rule.path(3.0), "path")
            yield from curve(rule, (0.0, 1.0, 6.0, 3.0))
            yield from curve(rule, (2.0,), None, 0.7, 0.97)

    agrees(lines(), __file__, "shop")


def test_curves_of_parts_and_revalves() -> None:
    def lines() -> Iterator[str]:
        other = replace(PARTS, stack=Stack(PYRAMID, 0.014), preload=0.2e-3)
        ringed = replace(PARTS, ring_lift=0.02e-3)
        bare = replace(PARTS, needle=None, pressed_area=None, preload=0.0)
        for name, parts in (
            ("equal", PARTS), ("pyramid", other), ("ring", ringed), ("bare", bare),
            ("one", replace(PARTS, stack=Stack(EQUAL[:1], 0.014))),
        ):  # fmt: skip
            of = PartsCurve(parts)
            yield f"== {name}"
            yield from spelled([of.limits.linear_to, of.limits.safe_to], "limits")
            yield from map(str, of.limits.remarks)
            yield from spelled(of.path(4.0), "path")
            yield from curve(of, (0.0, 4.0, 9.0))
            yield from curve(of, (4.0,), 2.0 if parts.ring_lift else None, 0.7, 0.97)
        for a, b in ((PARTS, other), (other, PARTS), (PARTS, PARTS)):
            for one_damper in (True, False):
                step = revalved(
                    PartsCurve(a), 4.0, PartsCurve(b), 4.0, ASKED, one_damper=one_damper
                )
                for part in ("change", "percent", "low", "high"):
                    yield from spelled(list(getattr(step, part)), part)

    agrees(lines(), __file__, "parts")


def test_travel_before_the_force_stands() -> None:
    def lines() -> Iterator[str]:
        path = shop_curve(900.0, 0.1, 0.06).path(3.0)
        for share in (0.5, 0.8):
            for charge in (5e5, 15e5):
                for air in (0.0, 0.01, 0.03):
                    found = response_travel(1.0, path, 1.5e-3, 9e-5, share, charge, air)
                    yield from spelled(list(np.ravel(found)), f"{share} {charge:g} {air}")

    agrees(lines(), __file__, "travel")


def test_a_recording_reduced() -> None:
    def lines() -> Iterator[str]:
        time = np.arange(0.0, 3.0, 1 / 1000.0)
        angle = 2 * np.pi * 1.5 * time
        x, v = 0.025 * np.sin(angle), 0.025 * 3 * np.pi * np.cos(angle)
        force = np.where(v > 0, 2500.0, 4000.0) * v + 150.0 + 20.0 * np.sign(v) + 900.0 * x
        found = Recording.read(time, x, force)
        yield from spelled([found.rate, found.energy_per_cycle()], "rate, energy")
        yield from spelled(found.peak_forces(), "peaks")
        for column in found.loop(12):
            yield from spelled(list(column), "loop")

    agrees(lines(), __file__, "recording")
