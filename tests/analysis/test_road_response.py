"""What a road does to a car on record: against a drive over it, and what is missing by name."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.analysis.test_axle import CAR, SESSION
from tests.analysis.test_axle import SHED as NO_TYRES
from trackside.analysis.road_drive import class_velocity, drive_both
from trackside.analysis.road_inputs import RoadTables, corner_inputs
from trackside.analysis.road_response import RoadStory, road_figures
from trackside.analysis.shed import Shed
from trackside.corner.quarter_car import QuarterCar
from trackside.corner.road import road
from trackside.errors import NoEstimate
from trackside.records import Adjuster, Car, Reading, Session
from trackside.records.fields import CORNERS

C = road("C", 40.0)


def on(car: Car, shed: Shed = NO_TYRES) -> Shed:
    return replace(shed, cars={"car": car})


def with_corners(**figures: object) -> Car:
    return CAR.model_copy(update={c: CAR.corner(c).model_copy(update=figures) for c in CORNERS})


TYRED = with_corners(tyre_rate=220e3)
ADJUSTERS = tuple(
    Adjuster(acts_on=name, clicks=20, counted_from="hard")  # type: ignore[arg-type]
    for name in ("bump_bleed", "rebound_bleed")
)
SHED = on(
    TYRED,
    replace(
        NO_TYRES,
        builds=tuple(b.model_copy(update={"adjusters": ADJUSTERS}) for b in NO_TYRES.builds),
    ),
)


def clicked(bump: float = 5, rebound: float = 5, corners: tuple[str, ...] = CORNERS) -> Session:
    found = SESSION
    for corner in CORNERS:
        here = (bump, rebound) if corner in corners else (5, 5)
        for name, clicks in zip(("bump_bleed", "rebound_bleed"), here, strict=True):
            reading = Reading.of_text(f"{clicks:g}", "clicks")
            found = found.with_value(f"{corner}.{name}", reading)
    return found


def story(changed: Session | None = None, base: Session | None = None) -> RoadStory:
    return road_figures(base or clicked(), changed, C, RoadTables(SHED))


def test_the_corner_is_that_of_the_record() -> None:
    """By hand: 340 kg on the scales, 40 unsprung, 50 N/mm at MR 0.8 is 32 N/mm at the wheel."""
    found = corner_inputs(clicked(), "FL", RoadTables(SHED))
    assert found.car == QuarterCar(300.0, 40.0, found.car.rate, 220e3)
    assert found.car.rate == pytest.approx(32e3)
    front = story().corners[0].now
    assert front is not None
    assert front.static == pytest.approx(340.0 * 9.80665)
    # its force at the wheel: the shop rule's at 80 mm/s of the rod, 5 clicks of 5 %, times MR
    bump, rebound = np.interp([-0.1, 0.1], found.speeds, found.forces[0])
    assert (-bump, rebound) == pytest.approx((400 * 0.75 * 0.8, 800 * 0.75 * 0.8), rel=0.005)


def test_it_is_what_a_drive_over_that_road_shows() -> None:
    """Ten minutes of road, the true curves, no stop: body and tyre within 3 %, travel within 6 %,
    pump-down within 0.3 mm; steps of a set-up within 0.03 of their rms."""
    base, changed = clicked(), clicked(2, 9)
    told, tables = story(changed), RoadTables(SHED)
    driven = drive_both(base, changed, class_velocity(C, 600.0, 3), tables)
    assert driven is not None
    for foretold, shown in zip(told.corners, driven.corners, strict=True):
        for one, other in ((foretold.now, shown.now), (foretold.then, shown.then)):
            assert one is not None
            assert other is not None
            figures = one.figures
            assert figures.body.value == pytest.approx(other.body, rel=0.03)
            assert figures.tyre.value == pytest.approx(other.tyre, rel=0.03)
            assert figures.travel.value == pytest.approx(other.travel, rel=0.06)
            assert figures.pump_down.value == pytest.approx(other.pump_down, abs=0.0003)
        assert foretold.change is not None
        assert shown.tyre is not None
        assert shown.now is not None
        assert foretold.change.tyre.value == pytest.approx(
            shown.tyre.change, abs=0.03 * shown.now.tyre
        )


def test_the_same_set_up_changes_nothing_and_the_road_cannot_tell() -> None:
    same = story(clicked())
    for corner in same.corners:
        assert corner.change is not None
        for name in ("body", "tyre", "travel", "pump_down"):
            change = getattr(corner.change, name)
            assert (change.value, change.low, change.high) == pytest.approx((0, 0, 0), abs=1e-9)
            assert not change.is_clear
    assert same.turn.change is not None
    assert same.turn.change.value == 0.0
    driven = drive_both(clicked(), clicked(), class_velocity(C, 20.0), RoadTables(SHED))
    assert driven is not None
    assert driven.cannot_tell


def test_softer_and_more_rebound_do_what_they_must() -> None:
    """Laws: less damping, more travel; more rebound than bump pulls down (E[f]/k, derived); a front
    that is stiffened in damping alone is asked first in the turn."""
    soft = story(clicked(10, 10)).corners[0].change
    assert soft is not None
    assert soft.travel.value > 0.0
    assert soft.travel.is_clear
    down = story(clicked(5, 0)).corners[0].change
    assert down is not None
    assert down.pump_down.value > 0.0
    front = story(clicked(0, 0, ("FL", "FR"))).turn
    assert front.change is not None
    assert front.change.value > 0.0
    assert front.change.is_clear
    assert front.now is not None
    assert front.then is not None
    assert front.change.value == pytest.approx(front.then.value - front.now.value)


def test_bands_hold_their_figures_and_a_change_is_told_closer_than_both() -> None:
    for corner in story(clicked(3, 7)).corners:
        assert corner.now is not None
        assert corner.then is not None
        assert corner.change is not None
        for name in ("body", "tyre", "travel", "pump_down"):
            now, then, change = (
                getattr(x, name) for x in (corner.now.figures, corner.then.figures, corner.change)
            )
            assert now.low <= now.value <= now.high
            assert now.low < now.high
            assert change.low <= change.value <= change.high
            assert change.value == pytest.approx(then.value - now.value, abs=1e-12)
            assert change.high - change.low < (now.high - now.low) + (then.high - then.low)


def test_a_spring_changes_the_corner_too() -> None:
    stiff = clicked()
    for corner in CORNERS:
        rate = Reading.of_text("90", "spring rate")
        stiff = stiff.with_value(f"{corner}.spring_rate", rate)
    change = story(stiff).corners[0].change
    assert change is not None
    assert change.body.value > 0.0


@pytest.mark.parametrize(
    ("figures", "said"),
    [
        ({"tyre_rate": None}, "no tyre rate on record at"),
        ({"tyre_rate": None, "mass": None}, "no mass, no tyre rate on record at"),
        ({"unsprung_mass": 340.0}, "not below the mass"),
        ({"motion_ratio": None}, "no motion ratio on record at"),
    ],
)
def test_what_is_missing_is_named_and_nothing_guessed(figures: dict, said: str) -> None:
    shed = replace(SHED, cars={"car": with_corners(**({"tyre_rate": 220e3} | figures))})
    found = road_figures(clicked(), None, C, RoadTables(shed))
    for corner in found.corners:
        assert corner.now is None
        assert corner.why is not None
        assert said in corner.why.cause
    assert found.turn.now is None
    with pytest.raises(NoEstimate, match=said):
        drive_both(clicked(), None, class_velocity(C, 5.0), RoadTables(shed))


def test_one_corner_without_a_figure_leaves_the_others() -> None:
    odd = TYRED.model_copy(update={"RL": TYRED.RL.model_copy(update={"tyre_rate": None})})
    found = road_figures(clicked(), None, C, RoadTables(on(odd, SHED)))
    assert [corner.now is not None for corner in found.corners] == [True, True, False, True]
    assert found.turn.why is not None
    driven = drive_both(clicked(), None, class_velocity(C, 5.0), RoadTables(on(odd, SHED)))
    assert driven is not None
    assert driven.corners[2].why is not None
    assert driven.corners[3].now is not None


def test_another_build_shares_no_error_so_its_change_is_told_less_closely() -> None:
    """The other set-up has another damper with the same rule: no change, and the band of both."""
    twin = SHED.builds[0].model_copy(update={"damper": "T"})
    shed = replace(SHED, builds=(*SHED.builds, twin))
    swapped = clicked().with_value("FL.damper", "T")
    found = road_figures(clicked(), swapped, C, RoadTables(shed)).corners[0]
    assert found.change is not None
    assert found.now is not None
    for name in ("body", "tyre", "travel", "pump_down"):
        change, now = getattr(found.change, name), getattr(found.now.figures, name)
        assert change.value == pytest.approx(0.0, abs=1e-12)
        half = np.hypot(now.high - now.value, now.value - now.low)
        assert change.high == pytest.approx(half)
        assert change.low == pytest.approx(-half)
        assert not change.is_clear


def test_a_damper_that_is_in_no_shed_leaves_its_corner_out() -> None:
    lost = clicked().with_value("FR.damper", "gone")
    found = road_figures(lost, None, C, RoadTables(SHED))
    assert found.corners[1].why is not None
    assert "not in the damper shed" in found.corners[1].why.cause
    driven = drive_both(lost, None, class_velocity(C, 5.0), RoadTables(SHED))
    assert driven is not None
    assert [pair.now is not None for pair in driven.corners] == [True, False, True, True]


def test_bars_are_named_since_their_rates_are_not_on_record() -> None:
    barred = clicked().model_copy(update={"items": {"Front bar": "28 mm", "Barrel": "x"}})
    assert story(base=barred).turn.bars == ("Front bar",)


def test_a_stop_and_a_light_tyre_are_told_where_they_come_into_it() -> None:
    car = with_corners(tyre_rate=220e3, stop_gap=0.012).model_copy(
        update={"stops": "red = 5:400 10:1300"}
    )
    stopped = clicked()
    for corner in CORNERS:
        stopped = stopped.with_value(f"{corner}.bump_stop", "red")
        stopped = stopped.with_value(f"{corner}.packers", Reading.of_text("2", "length"))
    tables = RoadTables(on(car, SHED))
    front = road_figures(stopped, None, C, tables).corners[0].now
    assert front is not None
    assert front.stop == pytest.approx(0.010 / 0.8)
    assert front.stops
    driven = drive_both(stopped, None, class_velocity(C, 20.0), tables)
    assert driven is not None
    assert driven.corners[0].now is not None
    assert driven.corners[0].now.stopped > 0.0
    smooth = road_figures(stopped, None, road("A", 20.0), tables).corners[0].now
    rough = road_figures(stopped, None, road("E", 40.0), tables).corners[0].now
    assert smooth is not None
    assert rough is not None
    assert (smooth.stops, smooth.lifts, rough.lifts) == (False, False, True)
