"""A corner and its bump stop: by hand, and what is unknown said."""

import pytest

from trackside.analysis.shed import Shed
from trackside.analysis.stops import at_stop
from trackside.errors import NoEstimate
from trackside.records import Car, CarCorner, CornerSheet, Reading, Session


def shed(**corner):
    figures = {"motion_ratio": 0.8, "stop_gap": 0.020} | corner
    return Shed(cars={"car": Car(name="Car", stops="red = 50/1/20", FL=CarCorner(**figures))})


def session(stop="red", packers=0.004):
    reading = None if packers is None else Reading.of_si(packers, "length")
    return Session(car="car", FL=CornerSheet(bump_stop=stop, packers=reading))


def test_where_it_starts_and_what_it_adds():
    # gap 20 less packers 4 is 16 mm at the rod, 20 at the wheel (MR 0.8); 5 mm further the stop is
    # 4 mm in: 250 N and 78.125 N/mm at the rod, 200 N and 50 N/mm at the wheel; derived
    found = at_stop(session(), "FL", shed(), [0.025])
    assert found.damper == pytest.approx(0.016)
    assert found.wheel == pytest.approx(0.020)
    assert found.force == pytest.approx([200])
    assert found.rate == pytest.approx([50e3])
    assert at_stop(session(packers=0.0), "FL", shed()).damper == pytest.approx(0.020)
    told = at_stop(session(), "FL", shed())
    assert told.travel == pytest.approx([0.0225, 0.02625, 0.0325])
    assert all(told.force > 0)


def test_no_stop_is_no_matter_and_an_unknown_one_is_said():
    assert at_stop(session(stop=None), "FL", shed()) is None
    for made, known, said in (
        (session("green"), shed(), "no curve on record for the bump stop green"),
        (session(), Shed(), "no curve on record"),
        (session(), shed(motion_ratio=None), "motion ratio at FL"),
        (session(), shed(stop_gap=None), "gap to the bump stop"),
        (session(packers=None), shed(), "packers at FL are not entered"),
    ):
        with pytest.raises(NoEstimate, match=said):
            at_stop(made, "FL", known)
    odd = Session(car="car", FL=CornerSheet(bump_stop="red", packers=Reading(typed="two")))
    with pytest.raises(NoEstimate, match="packers"):
        at_stop(odd, "FL", shed())


def test_a_ratio_over_travel_moves_the_contact():
    # a ratio of 0.8 all along is the number 0.8: the same answers
    level = shed(motion_table=((-0.05, 0.8), (0.0, 0.8), (0.08, 0.8)))
    found, plain = (at_stop(session(), "FL", known) for known in (level, shed()))
    assert found.wheel == pytest.approx(plain.wheel)
    assert found.force == pytest.approx(plain.force)
    assert found.rate == pytest.approx(plain.rate)
    # 0.80 rising by 1 /m: rod travel 0.8·z + z²/2 = 16 mm at z = 19.76 mm (derived); there the
    # stop 4 mm in, 250 N and 78.125 N/mm, is at z with 0.8·z + z²/2 = 20 mm
    rising = shed(motion_table=((-0.05, 0.75), (0.0, 0.8), (0.08, 0.88)))
    there = (0.64 + 2 * 0.020) ** 0.5 - 0.8
    found = at_stop(session(), "FL", rising, [there])
    assert found.wheel == pytest.approx((0.64 + 2 * 0.016) ** 0.5 - 0.8)
    assert found.force == pytest.approx([250 * (0.8 + there)])
    assert found.rate == pytest.approx([78.125e3 * (0.8 + there) ** 2 + 250 * 1.0])
    short = shed(motion_table=((-0.05, 0.75), (0.0, 0.8), (0.01, 0.81)))
    with pytest.raises(NoEstimate, match="mm of damper travel only"):
        at_stop(session(), "FL", short)
