"""What reaches the wheel, against derived values and a published set of vehicles."""

import numpy as np
import pytest

from trackside.corner import wheel
from trackside.errors import BadNumber


@pytest.mark.parametrize(("mr", "rate", "damping"), [(0.75, 56.25e3, 1687.5), (0.6, 36e3, 1080.0)])
def test_rate_and_damping_go_with_the_square(mr, rate, damping):
    # 100 N/mm and 3000 N·s/m at the damper, k·MR² and c·MR²: derived (virtual work)
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
    ("mass", "unsprung", "k", "c", "tyre", "body", "zeta", "hop"),
    [
        (345.0947, 32.8363, 21898.332, 1459.3903, 189785.548, 1.26782, 0.26544, 12.77871),
        (202.1767, 32.8363, 21898.332, 1459.3903, 189785.548, 1.65638, 0.34679, 12.77871),
        (266.3784, 31.8961, 24453.138, 1786.2441, 158294.140, 1.52489, 0.34994, 12.04694),
        (216.4770, 31.8961, 19635.505, 1649.0833, 158294.140, 1.51578, 0.39993, 11.88709),
        (351.8346, 40.5721, 33577.443, 2405.5641, 212641.567, 1.55480, 0.34994, 12.39844),
        (306.4697, 40.5721, 39125.021, 2769.7272, 212641.567, 1.79826, 0.39993, 12.53733),
    ],
)
def test_quarter_cars(mass, unsprung, k, c, tyre, body, zeta, hop):
    # commonroad-vehicle-models 3.0.2, parameters_vehicle1 to 3.yaml: K_sf, K_sr, K_sdf, K_sdr and
    # K_zt read, masses a corner from m_s, m_uf, a and b read there; frequencies and ratios computed
    # from √(k/m)/2π, c/(2√(k·m)) and √((k + k_tyre)/m_unsprung)/2π (derived)
    assert wheel.frequency(k, mass) == pytest.approx(body, rel=1e-5)
    assert wheel.damping_ratio(c, k, mass) == pytest.approx(zeta, rel=2e-5)
    assert wheel.frequency(k + tyre, unsprung) == pytest.approx(hop, rel=1e-5)
    assert wheel.wheel_rate(k, 1.0, tyre) == pytest.approx(k * tyre / (k + tyre))


def test_quarter_car_of_the_road_papers():
    # 240 kg, 16 kN/m, 980 N·s/m: parameters from memory, as many papers on ride have them; the
    # ratio is computed from c/(2√(k·m))
    assert wheel.damping_ratio(980, 16e3, 240) == pytest.approx(0.250052, rel=1e-5)
    # at the optimum √(k·m/2) of a body on a rigid tyre (from memory) the ratio is √2/4: derived
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
