"""A curve from the build sheet: needle, preload, stack and ports, and how sure it is."""

from dataclasses import replace
from math import pi, radians

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.damper.basis import Basis, weakest
from trackside.damper.flow import FlowPath, force_at
from trackside.damper.parts import Needle, PartsCurve, ValveParts, path_from_parts, revalved
from trackside.damper.shop import shop_curve
from trackside.damper.stack import Stack
from trackside.errors import BadNumber

AREA = pi / 4 * (0.046**2 - 0.014**2)
EQUAL = ((0.030, 0.2e-3),) * 4
PYRAMID = tuple((d, 0.2e-3) for d in (0.030, 0.026, 0.022, 0.018))
PARTS = ValveParts(
    piston_area=AREA,
    stack=Stack(EQUAL, 0.014),
    seat=0.028,
    preload=0.1e-3,
    port_area=150e-6,
    pressed_area=300e-6,
    bleed_area=pi / 4 * 0.0015**2,
    needle=Needle(0.003, radians(15), 0.05e-3),
)
SPEEDS = np.array([0.025, 0.05, 0.1, 0.25, 0.5, 1.0])


def force(parts, position=0.0, speeds=SPEEDS):
    return force_at(speeds, path_from_parts(parts, position))


@pytest.mark.parametrize(("lift", "area"), [(0.1e-3, 0.24189844e-6), (0.5e-3, 1.16883702e-6)])
def test_needle_area(lift, area):
    # perpendicular to the cone, 3 mm, half angle 15°: derived from the form π·(a + r)·s of a text
    # on poppets (read)
    assert Needle(0.003, radians(15), lift).area(1) == pytest.approx(area, rel=1e-6)


def test_needle_at_thirty_degrees():
    # derived; the true least area there is 2.18394 mm²: 0.1 % less
    assert Needle(0.003, radians(30), 0.5e-3).area(1) == pytest.approx(2.18615080e-6, rel=1e-6)


@pytest.mark.parametrize(
    ("degrees", "lift", "least"),
    [(15, 0.1e-3, 0.24189783e-6), (15, 0.5e-3, 1.16875768e-6), (30, 0.5e-3, 2.18394081e-6)],
)
def test_the_true_least_area_is_a_little_smaller(degrees, lift, least):
    # the frustum from the seat's edge to any point of the cone, minimised with scipy: computed.
    # That the true one is slightly smaller: Aranovich, Machine Design, 8 April 1999 (read)
    area = float(Needle(0.003, radians(degrees), lift).area(1))
    assert least < area < 1.0011 * least


def test_a_needle_opens_steadily_and_never_beyond_its_bore():
    areas = Needle(0.003, radians(20), 0.1e-3).area(np.arange(200))
    assert areas[0] == 0
    assert np.all(np.diff(areas) >= 0)
    assert areas[-1] == pytest.approx(pi / 4 * 0.003**2)


def test_reference_damper():
    # The damper of the orifice law's table (derived): D 46, rod 14, 850 kg/m³, Cd 0.7, a 2 mm
    # bleed, crack at 1 MPa, growth 6e-12 m²/Pa. Parts are chosen to make those; the port is wide.
    alone = Stack(((0.030, 0.3e-3),), 0.014)
    parts = ValveParts(AREA, alone, 0.028, 0.0, 1.0, bleed_area=pi / 4 * 0.002**2)
    given_by = parts.give
    pressed = 6e-12 / (pi * 0.028 * given_by.seat)  # lift per pascal is 6e-12 / edge
    preload = 1e6 * pressed * given_by.seat
    parts = replace(parts, pressed_area=pressed, preload=preload)
    speeds = [0.01, 0.025, 0.05, 0.0707395573, 0.2, 1.0]
    forces = [30.13467, 188.34169, 753.36674, 1507.96447, 2464.55480, 6215.94736]
    np.testing.assert_allclose(force(parts, 0, speeds), forces, rtol=1e-6)


def test_common_practice():
    # common practice, no source: it is what the trade expects of these changes
    narrow, wide = PARTS, replace(PARTS, stack=Stack(EQUAL, 0.018))
    pyramid = replace(PARTS, stack=Stack(PYRAMID, 0.014))
    assert np.all(force(wide)[-3:] > 1.1 * force(narrow)[-3:])  # a wider clamp disc
    assert np.all(force(narrow)[-3:] > 1.1 * force(pyramid)[-3:])  # equal discs over a pyramid
    cracks = [
        float(path_from_parts(replace(PARTS, preload=0.5e-3 - spacer)).crack)
        for spacer in (0.5e-3, 0.4e-3, 0.3e-3)  # under the same 0.5 mm seat step
    ]
    assert cracks[0] == 0 < cracks[1] < cracks[2]
    much = replace(PARTS, bleed_area=8 * PARTS.bleed_area)
    assert np.all(force(much)[:2] < [0.05, 0.15] * force(PARTS)[:2])  # little low-speed force
    assert force(much)[-1] > 0.5 * force(PARTS)[-1]


@given(st.floats(0, 30), st.floats(0, 30), st.floats(0, 2))
def test_force_falls_as_the_needle_opens_and_rises_with_speed(one, other, speed):
    hard, soft = sorted((one, other))
    at = np.array([speed, speed + 0.01])
    closed, opened = force(PARTS, hard, at), force(PARTS, soft, at)
    assert np.all(opened <= closed * (1 + 1e-9))
    assert opened[1] > opened[0]


def metres(low, high):
    """Millimetres from low to high, in m."""
    return st.floats(low, high).map(lambda mm: mm * 1e-3)


@given(
    st.lists(metres(0.05, 0.5), min_size=1, max_size=5), metres(8, 26), metres(-0.3, 0.6),
    st.floats(0, 3e-6), st.floats(1e-6, 1e-3), st.floats(0, 40),
)  # fmt: skip
def test_any_parts_make_a_rising_finite_curve(thicknesses, clamp, preload, bleed, port, position):
    discs = tuple((0.030 - 0.0005 * n, t) for n, t in enumerate(thicknesses))
    parts = replace(
        PARTS, stack=Stack(discs, clamp), preload=preload, bleed_area=bleed, port_area=port
    )
    answer = PartsCurve(parts).predict(position, SPEEDS)
    assert np.all(np.isfinite(answer.high))
    assert np.all(np.diff(answer.force) > 0)
    assert np.all((answer.low > 0) & (answer.low < answer.force))


def test_discs_that_stand_off_bleed():
    off = path_from_parts(replace(PARTS, preload=-0.05e-3))
    assert float(off.crack) == 0
    assert float(off.bleed) > float(path_from_parts(PARTS).bleed)
    assert PartsCurve(replace(PARTS, preload=-0.05e-3)).limits.remarks[-1] == "standing off"


def test_the_widest_band_and_the_weakest_standing():
    answer = PartsCurve(PARTS).predict(5, SPEEDS)
    assert answer.basis is Basis.FROM_PARTS
    assert weakest(*Basis) is Basis.FROM_PARTS
    assert np.all((answer.low < answer.force) & (answer.force < answer.high))
    shop = shop_curve(500, 0.1, 0.03).predict(0, [0.1])
    assert np.all(answer.high / answer.low > shop.high / shop.low)


def test_what_theory_leaves_out_widens_the_band_upwards():
    curve = PartsCurve(PARTS)
    answer = curve.predict(5, [*SPEEDS, 3.0])
    up, down = answer.high / answer.force, answer.force / answer.low
    assert np.all(up > down)
    assert answer.force[-1] > 4 * curve.limits.linear_to
    assert up[-1] > up[3]  # far-bent discs are stiffer than the theory says
    tight = PartsCurve(replace(PARTS, preload=0.01e-3)).predict(0, SPEEDS)
    assert (tight.force / tight.low)[0] > 1.1 * down[0]  # a gauge's error may open a gap


def test_differences():
    curve = PartsCurve(PARTS)
    click = curve.difference(5, 4, SPEEDS)
    assert np.all(click.change > 0)
    np.testing.assert_allclose(
        click.change, curve.predict(4, SPEEDS).force - curve.predict(5, SPEEDS).force
    )
    alone = curve.predict(5, SPEEDS)
    assert np.all(click.high - click.low < alone.high - alone.low)
    still = curve.difference(5, 5, SPEEDS)
    np.testing.assert_array_equal(still.high, 0)
    stiffer = PartsCurve(replace(PARTS, stack=Stack((*EQUAL, EQUAL[0]), 0.014)))
    found = revalved(curve, 5, stiffer, 5, SPEEDS)
    assert np.all(found.change > -1e-9)
    assert np.all(found.low < found.change)
    assert found.basis is Basis.FROM_PARTS


def test_where_theory_and_discs_end():
    # half a thickness (a textbook's chapter on circular plates, read) and 1200 MPa (no source), for
    # one disc of the worked plate: 18.79 N and 63.72 N on it (532.0937 µm and 1883.30 MPa at 100 N,
    # derived), seen at a piston of twice the pressed area
    plain = PartsCurve(ValveParts(2e-4, Stack(((0.020, 0.2e-3),), 0.010), 0.020, 0.0, 1e-4))
    assert plain.limits.linear_to == pytest.approx(2 * 18.7937, rel=1e-5)
    assert plain.limits.safe_to == pytest.approx(2 * 63.7179, rel=1e-5)
    assert plain.limits.remarks == ()
    crossover = Stack(((0.03, 2e-4), (0.02, 1e-4), (0.028, 2e-4)), 0.014)
    assert PartsCurve(replace(PARTS, stack=crossover)).limits.remarks[0] == "second stage"
    assert PartsCurve(replace(PARTS, stack=None)).limits.safe_to == np.inf


def test_zero_speed_and_no_stack():
    assert isinstance(path_from_parts(PARTS), FlowPath)
    assert PartsCurve(PARTS).predict(0, [0.0]).force == pytest.approx([0.0])
    orifice = replace(PARTS, stack=None, needle=None)
    np.testing.assert_allclose(force(orifice) / SPEEDS**2, force(orifice)[0] / SPEEDS[0] ** 2)


@pytest.mark.parametrize(
    "wrong",
    [
        {"piston_area": 0.0},
        {"port_area": -1e-6},
        {"seat": float("nan")},
        {"bleed_area": -1e-9},
        {"stack": None, "bleed_area": 0.0, "needle": None},
        {"pressed_area": -1e-5},
    ],
)
def test_parts_that_cannot_be_are_refused(wrong):
    with pytest.raises(BadNumber):
        replace(PARTS, **wrong)
    with pytest.raises(BadNumber):
        Needle(0.003, radians(95), 1e-4)
