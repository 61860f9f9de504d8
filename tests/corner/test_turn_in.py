"""The turn-in figure against momentum: published cars rolled by solve_ivp."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from tests.corner.published_cars import CARS, Published
from trackside.corner.axle import Wheel
from trackside.corner.turn_in import turn_in

Force = Callable[[float], float]
MOMENT = 4000.0  # N·m, reached within 0.3 s
SECONDS = 6.0


def rolled(car: Published, front: Force, rear: Force) -> tuple[float, float, float]:
    """Roll moment × time (N·m·s) that each axle carried in a turn, and the roll angle at its end:
    four wheels on a body that only rolls."""
    stiffness = [k * t**2 / 2.0 for k, t in ((car.k_sf, car.t_f), (car.k_sr, car.t_r))]
    sides = [(front, car.t_f / 2.0), (rear, car.t_r / 2.0)]

    def slopes(t: float, x: np.ndarray) -> list[float]:
        angle, speed = x[0], x[1]
        moments = [
            k * angle + half * (curve(half * speed) - curve(-half * speed))
            for k, (curve, half) in zip(stiffness, sides, strict=True)
        ]
        turn = MOMENT * (1.0 - np.exp(-((t / 0.15) ** 2)))
        return [speed, (turn - sum(moments)) / car.i_phi_s, *moments]

    x = solve_ivp(
        slopes, (0.0, SECONDS), np.zeros(4), rtol=1e-10, atol=1e-10, method="DOP853", max_step=0.02
    ).y[:, -1]
    return float(x[2]), float(x[3]), float(x[0])


def straight(c: float) -> Force:
    return lambda v: c * v


def bent(c: float, ratio: float = 1.0) -> Force:
    """Digressive, rebound (v > 0) of `ratio` times the bump."""
    return lambda v: (ratio if v > 0 else 1.0) * c * v / np.sqrt(1.0 + (v / 0.08) ** 2)


@pytest.mark.parametrize("name", CARS)
def test_a_damper_moves_load_in_time_and_makes_none(name: str) -> None:
    """Between two settings with one start and one end: t_f·∫ΔL_f dt + t_r·∫ΔL_r dt = 0 (momentum,
    derived), below 0.01 N·m·s; so each axle's load, over a track above 1 m, below 0.01 N·s."""
    car = CARS[name]
    base = rolled(car, straight(car.k_sdf), straight(car.k_sdr))
    for front, rear in (
        (straight(2.0 * car.k_sdf), straight(car.k_sdr)),
        (bent(3.0 * car.k_sdf, 2.5), bent(car.k_sdr)),
    ):
        other = rolled(car, front, rear)
        assert other[2] == pytest.approx(base[2], rel=1e-6)
        moved = other[0] - base[0]
        assert abs(moved) > 5.0
        assert abs(moved + other[1] - base[1]) < 0.01


@pytest.mark.parametrize("name", CARS)
def test_the_front_carries_the_impulse_that_is_told(name: str) -> None:
    """Straight dampers: ∫(front's moment less its steady share of both) dt = (C_f − K_f·C/K)·φ."""
    car = CARS[name]
    front_damping, rear_damping = 1.7 * car.k_sdf, 0.8 * car.k_sdr
    wheels = [
        Wheel(x, y, rate, damping)
        for x, half, rate, damping in (
            (car.a, car.t_f / 2.0, car.k_sf, front_damping),
            (-car.b, car.t_r / 2.0, car.k_sr, rear_damping),
        )
        for y in (half, -half)
    ]
    told = turn_in(wheels)
    front, rear, angle = rolled(car, straight(front_damping), straight(rear_damping))
    beyond = front - told.stiffness_share * (front + rear)
    assert float(told.impulse) * angle == pytest.approx(beyond, rel=1e-4)
    assert np.sign(told.balance) == np.sign(beyond)


def test_shares_and_bars() -> None:
    """Equal axles ask both ends alike; a front bar adds stiffness in front, and no damping."""
    four = [Wheel(x, y, 20e3, 2e3) for x in (1.2, -1.2) for y in (0.7, -0.7)]
    even, barred = turn_in(four), turn_in(four, front_bar=10e3)
    assert (float(even.balance), float(even.impulse)) == pytest.approx((0.0, 0.0), abs=1e-9)
    stiff = 2 * 20e3 * 0.7**2
    assert barred.stiffness_share == pytest.approx((stiff + 10e3) / (2 * stiff + 10e3))
    assert float(barred.damping_share) == pytest.approx(0.5)
    assert float(barred.balance) < 0.0
