"""Corners driven in time, against closed forms, an identity and scipy's solve_ivp."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from tests.corner.test_quarter_car import SET_A, bent
from trackside.corner.quarter_car import DamperAtWheel, QuarterCar, on_road, straight
from trackside.corner.road import road
from trackside.corner.road_run import (
    Lane,
    StopAtWheel,
    drive,
    lead_steps,
    step_between,
)
from trackside.errors import BadNumber

SPEED = bent().speed


def driven(lanes: list[Lane], letter: str, speed: float, seconds: float, seed: int = 0):
    velocity = road(letter, speed).velocity(lead_steps() + round(seconds / 1e-3), 1e-3, seed)
    found = drive(lanes, velocity)
    assert found is not None
    return found


def test_a_straight_damper_is_its_closed_form_within_three_percent() -> None:
    """Set A on class C: 1.417 m/s², 720.3 N, 11.93 mm; three roads of 300 s."""
    found = [driven([Lane(SET_A, straight(980.0))], "C", 20.0, 300.0, seed) for seed in range(3)]
    body, tyre, travel = (
        np.sqrt(np.mean([getattr(one, name)[0] ** 2 for one in found]))
        for name in ("body_rms", "tyre_rms", "travel_rms")
    )
    assert (body, tyre, travel) == pytest.approx((1.417081, 720.335, 0.01192961), rel=0.03)


def test_bent_dampers_give_off_what_the_tyre_takes_in() -> None:
    """E[f(v)·v] = kt·S/2 within 2 % in a drive; the rest is as the linearised corner
    foretells. 600 s: a shorter road's own power is not within 2 %."""
    dampers = [bent(), bent(ratio=3.0), bent(2.0, 2.0, 0.8), bent(power=1.3)]
    at = road("B", 40.0)
    found = driven([Lane(SET_A, damper) for damper in dampers], "B", 40.0, 600.0, seed=5)
    power = SET_A.tyre * at.intensity / 2.0
    assert found.power.mean(axis=1) == pytest.approx(np.full(4, power), rel=0.02)
    told = [on_road(SET_A, damper, at) for damper in dampers]
    assert found.body_rms == pytest.approx([float(one.body) for one in told], rel=0.03)
    assert found.tyre_rms == pytest.approx([float(one.tyre) for one in told], rel=0.03)
    # The least exact of the figures: a body that is pumped down does not move as a Gaussian does.
    pumped = [float(one.pump_down) for one in told]
    assert found.pump_down == pytest.approx(pumped, rel=0.15, abs=0.0003)


FREQUENCIES = np.array([0.7, 1.3, 2.9, 6.1, 11.3, 13.7])
HEIGHTS = np.array([12.0, 10.0, 4.0, 2.0, 1.0, 1.0]) * 1e-3
PHASES = np.array([0.0, 1.0, 2.0, 3.0, 4.0, 5.0])


def height(t: np.ndarray) -> np.ndarray:
    return np.sin(2.0 * np.pi * FREQUENCIES * np.asarray(t)[..., None] + PHASES) @ HEIGHTS


def by_scipy(
    car: QuarterCar,
    damper: DamperAtWheel,
    stop: StopAtWheel | None,
    times: np.ndarray,
    scale: float,
) -> tuple[np.ndarray, np.ndarray]:
    """Travel and tyre stretch by solve_ivp, with heights as its states."""
    lift = car.static / car.tyre
    start = height(np.array(0.0))

    def slopes(t: float, x: np.ndarray) -> list[float]:
        body, body_speed, wheel, wheel_speed = x
        travel, v = body - wheel, body_speed - wheel_speed
        pull = car.rate * travel + float(np.interp(v, damper.speed, damper.force))
        if stop is not None:
            pull -= float(stop.at(np.array(-travel)))
        stretch = min(wheel - scale * float(height(np.array(t)) - start), lift)
        return [
            body_speed,
            -pull / car.sprung,
            wheel_speed,
            (pull - car.tyre * stretch) / car.unsprung,
        ]

    x = solve_ivp(
        slopes, (0.0, times[-1]), np.zeros(4), t_eval=times, rtol=1e-8, atol=1e-10, max_step=0.005
    ).y
    return x[0] - x[2], np.minimum(x[2] - scale * (height(times) - start), lift)


@pytest.mark.parametrize(("scale", "limits"), [(1.0, False), (3.5, True)])
def test_a_bent_damper_is_what_solve_ivp_makes_of_it(scale: float, limits: bool) -> None:
    """Within 0.1 % at steps of 0.5 ms on a sum of sines; the second case with the tyre off the
    ground and the stop at work, where the step is explicit: within 0.5 %."""
    step, seconds = 5e-4, 6.0
    stop = StopAtWheel(np.array([0.015, 0.025, 0.035]), np.array([0.0, 600.0, 2000.0]))
    damper = bent(0.7, 2.0, 0.7)
    times = np.arange(round(seconds / step) + 1) * step
    velocity = scale * np.diff(height(times)) / step
    quiet = np.concatenate([np.zeros(lead_steps(step)), velocity])
    found = drive([Lane(SET_A, damper, stop if limits else None)], quiet, step, pieces=1)
    assert found is not None
    travel, stretch = by_scipy(SET_A, damper, stop if limits else None, times, scale)
    middle = (travel[1:] + travel[:-1]) / 2.0
    told = (np.sqrt(found.square_travel.mean()), float(found.tyre_rms[0]), found.least[0])
    load = -SET_A.tyre * stretch[1:]
    expected = (np.sqrt(np.mean(middle**2)), np.sqrt(np.mean(load**2)))
    assert told[:2] == pytest.approx(expected, rel=5e-3 if limits else 1e-3)
    assert (found.aloft.max() > 0.0, found.stopped.max() > 0.0) == (limits, limits)
    assert told[2] == pytest.approx(load.min() + SET_A.static, abs=0.005 * SET_A.static)


def test_lanes_and_pieces_change_nothing() -> None:
    lanes = [Lane(SET_A, bent()), Lane(SET_A, bent(2.0, 3.0))]
    velocity = road("C", 30.0).velocity(lead_steps() + 20_000, 1e-3, 1)
    both, alone = drive(lanes, velocity), drive(lanes[1:], velocity)
    whole = drive(lanes, velocity, pieces=1)
    assert both is not None
    assert alone is not None
    assert whole is not None
    assert both.body_rms[1] == pytest.approx(alone.body_rms[0], rel=1e-12)
    assert both.body_rms == pytest.approx(whole.body_rms, rel=0.01)
    assert both.tyre_rms == pytest.approx(whole.tyre_rms, rel=0.01)


def test_the_road_cannot_tell_what_it_leaves_within_its_spread() -> None:
    lanes = [Lane(SET_A, bent(scale)) for scale in (1.0, 1.0, 1.001, 2.0)]
    found = driven(lanes, "C", 20.0, 60.0)
    same, near, far = (step_between(found.body[0], found.body[n]) for n in (1, 2, 3))
    assert (same.change, same.told) == (0.0, False)
    assert far.told
    assert abs(near.change) < abs(far.change) / 50.0
    few = step_between(found.body[0, :4], found.body[3, :4])
    assert not few.told


def test_the_spread_holds_the_change_of_a_long_road() -> None:
    """The step between two dampers on 40 roads of 30 s against its closed form's sign of it: the
    95 % spread about each holds the mean of all in 33 or more (binomial, 95 % of 40, p < 0.01)."""
    lanes = [Lane(SET_A, straight(c)) for c in (900.0, 1100.0)]
    found = [driven(lanes, "C", 20.0, 30.0, seed) for seed in range(40)]
    steps = [step_between(one.tyre[0], one.tyre[1]) for one in found]
    mean = np.mean([one.change for one in steps])
    assert sum(abs(one.change - mean) <= one.spread for one in steps) >= 33


def test_it_reports_and_stops() -> None:
    heard: list[float] = []
    velocity = road("C", 20.0).velocity(lead_steps() + 4000, 1e-3)
    assert drive([Lane(SET_A, bent())], velocity, going=lambda x: not heard.append(x)) is not None
    assert heard == sorted(heard)
    assert (heard[0], heard[-1]) == (0.0, 1.0)
    assert drive([Lane(SET_A, bent())], velocity, going=lambda share: share < 0.5) is None


def test_no_road_is_refused() -> None:
    with pytest.raises(BadNumber, match="no road"):
        drive([Lane(SET_A, bent())], np.zeros(lead_steps()))
    with pytest.raises(BadNumber, match="fewer steps"):
        drive([Lane(SET_A, bent())], np.zeros(lead_steps() + 3), pieces=4)
