# ruff: noqa: B023  (each question is asked at once)
"""The facts of the sample season, and of the garage, as they were calculated before.

`tests/told.py` says how to renew them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Any

import pytest

from tests.analysis.garage import SHED, SPEEDS, corner, session, with_ring
from tests.told import agrees, spelled
from trackside.analysis.air import cold_as_before, density
from trackside.analysis.axle import axles
from trackside.analysis.bring_back import bring_back
from trackside.analysis.cavitation import cavitation
from trackside.analysis.changes import changes
from trackside.analysis.damping import damping
from trackside.analysis.debrief import debrief
from trackside.analysis.estimate import DIRECTIONS, Estimate, curves, setting
from trackside.analysis.estimate_cache import EstimateCache
from trackside.analysis.felt import moved
from trackside.analysis.gas_loss import lost_charges
from trackside.analysis.gauges import charges, cold_pressures
from trackside.analysis.knob_sweep import knob_sweep
from trackside.analysis.last_read import LastReadings
from trackside.analysis.outings import outings_before
from trackside.analysis.panel_data import panel_data
from trackside.analysis.plausible_ranges import marks_of, record_marks
from trackside.analysis.recall import find, outing_before
from trackside.analysis.response import response
from trackside.analysis.revalve import half_open, revalve
from trackside.analysis.shed import Shed
from trackside.analysis.sheet_change import against_first
from trackside.analysis.sheet_intake import judged, judged_alone
from trackside.analysis.sides import uneven
from trackside.analysis.sisters import sisters_of
from trackside.analysis.stops import at_stop
from trackside.analysis.swaps import swap
from trackside.analysis.trend import trend
from trackside.analysis.used import last_corners
from trackside.analysis.warm_oil import warm_estimate
from trackside.analysis.wheel import at_wheel
from trackside.analysis.worth import click_worth
from trackside.errors import TracksideError
from trackside.logbook import Logbook
from trackside.records import Session
from trackside.records.fields import CORNERS
from trackside.reports.origin_words import setting_words


@pytest.fixture(scope="module")
def shed(samples: Logbook) -> Shed:
    return Shed.of(samples)


@pytest.fixture(scope="module")
def sessions(samples: Logbook) -> list[tuple[str, Session]]:
    """In the order in which they ran."""
    lines = sorted(samples.each_session(), key=lambda line: (line.start, line.entity))
    return [(line.entity, samples.session_record(line.entity)) for line in lines]


def known(name: str, ask: Callable[[], Any]) -> list[str]:
    """What it gives, spelled; else why it cannot."""
    try:
        return spelled(ask(), name)
    except TracksideError as why:
        return [f"{name}: {why}"]


def test_what_changed(shed, sessions) -> None:  # type: ignore[no-untyped-def]
    def lines() -> Iterator[str]:
        for (_, before), (_, after) in list(pairwise(sessions))[::2]:
            yield f"== {before.start} to {after.start}"
            found = changes(before, after, shed, SPEEDS)
            for name in ("values", "readings", "unknown", "swapped"):
                yield from known(name, lambda name=name: getattr(found, name))  # type: ignore[misc]
            for force in found.forces:
                step = force.step
                yield f"{force.corner} {force.direction} {force.sense} {force.in_noise}"
                yield from spelled([step.change, step.low, step.high, force.wheel], "step")
            yield from known("felt", lambda: moved(found))
            told = debrief(before, after, shed, SPEEDS)
            yield from known("lost", lambda: told.lost_gas)
            yield from known("out-lap", lambda: told.out_lap)
            for one in told.uneven:
                yield f"{one.axle} {one.direction} {one.clearest}"
                yield from spelled([one.difference, one.low, one.high], "uneven")

    agrees(lines(), __file__, "changes")


def test_a_corner_at_one_moment(shed, sessions) -> None:  # type: ignore[no-untyped-def]
    def lines() -> Iterator[str]:
        for n, (_, now) in enumerate(sessions[::2]):
            at = CORNERS[n % 4]
            yield f"== {now.start} {at}"
            for direction, found in curves(now, at, shed, SPEEDS).items():
                if not isinstance(found, Estimate):
                    yield f"{direction}: {found}"
                    continue
                yield from spelled([found.force, found.low, found.high, found.basis], direction)
                yield from known("damping", lambda: damping(found, shed))
                yield from known("warm", lambda: warm_estimate(found, now, shed, SPEEDS))
                yield from known("wheel", lambda: at_wheel(found, now, shed))
                yield from known("response", lambda: response(found.setting, shed, 12e5))
            yield from known("cavitation", lambda: cavitation(now, at, shed, 0.5))
            yield from known("stop", lambda: at_stop(now, at, shed))
            yield from known("worth", lambda: click_worth(now, at, shed, SPEEDS))
            yield from known("axles", lambda: axles(now, shed, SPEEDS))
            yield from known("uneven", lambda: uneven(now, shed, SPEEDS))
            yield from known("marks", lambda: marks_of(now, shed))
            yield from known("density", lambda: density(now))

    agrees(lines(), __file__, "corners")


def test_two_moments(shed, sessions) -> None:  # type: ignore[no-untyped-def]
    def lines() -> Iterator[str]:
        first = sessions[0][1]
        for _, now in sessions[1::3]:
            yield f"== {now.start}"
            for at in CORNERS:
                yield from known("cold", lambda: cold_as_before(first, now, at))
                yield from known("swap", lambda: swap(first, now, at, shed))
            yield from known("charges", lambda: list(charges(first, now)))
            yield from known("colds", lambda: cold_pressures(first, now))
            yield from known("lost", lambda: lost_charges(first, now))
            yield from known("bring", lambda: bring_back(first, now, shed, SPEEDS))

    agrees(lines(), __file__, "moments")


def test_dampers(samples, shed) -> None:  # type: ignore[no-untyped-def]
    def lines() -> Iterator[str]:
        for damper in shed.dampers:
            builds = shed.builds_of(damper.serial)
            yield f"== {damper.serial}: {[build.version for build in builds]}"
            yield from known(
                "used", lambda: [c.body() for c in last_corners(samples, damper.serial)]
            )
            for build in builds:
                yield from known(
                    "marks", lambda: list(record_marks("build", build.body()).values())
                )
                yield from known("against first", lambda: against_first(build, shed))
                for direction in DIRECTIONS:
                    yield from known("half", lambda: half_open(build, direction))
                    kin = sisters_of(build, direction, shed)
                    yield f"sisters: {kin.names if kin else None}"
                for sheet in shed.sheets_of(build):
                    others = tuple(one for one in shed.sheets if one is not sheet)
                    found = judged(sheet, build, Shed(shed.dampers, shed.builds, others, shed.cars))
                    yield from spelled(found.sheet.warnings, "doubts")
                    yield from spelled(judged_alone(sheet), "alone")
                    for d, fit in found.fits.items():
                        yield f"{d}: {fit.rms_percent:.3f} {fit.positions}"
                        yield from spelled(fit.parameters, "parameters")
            if len(builds) > 1:
                for direction in DIRECTIONS:
                    middle = half_open(builds[-1], direction)
                    yield from known(
                        "revalved",
                        lambda: (
                            revalve(builds[-2], builds[-1], direction, middle, shed, SPEEDS).step
                        ),
                    )

    agrees(lines(), __file__, "dampers")


def test_the_season(samples, shed, sessions) -> None:  # type: ignore[no-untyped-def]
    def lines() -> Iterator[str]:
        names = {entity: now.start for entity, now in sessions}
        for entity, now in sessions:
            found = outings_before(samples, entity)
            told = [names.get(e, "–") for e in (found.own, found.car, found.elsewhere)]
            yield f"{now.start}: {told} {found.alike} {names.get(outing_before(samples, entity))}"
        for text in ("rebound 8", "understeer", "Harrow", "wet", "gas 14", "nothing at all"):
            for one in find(samples, text, shelf_only=False, limit=4):
                yield f"{text}: {names.get(one.entity)}"
        ran = samples.session_records([entity for entity, _ in sessions])
        for at in ("FL", "RR"):
            yield from known("trend", lambda: trend(ran, at, "rebound", shed, SPEEDS[:2]))
        last = LastReadings(samples)
        entity, now = sessions[-1]
        for path in ("FL.gas_pressure", "RR.cold_pressure", "air_temperature", "FL.camber"):
            yield from known(
                path, lambda: [last.at(entity, now, path), last.taken_at(entity, now, path)]
            )

    agrees(lines(), __file__, "season")


def test_the_garage() -> None:
    def lines() -> Iterator[str]:
        before = session()
        now = session(corner(rebound=5), FR=corner("TWIN", 8, 4), RL=corner("RULE"),
                      RR=corner("BARE"))  # fmt: skip
        for shed in (SHED, with_ring("HARD", (0.0, 3.0, 6.0))):
            for at in CORNERS:
                for direction in DIRECTIONS:
                    yield from known(
                        "panel",
                        lambda: panel_data(
                            now, before, at, direction, EstimateCache(shed, SPEEDS), 1
                        ),
                    )
                yield from known("worth", lambda: click_worth(now, at, shed, SPEEDS))
            yield from known("bring", lambda: bring_back(before, now, shed, SPEEDS))
            start = setting(now, "FL", "rebound", shed)
            knob = start.build.bleed_adjuster("rebound")
            assert knob is not None
            yield from (setting_words(one) for one in knob_sweep(start, knob, shed))

    agrees(lines(), __file__, "garage")
