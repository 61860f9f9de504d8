"""Four corners: by hand, against quarter cars, and against the whole body's own equations."""

import numpy as np
import pytest

from trackside.corner.axle import (
    Wheel,
    both_ways,
    coupling,
    heave,
    pitch,
    roll,
    roll_share,
    wheels_of,
)
from trackside.corner.wheel import damping_ratio, frequency
from trackside.errors import BadNumber

# wheels by hand: 1200 kg, wheelbase 2.5 m with 60 % in front, tracks 1.6 m
HAND = wheels_of((360, 360, 240, 240), 2.5, (1.6, 1.6), (30e3, 30e3, 25e3, 25e3), (3e3,) * 4)


def test_places_by_hand():
    # 40 % of 2.5 m: the front wheels are 1.0 m ahead, the rear 1.5 m behind
    assert [(w.x, w.y) for w in HAND] == [
        pytest.approx(p) for p in ((1.0, 0.8), (1.0, -0.8), (-1.5, 0.8), (-1.5, -0.8))
    ]
    lopsided = wheels_of((400, 300, 300, 200), 2.5, (1.6, 1.6), (1,) * 4, (1,) * 4)
    assert sum(
        m * w.y for m, w in zip((400, 300, 300, 200), lopsided, strict=True)
    ) == pytest.approx(0)


def test_modes_by_hand():
    # heave 110 kN/m on 1000 kg: √110 = 10.488 rad/s, 1.6692 Hz; ζ = 12000/(2√(110e3·1000)) = .5721
    up = heave(HAND, 1000)
    assert up.rate == pytest.approx(110e3)
    assert up.frequency == pytest.approx(1.66924, rel=1e-5)
    assert up.ratio == pytest.approx(0.572078, rel=1e-5)
    # pitch: 60e3·1 + 50e3·2.25 = 172.5 kN·m/rad; damping 6e3 + 6e3·2.25 = 19.5 kN·m·s/rad
    nod = pitch(HAND, 1500)
    assert (nod.rate, float(nod.damping)) == pytest.approx((172.5e3, 19.5e3))
    assert nod.ratio == pytest.approx(19.5e3 / (2 * np.sqrt(172.5e3 * 1500)))
    # roll: 110e3·0.64 = 70.4 kN·m/rad, and 20 more from the bars
    lean = roll(HAND, 400, bars=20e3)
    assert lean.rate == pytest.approx(90.4e3)
    assert float(lean.damping) == pytest.approx(12e3 * 0.64)
    assert roll_share(HAND) == pytest.approx(60 / 110)
    assert roll_share(HAND, front_bar=20e3) == pytest.approx((38.4 + 20) / 90.4)
    # Σk·x = 60e3 − 75e3 = −15 kN: the rear is stiffer about the centre of gravity
    assert coupling(HAND) == pytest.approx(-15e3 / np.sqrt(110e3 * 172.5e3))


@pytest.mark.parametrize(
    ("front", "rear", "body", "zeta"),
    [
        ((345.0947, 21898.332, 1459.3903), (202.1767, 21898.332, 1459.3903),
         (1.26782, 1.65638), (0.26544, 0.34679)),
        ((266.3784, 24453.138, 1786.2441), (216.4770, 19635.505, 1649.0833),
         (1.52489, 1.51578), (0.34994, 0.39993)),
        ((351.8346, 33577.443, 2405.5641), (306.4697, 39125.021, 2769.7272),
         (1.55480, 1.79826), (0.34994, 0.39993)),
    ],
)  # fmt: skip
def test_axles_of_published_cars(front, rear, body, zeta):
    # commonroad-vehicle-models 3.0.2, per corner: parameters read, frequencies and ratios computed
    # from √(k/m)/2π and c/(2√(k·m)); an axle is two quarter cars (derived)
    for (mass, k, c), f, ratio in zip((front, rear), body, zeta, strict=True):
        axle = heave([Wheel(1, 0.7, k, c), Wheel(1, -0.7, k, c)], 2 * mass)
        assert axle.frequency == pytest.approx(f, rel=1e-5)
        assert axle.ratio == pytest.approx(ratio, rel=2e-5)


def test_uncoupled_modes_are_the_bodys_own():
    # rates that balance about the centre of gravity: heave and pitch are then the eigenvectors of
    # the body's matrices, found here numerically
    wheels = wheels_of((300,) * 4, 2.4, (1.5, 1.5), (30e3,) * 4, (2e3,) * 4)
    assert coupling(wheels) == pytest.approx(0)
    k = sum(w.rate * np.outer([1, w.x, w.y], [1, w.x, w.y]) for w in wheels)
    inertia = np.diag([1000.0, 1400.0, 350.0])
    found = np.sqrt(np.sort(np.linalg.eigvals(np.linalg.solve(inertia, k)).real)) / 2 / np.pi
    told = sorted([heave(wheels, 1000).frequency, pitch(wheels, 1400).frequency,
                   roll(wheels, 350).frequency])  # fmt: skip
    assert told == pytest.approx(list(found))


def test_against_speed_and_what_is_unknown():
    c = both_ways([4000.0, 3000.0], [8000.0, 5000.0])
    np.testing.assert_allclose(c, [6000, 4000])
    axle = heave([Wheel(1, 0.8, 30e3, c), Wheel(1, -0.8, 30e3, c)], 700)
    np.testing.assert_allclose(axle.ratio, damping_ratio(2 * c, 60e3, 700))
    assert axle.frequency == pytest.approx(float(frequency(60e3, 700)))
    blank = pitch(HAND, None)
    assert blank.rate > 0
    assert (blank.frequency, blank.ratio) == (None, None)


@pytest.mark.parametrize("masses", [(1, 1, 1), (0, 1, 1, 1), (1, 1, 1, float("nan"))])
def test_sizes_that_cannot_be(masses):
    with pytest.raises(BadNumber):
        wheels_of(masses, 2.5, (1.6, 1.6), (1,) * 4, (1,) * 4)
