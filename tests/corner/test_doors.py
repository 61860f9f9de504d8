"""What each function of the corner takes and refuses, and that nothing is scaled on the way."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from trackside.corner import wheel
from trackside.corner.air import air_density, standard_pressure
from trackside.corner.axle import both_ways, coupling, heave, pitch, roll, roll_share, wheels_of
from trackside.corner.bump_stop import CurveStop, TableStop, added_at_wheel, starts_at
from trackside.corner.motion_ratio import MotionTable
from trackside.corner.tyres import cold_pressure, pressure_at
from trackside.errors import BadNumber

TABLE = ((-0.03, 0.70), (0.0, 0.72), (0.03, 0.76))
FOUR = (250.0, 250.0, 200.0, 200.0)


@pytest.mark.parametrize(
    ("ask", "said"),
    [
        (lambda: air_density(-40.1, 1e5, 0.5), "this is not the air of a race track: give °C"),
        (lambda: air_density(60.1, 1e5, 0.5), "not the air"),
        (lambda: air_density(20, 4.9e4, 0.5), "not the air"),
        (lambda: air_density(20, 1.11e5, 0.5), "not the air"),
        (lambda: air_density(20, 1e5, -0.01), "not the air"),
        (lambda: air_density(20, 1e5, 1.01), "not the air"),
        (lambda: air_density([20, 70], 1e5, 0.5), "not the air"),
        (lambda: standard_pressure(-1001), "no race track lies at this altitude: give metres"),
        (lambda: standard_pressure(11_001), "no race track lies"),
        (lambda: wheels_of(FOUR[:3], 2.5, (1.5, 1.5), (1,) * 4, (1,) * 4), "masses, wheelbase and"),
        (lambda: wheels_of((0.0, *FOUR[1:]), 2.5, (1.5, 1.5), (1,) * 4, (1,) * 4), "above zero: e"),
        (lambda: wheels_of(FOUR, 0.0, (1.5, 1.5), (1,) * 4, (1,) * 4), "above zero"),
        (lambda: wheels_of(FOUR, 2.5, (1.5, -1.0), (1,) * 4, (1,) * 4), "above zero"),
        (lambda: wheels_of(FOUR, np.inf, (1.5, 1.0), (1,) * 4, (1,) * 4), "above zero"),
        (lambda: TableStop(((0.005, 400.0),)), "needs two or more points.*: give compression:f"),
        (lambda: TableStop(((0.005, 400.0), (0.005, 500.0))), "both rising"),
        (lambda: TableStop(((0.005, 400.0), (0.006, 400.0))), "both rising"),
        (lambda: TableStop(((0.0, 0.0), (0.006, 400.0))), "both rising"),
        (lambda: CurveStop(0.0, 1.0, 0.02), "needs a contact rate.*: give the three like"),
        (lambda: CurveStop(4e4, -0.1, 0.02), "a stiffening of zero or more"),
        (lambda: CurveStop(4e4, 1.0, 0.0), "full compression"),
        (lambda: MotionTable(TABLE[:1]), "needs two or more points.*: give damper travel over"),
        (lambda: MotionTable(TABLE[::-1]), "travel rising"),
        (lambda: MotionTable(((0.0, 0.7), (0.0, 0.8))), "travel rising"),
        (lambda: MotionTable(((0.0, 0.0), (0.1, 0.8))), "ratios above zero"),
        (lambda: MotionTable(TABLE).at(0.031), "known from -30 to 30 mm of wheel travel only: "),
        (lambda: MotionTable(TABLE).at([-0.031, 0.0]), "from -30 to 30 mm of wheel"),
        (lambda: MotionTable(TABLE).wheel_travel(0.03), r"to 22\.\d* mm of damper travel only: "),
        (lambda: MotionTable(TABLE).wheel_travel(-0.03), r"known from -21\.\d* to"),
        (lambda: pressure_at(1e5, -273.2, 20.0), "a tyre pressure or temperature is not possible"),
        (lambda: pressure_at(1e5, 20.0, -273.2), "not possible: check sign and unit"),
        (lambda: pressure_at(-1.02e5, 20.0, 20.0), "not possible"),
    ],
)  # fmt: skip
def test_what_is_refused(ask: Callable[[], object], said: str) -> None:
    with pytest.raises(BadNumber, match=said):
        ask()


def test_the_ends_themselves_are_taken() -> None:
    assert air_density([-40.0, 60.0], [5e4, 1.1e5], [0.0, 1.0]).shape == (2,)
    assert standard_pressure([-1000.0, 11_000.0])[1] == pytest.approx(
        22_632.0, rel=1e-4
    )  # ISO 2533
    assert MotionTable(TABLE).at([-0.03, 0.03]) == pytest.approx([0.70, 0.76])
    assert TableStop(((0.005, 400.0), (0.01, 1300.0))).force([0.005, 0.01]) == pytest.approx(
        [400.0, 1300.0]
    )


def test_four_wheels_about_their_centre_of_gravity() -> None:
    """Moments: 500 kg in front and 400 kg behind put it 400/900 of the wheelbase behind the front
    axle; the heavier side is the nearer one."""
    wheels = wheels_of(
        (300.0, 200.0, 200.0, 200.0), 2.7, (1.6, 1.5), (3e4, 3e4, 4e4, 4e4), (1,) * 4
    )
    ahead, behind = 2.7 * 400 / 900, 2.7 * 500 / 900
    assert [w.x for w in wheels] == pytest.approx([ahead, ahead, -behind, -behind])
    left = 1.6 * 100 / (2 * 900)
    assert [w.y for w in wheels] == pytest.approx(
        [0.8 - left, -0.8 - left, 0.75 - left, -0.75 - left]
    )
    masses = np.array((300.0, 200.0, 200.0, 200.0))
    assert masses @ [w.x for w in wheels] == pytest.approx(0.0, abs=1e-9)
    assert masses @ [w.y for w in wheels] == pytest.approx(0.0, abs=1e-9)


def test_modes_of_a_square_car() -> None:
    """Rates by hand: Σk, Σk·x², Σk·y²; f = √(K/M)/2π; ζ = C/(2√(K·M))."""
    wheels = wheels_of((200.0,) * 4, 2.0, (1.0, 1.0), (1e4, 1e4, 2e4, 2e4), (500.0,) * 4)
    up = heave(wheels, 600.0)
    assert up.rate == 6e4
    assert up.damping == 2000.0
    assert up.frequency == pytest.approx(10.0 / (2 * np.pi))
    assert up.ratio == pytest.approx(2000.0 / (2 * np.sqrt(6e4 * 600.0)))
    assert pitch(wheels, None).rate == 6e4
    assert pitch(wheels, None).frequency is None
    assert roll(wheels, None).rate == 6e4 * 0.25
    assert roll(wheels, None, 5000.0).rate == 2e4
    assert roll_share(wheels) == pytest.approx(1 / 3)
    assert roll_share(wheels, 5000.0, 0.0) == pytest.approx(1e4 / 2e4)
    assert roll_share(wheels, 0.0, 5000.0) == pytest.approx(5e3 / 2e4)
    assert coupling(wheels) == pytest.approx(-2e4 / 6e4)  # the rear is the stiffer end
    assert both_ways([100.0], [300.0]) == [200.0]


def test_a_stop_at_the_wheel() -> None:
    """Virtual work: F·MR and k·MR². 50 N/mm that stiffens once over 20 mm: 1000 N at 10 mm."""
    stop = CurveStop(50e3, 1.0, 0.02)
    assert stop.force(0.01) == pytest.approx(1000.0)
    assert stop.rate(0.01) == pytest.approx(200e3)
    assert np.isnan(stop.force(0.02))
    assert np.isnan(stop.rate(0.021))
    assert CurveStop(50e3, 0.0, 0.02).force(0.01) == pytest.approx(500.0)
    assert starts_at(0.03, 0.01) == pytest.approx(0.02)
    force, rate = added_at_wheel(stop, [0.0, 0.039, 0.06], 0.03, 0.01, 0.5)
    assert force == pytest.approx([0.0, 0.0, 500.0])
    assert rate == pytest.approx([0.0, 0.0, 50e3])
    assert np.isnan(TableStop(((0.005, 400.0), (0.01, 1300.0))).force(0.011))


def test_a_ratio_that_rises() -> None:
    """A straight table has one slope, its integral is by hand, F·dMR/dz is added under load."""
    straight = MotionTable(((-0.1, 0.6), (0.0, 0.7), (0.1, 0.8)))
    assert straight.range == (-0.1, 0.1)
    assert straight.slope(0.05) == pytest.approx(1.0)
    assert straight.damper_travel(0.1) == pytest.approx(0.075)
    assert straight.damper_travel(-0.1) == pytest.approx(-0.065)
    assert straight.wheel_travel(0.075) == pytest.approx(0.1)
    assert straight.wheel_rate(0.0, 1e5, 3000.0) == pytest.approx(0.49e5 + 3000.0)


def test_tyres_over_temperature_and_weather() -> None:
    """Absolute pressure goes with absolute temperature (ideal gas)."""
    assert pressure_at(2e5, 26.85, 56.85, 1e5) == pytest.approx(3e5 * 330 / 300 - 1e5)
    assert pressure_at(2e5, 26.85, 26.85, 1e5, 0.9e5) == pytest.approx(2.1e5)
    hot = pressure_at(1.5e5, 20.0, 80.0)
    assert cold_pressure(hot, 80.0, 20.0) == pytest.approx(1.5e5)
    assert pressure_at(-0.5e5, 20.0, 20.0) == pytest.approx(-0.5e5)  # a tyre that is sucked flat
    assert pressure_at(-101_325.0, 20.0, 20.0) == pytest.approx(-101_325.0)  # and a vacuum
    assert pressure_at(1e5, -272.65, -272.65) == pytest.approx(1e5)
    assert cold_pressure(2.1e5, 26.85, 26.85, 0.9e5, 1e5) == pytest.approx(2e5)


def test_the_wheel() -> None:
    """k·MR², c·MR², two springs in series, 2√(k·m), √(k/m)/2π: by hand."""
    assert wheel.motion_ratio(0.8) == 0.8
    assert wheel.motion_ratio(1.25, "wheel/damper") == pytest.approx(0.8)
    assert wheel.damper_speed(0.1, 0.5) == pytest.approx(0.05)
    assert wheel.wheel_force(1000.0, 0.5) == 500.0
    assert wheel.wheel_rate(1e5, 0.75) == pytest.approx(56_250.0)
    assert wheel.wheel_rate(1e5, 1.0, 3e5) == pytest.approx(75e3)
    assert wheel.wheel_damping(3000.0, 0.75) == pytest.approx(1687.5)
    assert wheel.secant_damping([100.0, 300.0], [0.1, 0.2]) == pytest.approx([1000.0, 1500.0])
    assert wheel.tangent_damping([0.0, 1.0, 4.0], [0.0, 0.1, 0.2]) == pytest.approx([10, 20, 30])
    assert wheel.critical_damping(4e4, 100.0) == pytest.approx(4000.0)
    assert wheel.damping_ratio(1000.0, 4e4, 100.0) == pytest.approx(0.25)
    assert wheel.frequency(4e4, 100.0) == pytest.approx(20.0 / (2 * np.pi))


@pytest.mark.parametrize(
    ("ask", "said"),
    [
        (lambda: wheel.motion_ratio(0.7, "odd"), "“odd” is not a motion ratio: damper/wheel or"),
        (lambda: wheel.motion_ratio(0.0), "must be above zero: damper travel over wheel travel"),
        (lambda: wheel.motion_ratio(np.inf), "must be above zero"),
        (lambda: wheel.secant_damping([1.0], [0.0]), "at standstill has no meaning: take speeds"),
        (lambda: wheel.tangent_damping([0, 1], [0, 1]), "three or more points, speeds rising: add"),
        (lambda: wheel.tangent_damping([0, 1, 2], [0, 1, 1]), "speeds rising"),
        (lambda: wheel.tangent_damping([0, 1, 2, 3], [0, 1, 2]), "a slope needs three"),
        (lambda: wheel.tangent_damping(np.eye(3), np.eye(3)), "a slope needs three"),
    ],
)
def test_what_the_wheel_refuses(ask: Callable[[], object], said: str) -> None:
    with pytest.raises(BadNumber, match=said):
        ask()
