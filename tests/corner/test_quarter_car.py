"""A corner on a random road, against closed forms, an independent Lyapunov solver and drives."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.linalg import solve_continuous_lyapunov

from tests.corner.published_cars import CORNERS as PUBLISHED
from trackside.corner.quarter_car import (
    DamperAtWheel,
    QuarterCar,
    best_damping,
    on_road,
    straight,
)
from trackside.corner.road import road
from trackside.errors import BadNumber

POINTS = np.geomspace(0.0005, 3.0, 120)
SPEED = np.concatenate([-POINTS[::-1], [0.0], POINTS])

# Set A: parameters common in papers (from memory, not read for this), class C at 20 m/s. The rms
# values come from the symbolic solution of the Lyapunov equation, made apart from the program.
SET_A = QuarterCar(240.0, 36.0, 16e3, 160e3)


def bent(scale: float = 1.0, ratio: float = 1.0, power: float = 0.6) -> DamperAtWheel:
    force = np.sign(SPEED) * np.abs(SPEED) ** power * 1500.0 * scale
    return DamperAtWheel(SPEED, np.where(SPEED > 0.0, ratio, 1.0) * force)


def lyapunov(car: QuarterCar, c: float, intensity: float) -> tuple[float, float, float, float]:
    """rms of body acceleration, tyre load, travel and damper speed by scipy's Lyapunov solver, with
    other states than the closed forms were made with: heights over the road."""
    ms, mu, k, kt = car.sprung, car.unsprung, car.rate, car.tyre
    a = np.array(
        [
            [0.0, 1.0, 0.0, 0.0],
            [-k / ms, -c / ms, k / ms, c / ms],
            [0.0, 0.0, 0.0, 1.0],
            [k / mu, c / mu, -(k + kt) / mu, -c / mu],
        ]
    )
    noise = np.outer([1.0, 0.0, 1.0, 0.0], [1.0, 0.0, 1.0, 0.0]) * intensity
    x = solve_continuous_lyapunov(a, -noise)
    rows = np.array([a[1], [0.0, 0.0, kt, 0.0], [1.0, 0.0, -1.0, 0.0], [0.0, 1.0, 0.0, -1.0]])
    return tuple(np.sqrt(np.einsum("ij,jk,ik->i", rows, x, rows)))


def test_set_a_is_the_closed_form_to_a_millionth() -> None:
    found = on_road(SET_A, straight(980.0), road("C", 20.0))
    told = (found.body, found.tyre, found.travel, found.speed, found.power)
    expected = (1.417080662758493, 720.334998, 0.011929613030, 0.287231328, 80.851799)
    assert told == pytest.approx(expected, rel=1e-6)
    assert best_damping(SET_A) == pytest.approx((664.5299, 1948.1397), rel=1e-6)
    assert found.pump_down == pytest.approx(0.0, abs=1e-12)


def test_a_published_front_on_class_b() -> None:
    """Vehicle 1 of commonroad-vehicle-models, 25 m/s; the rms values from the Lyapunov equation
    solved symbolically, made apart from the program."""
    car, c = PUBLISHED["vehicle 1 front"]
    found = on_road(car, straight(c), road("B", 25.0))
    told = (found.body, 1e3 * found.travel, found.tyre, found.power)
    assert told == pytest.approx((0.729336, 6.39485, 414.2578, 29.9697), rel=2e-6)
    assert best_damping(car)[0] / c == pytest.approx(0.6696, abs=5e-5)


@pytest.mark.parametrize("name", PUBLISHED)
def test_published_cars_against_the_lyapunov_solver(name: str) -> None:
    car, c = PUBLISHED[name]
    at = road("D", 15.0)
    found = on_road(car, straight(c), at)
    told = (found.body, found.tyre, found.travel, found.speed)
    assert told == pytest.approx(lyapunov(car, c, at.intensity), rel=1e-6)


def test_a_bent_curve_gives_off_what_the_tyre_takes_in() -> None:
    """E[f(v)·v] = kt·S/2 by the trapezium rule over the Gaussian that was found, not by the
    straight lines' own integrals."""
    x = np.linspace(-9.0, 9.0, 400_001)
    weights = np.exp(-(x**2) / 2.0) / np.sqrt(2.0 * np.pi) * (x[1] - x[0])
    for damper in (bent(), bent(ratio=3.0), bent(power=1.4)):
        found = on_road(SET_A, damper, road("C", 30.0))
        v = found.speed * x
        force = np.interp(v, damper.speed, damper.force)
        assert np.sum(weights * force * v) == pytest.approx(float(found.power), rel=1e-6)
        assert np.sum(weights * force) / 16e3 == pytest.approx(float(found.pump_down), abs=1e-8)


def test_many_curves_at_once_are_what_each_is_alone() -> None:
    rows = np.array([bent(scale, ratio).force for scale in (0.3, 1.0, 4.0) for ratio in (1.0, 3.0)])
    together = on_road(SET_A, DamperAtWheel(SPEED, rows), road("B", 40.0))
    for n, row in enumerate(rows):
        alone = on_road(SET_A, DamperAtWheel(SPEED, row), road("B", 40.0))
        for name in ("body", "tyre", "travel", "speed", "pump_down"):
            assert getattr(together, name)[n] == pytest.approx(
                float(getattr(alone, name)), rel=1e-9, abs=1e-12
            )


def test_more_rebound_than_bump_pulls_the_car_down() -> None:
    assert on_road(SET_A, bent(ratio=3.0), road("C", 20.0)).pump_down > 0.001
    assert on_road(SET_A, bent(ratio=1 / 3), road("C", 20.0)).pump_down < -0.0003


@pytest.mark.parametrize(
    ("speed", "force", "cause"),
    [
        ([1.0], [1.0], "two or more speeds"),
        ([0.0, 0.0], [1.0, 2.0], "rising"),
        ([0.0, 1.0], [1.0], "a force at each speed"),
        ([0.0, 1.0], [1.0, np.nan], "a force at each speed"),
        ([-1.0, 0.0, 1.0], [-1.0, 3.0, 1.0], "falls"),
    ],
)
def test_a_curve_that_cannot_be(speed: list[float], force: list[float], cause: str) -> None:
    with pytest.raises(BadNumber, match=cause):
        DamperAtWheel(np.array(speed), np.array(force))


def test_no_damper_and_no_mass_are_refused() -> None:
    with pytest.raises(BadNumber, match="without any force"):
        on_road(SET_A, straight(0.0), road("C", 20.0))
    with pytest.raises(BadNumber, match="above zero"):
        QuarterCar(240.0, 0.0, 16e3, 160e3)
