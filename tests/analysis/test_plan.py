"""What a plan does: the same figures that every other page gives, and the height by closed form."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from trackside.analysis.cavitation import cavitation
from trackside.analysis.estimate import setting
from trackside.analysis.estimate_cache import EstimateCache
from trackside.analysis.plan import Left, PlannedCorner, PlannedForce, plan_facts
from trackside.analysis.shed import Shed
from trackside.analysis.worth import step_between
from trackside.errors import NoEstimate
from trackside.logbook import Logbook
from trackside.records import Reading, Session

SPEEDS = (0.025, 0.05, 0.1, 0.2)


def facts(
    samples: Logbook, **cells: Reading | str
) -> tuple[Session, Session, Shed, dict[str, PlannedCorner]]:
    run = samples.session_record(samples.session("last"))
    planned = run
    for path, value in cells.items():
        planned = planned.with_value(path.replace("__", "."), value)
    shed = Shed.of(samples)
    found = plan_facts(run, planned, shed, EstimateCache(shed, SPEEDS), 0.5)
    return run, planned, shed, found


def test_a_step_is_what_the_run_sheet_says_of_it(samples: Logbook) -> None:
    four = Reading.of_si(4, "clicks")
    run, planned, shed, found = facts(samples, FL__rebound_bleed=four)
    force = found["FL"].forces["rebound"]
    assert isinstance(force, PlannedForce)
    assert force.change is not None
    was, now = (setting(one, "FL", "rebound", shed) for one in (run, planned))
    worth = step_between(was, now, shed, SPEEDS)
    np.testing.assert_array_equal(force.change.change, worth.change)
    np.testing.assert_array_equal(force.change.low, worth.low)
    others = [
        one
        for corner in found.values()
        for one in corner.forces.values()
        if isinstance(one, PlannedForce) and one is not force
    ]
    assert len(others) == 7
    assert not any(one.moved for one in others)
    left = {x.adjuster.acts_on: x for x in found["FL"].left if isinstance(x, Left)}
    rebound = left["rebound_bleed"]
    assert (rebound.to_hard, rebound.to_soft) == (4, rebound.adjuster.clicks - 4)
    assert found["FL"].gas == cavitation(planned, "FL", shed, 0.5)
    assert [one.height.change for one in found.values()] == [0, 0, 0, 0]


def test_the_damping_ratio_is_the_closed_form(samples: Logbook) -> None:
    """ζ = c·MR² / (2·√(k·MR²·m)), c = F/v: the textbook definition, worked out here."""
    _, planned, shed, found = facts(samples)
    car, force = shed.car_corner(planned, "RL"), found["RL"].forces["bump"]
    assert isinstance(force, PlannedForce)
    assert force.wheel.ratio is not None
    assert car.motion_ratio
    assert car.mass
    assert car.unsprung_mass
    assert not car.motion_table
    spring, sprung = planned.si("RL.spring_rate"), car.mass - car.unsprung_mass
    assert spring
    assert car.spring_ratio is None
    c = force.estimate.force / np.array(SPEEDS) * car.motion_ratio**2
    ratio = c / (2 * np.sqrt(spring * car.motion_ratio**2 * sprung))
    np.testing.assert_allclose(force.wheel.ratio, ratio, rtol=1e-12)


def test_an_unknown_damper_leaves_its_place_with_the_reason(samples: Logbook) -> None:
    _, _, _, found = facts(samples, FL__damper="ZZ-1")
    for way in ("bump", "rebound"):
        reason = found["FL"].forces[way]
        assert isinstance(reason, NoEstimate)
        assert "ZZ-1" in str(reason)
    assert found["FL"].left == ()
    assert isinstance(found["FL"].gas, NoEstimate)
    assert isinstance(found["FR"].forces["bump"], PlannedForce)


def test_a_count_beyond_the_knob_has_no_estimate(samples: Logbook) -> None:
    _, _, _, found = facts(samples, FL__rebound_bleed=Reading.of_si(44, "clicks"))
    assert isinstance(found["FL"].forces["rebound"], NoEstimate)
    assert any(isinstance(one, NoEstimate) for one in found["FL"].left)


def test_the_height_of_spring_and_gas_is_the_closed_form(samples: Logbook) -> None:
    """Two springs under the same load differ by F·(1/k1 − 1/k2) at the rod (Hooke), gas pushes the
    rod with p·π·d²/4; over the motion ratio at the wheel."""
    run = samples.session_record(samples.session("last"))
    was = run.si("FL.spring_rate")
    assert was
    stiffer = Reading.of_si(was + 20e3, "spring rate")
    charge = run.si("FL.gas_pressure")
    assert charge
    more = Reading.of_si(charge + 5e5, "pressure")
    _, planned, shed, found = facts(samples, FL__spring_rate=stiffer, FL__gas_pressure=more)
    car, build = shed.car_corner(planned, "FL"), shed.build_at(planned, "FL")
    assert build
    assert build.rod_diameter
    assert car.motion_ratio
    assert car.mass
    assert car.unsprung_mass
    rod = pi / 4 * build.rod_diameter**2
    load = (car.mass - car.unsprung_mass) * 9.80665 / car.motion_ratio - charge * rod
    height = found["FL"].height
    by_hand = (load / was - load / (was + 20e3)) / car.motion_ratio
    assert height.spring == pytest.approx(by_hand)
    assert by_hand > 0
    assert height.gas == pytest.approx(5e5 * rod / (was + 20e3) / car.motion_ratio)
    unsaid = run.with_value("FL.gas_pressure", None)
    lost = plan_facts(unsaid, planned, shed, EstimateCache(shed, SPEEDS), 0.5)["FL"].height
    assert lost.change is None
    assert lost.lacks


def test_the_perch_is_named_and_not_counted(samples: Logbook) -> None:
    _, _, _, found = facts(samples, RL__perch=Reading.of_si(0.123, "length"))
    assert found["RL"].height.perch_moved
    assert found["RL"].height.change == 0
