"""At the wheel: the joined figures against a calculation by hand, and what is missing said."""

from __future__ import annotations

from math import sqrt

import pytest

from trackside.analysis.estimate import Estimate, estimate
from trackside.analysis.knob_sweep import knob_sweep
from trackside.analysis.shed import Shed
from trackside.analysis.wheel import Lack, at_wheel, spring_at_wheel
from trackside.logbook import Logbook
from trackside.records import Adjuster, Build, Car, CarCorner, CornerSheet, Reading, Session
from trackside.records.damper import ShopRule
from trackside.reports.wheel_words import lack_words

SPEEDS = (0.05, 0.1)


def _shed(corner: CarCorner) -> Shed:
    knob = Adjuster(acts_on="rebound_bleed", clicks=10, counted_from="soft", share_per_click=0.05)
    rule = ShopRule(direction="rebound", full_hard_force=1000, reference_speed=0.1)
    build = Build(damper="D1", version="A", adjusters=(knob,), shop_rules=(rule,))
    return Shed(builds=(build,), cars={"car": Car(name="Car", FL=corner)})


def _session(**spring: float) -> Session:
    values = {name: Reading.of_si(si, "spring rate") for name, si in spring.items()}
    sheet = CornerSheet(damper="D1", rebound_bleed=Reading.of_si(10, "clicks"), **values)
    return Session(car="car", FL=sheet)


def _estimate(session: Session, shed: Shed) -> Estimate:
    return estimate(session, "FL", "rebound", shed, SPEEDS)


def test_force_and_damping_ratio_by_hand() -> None:
    # By definition ζ = c/(2√(k·m)); at the wheel c and k go with MR². 1000 N at 0.1 m/s is
    # 10 000 N·s/m, at MR 0.75 5625; 100 N/mm is 56 250 N/m; 340 kg less 40 are 300.
    shed = _shed(CarCorner(mass=340, unsprung_mass=40, motion_ratio=0.75, spring_rate=100e3))
    session = _session()
    told = _estimate(session, shed)
    assert told.force[1] == pytest.approx(1000)
    wheel = at_wheel(told, session, shed)
    assert wheel.force is not None
    assert wheel.ratio is not None
    assert wheel.force[1] == pytest.approx(750)
    assert wheel.ratio[1] == pytest.approx(5625 / (2 * sqrt(56_250 * 300)), rel=1e-6)
    assert wheel.missing == ()


def test_the_run_sheets_spring_goes_before_the_cars() -> None:
    shed = _shed(CarCorner(mass=340, unsprung_mass=40, motion_ratio=0.75, spring_rate=100e3))
    stiffer = _session(spring_rate=400e3)
    soft, stiff = (at_wheel(_estimate(s, shed), s, shed) for s in (_session(), stiffer))
    assert soft.ratio is not None
    assert stiff.ratio is not None
    # four times the rate halves ζ: k stands under the root
    assert stiff.ratio == pytest.approx(soft.ratio / 2)


def test_a_spring_off_the_damper_has_its_own_ratio() -> None:
    own = CarCorner(
        mass=340, unsprung_mass=40, motion_ratio=0.75, spring_ratio=0.375, spring_rate=400e3
    )
    same = own.model_copy(update={"spring_ratio": None, "spring_rate": 100e3})
    session = _session()
    a, b = (at_wheel(_estimate(session, _shed(c)), session, _shed(c)) for c in (own, same))
    assert a.ratio == pytest.approx(b.ratio)  # 400·0.375² = 100·0.75²


@pytest.mark.parametrize(
    ("corner", "word", "has_force"),
    [
        (CarCorner(), "motion ratio", False),
        (CarCorner(motion_ratio=0.75, mass=340, unsprung_mass=40), "spring rate", True),
        (CarCorner(motion_ratio=0.75, spring_rate=1e5, mass=340), "unsprung", True),
        (CarCorner(motion_ratio=0.75, spring_rate=1e5, mass=40, unsprung_mass=40), "mass", True),
    ],
)
def test_what_is_missing_is_said(corner: CarCorner, word: str, has_force: bool) -> None:
    shed, session = _shed(corner), _session()
    wheel = at_wheel(_estimate(session, shed), session, shed)
    assert wheel.ratio is None
    assert (wheel.force is not None) == has_force
    assert any(word in lack_words(lack) for lack in wheel.missing)


def test_a_spring_rate_that_cannot_be_read_is_not_the_cars() -> None:
    shed = _shed(CarCorner(mass=340, unsprung_mass=40, motion_ratio=0.75, spring_rate=100e3))
    sheet = _session().FL.model_copy(update={"spring_rate": Reading.of_text("12o", "spring rate")})
    odd = Session(car="car", FL=sheet)
    wheel = at_wheel(_estimate(odd, shed), odd, shed)
    assert (wheel.spring, wheel.ratio) == (None, None)
    assert wheel.missing == (Lack("spring rate", "FL", "12o"),)
    assert lack_words(wheel.missing[0]) == "the spring rate at FL, “12o”, cannot be used"
    assert wheel.force is not None


def test_the_fan_runs_from_full_hard_to_full_soft_without_the_one_in_hand() -> None:
    shed, session = _shed(CarCorner()), _session()
    at = _estimate(session, shed).setting
    assert at.adjuster is not None
    others = knob_sweep(at, at.adjuster, shed)
    assert [(s.position, s.from_hard) for s in others] == [(0, 10)]  # it stands at full hard
    middle = knob_sweep(others[0], at.adjuster, shed)
    assert [(s.position, s.from_hard) for s in middle] == [(10, 0)]


def test_a_fan_keeps_to_its_room_and_to_both_ends(samples: Logbook) -> None:
    shed, session = Shed.of(samples), samples.record(samples.session("last"))
    assert isinstance(session, Session)
    at = estimate(session, "FL", "rebound", shed, SPEEDS).setting  # 6 of 20, measured at 5, 10, 15
    fans = [knob_sweep(at, at.adjuster, shed, most) for most in range(8)]
    assert [[s.from_hard for s in one] for one in fans[2:6]] == [
        [0, 20], [0, 5, 20], [0, 5, 15, 20], [0, 5, 10, 15, 20]
    ]  # fmt: skip
    assert fans[0] == fans[1] == fans[2]
    assert fans[7] == fans[5]


RISING = CarCorner.checked(
    {
        "mass": 340, "unsprung_mass": 40, "spring_rate": 50e3,
        "motion_ratio": {"typed": "-30:0.74 0:0.80 30:0.86", "unit": "", "si": 0.8},
    }
)  # fmt: skip


def test_a_ratio_that_rises_stiffens_the_wheel_at_the_ride_position() -> None:
    # straight table: dMR/dz = 0.06/0.03 = 2 /m. Static force m·g/MR = 300·9.80665/0.8 = 3677.5 N.
    # k·MR² + F·dMR/dz = 32000 + 7355 N/m (derived by hand)
    assert spring_at_wheel(50e3, 300.0, RISING) == pytest.approx(32e3 + 2 * 300 * 9.80665 / 0.8)
    flat = RISING.model_copy(update={"motion_table": ()})
    assert spring_at_wheel(50e3, 300.0, flat) == pytest.approx(32e3)
    # not with a spring that is not on the damper: its own ratio is another
    own = RISING.model_copy(update={"spring_ratio": 0.8})
    assert spring_at_wheel(50e3, 300.0, own) == pytest.approx(32e3)


def test_the_ratio_of_damping_follows_it() -> None:
    flat = RISING.model_copy(update={"motion_table": ()})
    rising, plain = (
        at_wheel(_estimate(_session(), shed), _session(), shed)
        for shed in (_shed(RISING), _shed(flat))
    )
    # ζ goes with 1/√k of the wheel
    share = (32e3 / (32e3 + 2 * 300 * 9.80665 / 0.8)) ** 0.5
    assert rising.ratio == pytest.approx(plain.ratio * share)
    assert rising.force == pytest.approx(plain.force)
