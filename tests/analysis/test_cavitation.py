"""Cavitation of a corner against the reference damper's table, and what is unknown said."""

from dataclasses import replace
from math import pi

import pytest

from tests.analysis.garage import corner
from tests.analysis.test_parts import BUILD
from trackside.analysis import estimate as estimates
from trackside.analysis.cavitation import cavitation
from trackside.analysis.shed import Shed
from trackside.damper.parts import PartsCurve, ValveParts
from trackside.damper.stack import Stack
from trackside.errors import NoEstimate
from trackside.records import Reading, Session


def session(gauge=None, read_at=None, body=None, **more):
    values = {
        "gas_pressure": (gauge, "pressure"),
        "gas_temperature": (read_at, "temperature"),
        "body_temperature": (body, "temperature"),
    }
    given = {n: Reading.of_si(si, kind) for n, (si, kind) in values.items() if si is not None}
    return Session(car="car", FL=corner("NEW", 8, 8, **given), **more)


SHED = Shed(builds=(BUILD,))


@pytest.fixture
def reference(monkeypatch):
    """The reference damper: D 46, rod 14, a 2 mm bleed at Cd 0.7, crack 1 MPa, 6e-12 m²/Pa."""
    area = pi / 4 * (0.046**2 - 0.014**2)
    plain = ValveParts(
        area, Stack(((0.030, 0.3e-3),), 0.014), 0.028, 0.0, 1.0, bleed_area=pi / 4 * 0.002**2
    )
    assert plain.give is not None
    pressed = 6e-12 / (pi * 0.028 * plain.give.seat)
    made = PartsCurve(replace(plain, pressed_area=pressed, preload=1e6 * pressed * plain.give.seat))
    monkeypatch.setattr(estimates, "parts_curve", lambda build, direction: made)


@pytest.mark.usefixtures("reference")
@pytest.mark.parametrize(
    ("absolute", "limit", "speed"), [(1e6, 1507.964, 0.070740), (2e6, 3015.929, 0.291105)]
)
def test_the_reference_damper(absolute, limit, speed):
    # monotube, rigid oil, no vapour pressure: derived, from the orifice law's table
    found = cavitation(session(absolute - 101325), "FL", SHED, 0.2)
    assert found.limit == pytest.approx(limit, rel=1e-6)
    assert found.speed == pytest.approx(speed, rel=1e-5)
    assert found.margin == pytest.approx(limit / 2464.55480, rel=1e-6)  # force at 0.2 m/s there
    assert found.is_reached
    assert found.least < found.margin
    assert found.at_C is None


@pytest.mark.usefixtures("reference")
def test_the_caution_comes_as_soon_as_the_band_reaches_the_limit():
    near = cavitation(session(2e6), "FL", SHED, 0.2)
    assert near.least < 1 < near.margin
    assert near.is_reached
    far = cavitation(session(6e6), "FL", SHED, 0.2)
    assert far.least > 1
    assert not far.is_reached


def test_a_charge_that_cannot_be_is_no_estimate():
    with pytest.raises(NoEstimate, match="charge at FL"):
        cavitation(session(2e6, -300.0, 60.0), "FL", SHED, 0.2)


def test_the_charge_at_body_temperature():
    # 300 psi gauge at 20 °C is 367.6941 psi at 80 °C: computed with CoolProp 8.0.0, volume held
    psi = 6894.757293168361
    warm = cavitation(session(300 * psi, 20, 80), "FL", SHED, 0.5)
    assert warm.pressure / psi == pytest.approx(367.6941, rel=1e-4)
    assert warm.at_C == 80
    cold = cavitation(session(300 * psi, 20), "FL", SHED, 0.5)
    assert (cold.pressure, cold.at_C) == (pytest.approx(300 * psi), 20)
    assert cold.limit < warm.limit
    # a body temperature alone says nothing about the temperature of the reading
    assert cavitation(session(300 * psi, None, 80), "FL", SHED, 0.5).at_C is None


def test_the_sessions_barometer_counts():
    high = session(1e6, air_pressure=Reading.of_si(8e4, "barometric pressure"))
    low, usual = (cavitation(s, "FL", SHED, 0.5).limit for s in (high, session(1e6)))
    assert low / usual == pytest.approx((1e6 + 8e4) / (1e6 + 101325))


def test_what_is_unknown_is_said():
    with pytest.raises(NoEstimate, match="charge at FL was not read in this session"):
        cavitation(session(), "FL", SHED, 0.5)
    bare = Shed(builds=(BUILD.model_copy(update={"rod_diameter": None}),))
    with pytest.raises(NoEstimate, match="piston or rod"):
        cavitation(session(1e6), "FL", bare, 0.5)
    with pytest.raises(NoEstimate, match="no damper is entered"):
        cavitation(session(1e6), "RR", SHED, 0.5)
