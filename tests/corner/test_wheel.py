"""What reaches the wheel, against derived values and a published set of vehicles."""

import numpy as np
import pytest

from trackside.corner import wheel
from trackside.errors import BadNumber


@pytest.mark.parametrize(("mr", "rate", "damping"), [(0.75, 56.25e3, 1687.5), (0.6, 36e3, 1080.0)])
def test_rate_and_damping_go_with_the_square(mr, rate, damping):
    # 100 N/mm and 3000 N·s/m at the damper: derived, section 7
    assert wheel.wheel_rate(100e3, mr) == pytest.approx(rate, rel=1e-12)
    assert wheel.wheel_damping(3000, mr) == pytest.approx(damping, rel=1e-12)


def test_either_convention_comes_to_the_same():
    assert wheel.motion_ratio(1 / 0.75, "wheel/damper") == pytest.approx(0.75)
    assert wheel.motion_ratio(0.75) == 0.75
    for value, convention in (
        (0.0, "damper/wheel"),
        (0.7, "spring/wheel"),
        (np.nan, "damper/wheel"),
    ):
        with pytest.raises(BadNumber):
            wheel.motion_ratio(value, convention)


def test_power_is_the_same_on_both_ends():
    # virtual work: force times speed at the wheel equals that at the damper
    v_wheel, mr, force = 0.3, 0.82, 700.0
    assert wheel.wheel_force(force, mr) * v_wheel == pytest.approx(
        force * wheel.damper_speed(v_wheel, mr)
    )


@pytest.mark.parametrize(
    ("mass", "unsprung", "k", "c", "body", "zeta", "hop"),
    [
        (345.0947, 32.8363, 21898.332, 1459.3903, 1.26782, 0.26544, 12.77871),
        (202.1767, 32.8363, 21898.332, 1459.3903, 1.65638, 0.34679, 12.77871),
        (266.3784, 31.8961, 24453.138, 1786.2441, 1.52489, 0.34994, 12.04694),
        (216.4770, 31.8961, 19635.505, 1649.0833, 1.51578, 0.39993, 11.88709),
        (351.8346, 40.5721, 33577.443, 2405.5641, 1.55480, 0.34994, 12.39844),
        (306.4697, 40.5721, 39125.021, 2769.7272, 1.79826, 0.39993, 12.53733),
    ],
)
def test_quarter_cars(mass, unsprung, k, c, body, zeta, hop):
    # commonroad-vehicle-models 3.0.2, parameters read, figures computed: section 12. Its tyre
    # rate is not printed there; hop frequency gives it back and body frequency is checked alone.
    assert wheel.frequency(k, mass) == pytest.approx(body, rel=1e-5)
    assert wheel.damping_ratio(c, k, mass) == pytest.approx(zeta, rel=2e-5)
    tyre = (2 * np.pi * hop) ** 2 * unsprung - k
    assert wheel.frequency(k + tyre, unsprung) == pytest.approx(hop, rel=1e-9)
    assert wheel.wheel_rate(k, 1.0, tyre) < k


def test_quarter_car_of_the_road_papers():
    # set A of section 7: zeta 0.250052 at k 16e3, m 240, c 980
    assert wheel.damping_ratio(980, 16e3, 240) == pytest.approx(0.250052, rel=1e-5)
    # zeta of the rigid-tyre optimum √(k·m/2): 0.3535534, derived
    assert wheel.damping_ratio(1581.13883, 2e4, 250) == pytest.approx(0.3535534, rel=1e-6)


def test_tyre_in_series():
    assert wheel.wheel_rate(50e3, 1.0, 200e3) == pytest.approx(40e3)  # 1/(1/50 + 1/200), derived
    assert wheel.wheel_rate(50e3, 1.0, 1e12) == pytest.approx(50e3, rel=1e-6)


def test_secant_and_tangent():
    v = np.linspace(0.01, 0.5, 200)
    np.testing.assert_allclose(wheel.secant_damping(3000 * v, v), 3000)
    np.testing.assert_allclose(wheel.tangent_damping(3000 * v, v), 3000)
    # F = C·v²: the tangent is twice the secant
    square = 4000 * v**2
    np.testing.assert_allclose(
        wheel.tangent_damping(square, v)[1:-1], 2 * wheel.secant_damping(square, v)[1:-1]
    )
    with pytest.raises(BadNumber):
        wheel.secant_damping([1.0], [0.0])
    with pytest.raises(BadNumber):
        wheel.tangent_damping([1.0, 2.0], [0.1, 0.2])


def test_critical_damping():
    # c = 2√(k·m): the ratio is then one
    assert wheel.damping_ratio(wheel.critical_damping(3e4, 300), 3e4, 300) == pytest.approx(1.0)
