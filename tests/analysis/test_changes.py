"""What changed: laws that hold whatever the numbers are."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.analysis.garage import (
    MOTION_RATIO,
    PREFERENCES,
    SHED,
    SPEEDS,
    corner,
    session,
    with_ring,
)
from trackside.analysis.changes import changes, force_change
from trackside.analysis.estimate import curves
from trackside.damper.basis import Basis
from trackside.errors import NoEstimate
from trackside.records import Build, Reading
from trackside.reports.change_words import force_sentence, not_known, sentence, sentences


def compare(before: object, after: object) -> object:
    return changes(before, after, SHED, SPEEDS)  # type: ignore[arg-type]


def untold(found: object) -> list[str]:
    return [not_known(one) for one in found.unknown]  # type: ignore[attr-defined]


def test_no_change_is_empty() -> None:
    found = compare(session(), session())
    assert (found.values, found.conditions, found.forces, found.unknown) == ((), (), (), ())
    assert sentences(found, PREFERENCES) == []


def test_the_same_value_typed_in_another_way_is_no_change() -> None:
    def at(text: str) -> object:
        return session(corner(cold_pressure=Reading.of_text(text, "pressure")))

    assert compare(at("1,45"), at("1.450 bar")).values == ()
    assert compare(at("1.45"), at("145 kPa")).values == ()


@pytest.mark.parametrize("direction", ["bump", "rebound"])
@pytest.mark.parametrize("damper", ["HARD", "TWIN", "SOFT", "RULE"])
def test_harder_is_more_force_whichever_way_it_counts(damper: str, direction: str) -> None:
    harder = -2 if damper in ("HARD", "RULE") else 2
    before = session(corner(damper))
    after = session(corner(damper, **{direction: 8 + harder}))
    change = force_change(before, after, "FL", direction, SHED, SPEEDS)
    assert change is not None
    assert np.all(change.step.change > 0)
    assert np.all(change.step.low <= change.step.change)
    assert np.all(change.step.change <= change.step.high)
    other = "rebound" if direction == "bump" else "bump"
    assert force_change(before, after, "FL", other, SHED, SPEEDS) is None


def test_there_is_minus_back() -> None:
    a, b = session(corner(rebound=9)), session(corner(rebound=6))
    there = force_change(a, b, "FL", "rebound", SHED, SPEEDS)
    back = force_change(b, a, "FL", "rebound", SHED, SPEEDS)
    assert there is not None
    assert back is not None
    assert there.step.change == pytest.approx(-back.step.change)
    assert there.step.low == pytest.approx(-back.step.high)


def test_two_changes_add_up() -> None:
    a, b, c = (session(corner(rebound=p)) for p in (12, 8, 3))
    steps = [force_change(x, y, "FL", "rebound", SHED, SPEEDS) for x, y in ((a, b), (b, c), (a, c))]
    first, second, whole = (step.step.change for step in steps)  # type: ignore[union-attr]
    assert first + second == pytest.approx(whole)


def test_the_wheel_feels_the_motion_ratio_share_and_an_unknown_ratio_is_unknown() -> None:
    a, b = session(), session(corner(rebound=5))
    left = force_change(a, b, "FL", "rebound", SHED, SPEEDS)
    right = force_change(a, b, "FR", "rebound", SHED, SPEEDS)
    assert left is not None
    assert right is not None
    assert left.wheel == pytest.approx(MOTION_RATIO * left.step.change)
    assert right.wheel is None


def test_the_same_on_both_sides_is_said_once() -> None:
    softer = corner(rebound=10)
    front = compare(session(), session(FL=softer, FR=softer))
    assert sentences(front, PREFERENCES) == [
        "front rebound: 2 clicks softer (8 to 10 from full hard)"
    ]
    all_round = compare(session(), session(softer))
    assert sentences(all_round, PREFERENCES) == [
        "all four rebound: 2 clicks softer (8 to 10 from full hard)"
    ]
    one = compare(session(), session(RL=softer))
    assert sentences(one, PREFERENCES) == ["RL rebound: 2 clicks softer (8 to 10 from full hard)"]


def test_two_sides_that_differ_are_said_apart() -> None:
    found = compare(session(), session(FL=corner(rebound=10), FR=corner(rebound=7)))
    assert sentences(found, PREFERENCES) == [
        "FL rebound: 2 clicks softer (8 to 10 from full hard)",
        "FR rebound: 1 click harder (8 to 7 from full hard)",
    ]


def test_same_clicks_on_a_twin_that_counts_the_other_way_is_told_as_what_it_is() -> None:
    """20 clicks: 8 from full hard is 12 from full soft, the same curve but for the bench."""
    a, b = session(corner("HARD", 8, 8)), session(corner("TWIN", 12, 12))
    change = force_change(a, b, "FL", "bump", SHED, SPEEDS)
    assert change is not None
    assert change.in_noise
    swapped = force_change(a, session(corner("TWIN", 8, 8)), "FL", "bump", SHED, SPEEDS)
    assert swapped is not None
    assert np.all(swapped.step.change < 0), "8 from full soft is softer than 8 from full hard"


def test_a_swap_has_the_errors_of_both_curves_in_its_band() -> None:
    inside = force_change(session(), session(corner(bump=6)), "FL", "bump", SHED, SPEEDS)
    swap = force_change(session(), session(corner("TWIN", 14, 12)), "FL", "bump", SHED, SPEEDS)
    assert inside is not None
    assert swap is not None
    width = np.subtract(swap.step.high, swap.step.low)
    assert np.all(width > np.subtract(inside.step.high, inside.step.low))


def test_the_shop_rule_says_that_it_is_one() -> None:
    change = force_change(
        session(corner("RULE")), session(corner("RULE", bump=6)), "FL", "bump", SHED, SPEEDS
    )
    assert change is not None
    assert change.step.basis is Basis.SHOP_RULE


def test_without_ground_there_is_no_estimate_and_a_reason() -> None:
    found = compare(session(corner("BARE")), session(corner("BARE", bump=6)))
    assert found.forces == ()
    assert sentences(found, PREFERENCES) == [
        "all four bump: 2 clicks harder (8 to 6 from full hard)"
    ]
    assert all("no dyno sheet and no shop rule" in reason for reason in untold(found))
    assert {reason[:2] for reason in untold(found)} == {"FL", "FR", "RL", "RR"}


def test_a_position_that_was_not_entered_is_unknown_not_zero() -> None:
    found = compare(session(), session(corner(bump=None)))
    assert sentences(found, PREFERENCES) == ["all four bump: 8 to unknown"]
    assert found.forces == ()
    assert "not entered" in untold(found)[0]


def test_preload_clicks_that_no_bench_varied_have_no_force_and_a_reason() -> None:
    shed = with_ring("HARD")
    a, b = (session(corner(bump_preload=Reading.of_si(p, "clicks"))) for p in (2, 4))
    found = changes(a, b, shed, SPEEDS)
    assert found.forces == ()
    assert sentences(found, PREFERENCES) == [
        "all four bump preload: 2 clicks harder (2 to 4 from full soft)"
    ]
    assert all("not varied" in reason for reason in untold(found))


def test_a_bleed_turned_with_a_ring_that_no_bench_varied_has_no_force_either() -> None:
    a, b = (
        session(corner(bump=bump, bump_preload=Reading.of_si(ring, "clicks")))
        for bump, ring in ((8, 2), (6, 4))
    )
    found = changes(a, b, with_ring("HARD"), SPEEDS)
    assert found.forces == ()
    assert len(found.unknown) == 4
    assert all("bump preload adjuster was not varied" in reason for reason in untold(found))
    told = changes(a, b, with_ring("HARD", (1.0, 4.0)), SPEEDS)
    assert {force.direction for force in told.forces} == {"bump"}


@pytest.mark.parametrize("marked", ["gas_in", "too short"])
def test_a_sheet_that_cannot_be_fitted_is_a_reason_not_a_crash(marked: str) -> None:
    sheet = SHED.sheets[0]
    odd = {"gas_in": {"gas_in": True}, "too short": {"rows": sheet.rows[:2]}}[marked]
    shed = replace(SHED, sheets=(sheet.model_copy(update=odd), *SHED.sheets[1:]))
    before, after = session(RR=corner("TWIN")), session(corner(bump=6), RR=corner("TWIN", bump=9))
    found = changes(before, after, shed, SPEEDS)
    assert {force.corner for force in found.forces} == {"RR"}
    assert {reason[:2] for reason in untold(found)} == {"FL", "FR", "RL"}
    assert all("sheet HARD-A 2026-04-01 cannot be fitted" in reason for reason in untold(found))
    told = curves(after, "FL", shed, SPEEDS)
    assert all(isinstance(estimate, NoEstimate) for estimate in told.values())
    assert not any(isinstance(e, NoEstimate) for e in curves(after, "RR", shed, SPEEDS).values())


def test_a_toe_angle_is_not_a_toe_length() -> None:
    """0.2 ° is 3.49 mrad; 3.49 mm are something else."""
    angle = corner(toe=Reading.of_text("0.2 °", "toe"))
    length = corner(toe=Reading.of_si(angle.si("toe") or 0, "toe", "mm"))
    found = compare(session(angle), session(length))
    assert sentences(found, PREFERENCES) == ["all four toe: 0.20 ° to 3.49 mm"]


def test_a_quarter_of_a_psi_is_seen_in_the_sentence() -> None:
    a, b = (
        session(corner(hot_target=Reading.of_text(text, "pressure", "psi")))
        for text in ("22.25", "22.2")
    )
    assert sentences(compare(a, b), PREFERENCES) == ["all four target: 22.25 psi to 22.2 psi"]


def test_a_damper_without_an_adjuster_can_still_be_swapped() -> None:
    plain = Build(damper="PLAIN", version="A")
    shed = replace(SHED, builds=(*SHED.builds, plain))
    found = changes(session(), session(FL=corner("PLAIN", None, None)), shed, SPEEDS)
    assert any("damper" in sentence for sentence in sentences(found, PREFERENCES))
    assert any("PLAIN" in reason for reason in untold(found))


def test_sentences_state_band_and_standing() -> None:
    found = compare(session(), session(FL=corner(rebound=4)))
    said = force_sentence(found.forces[0], PREFERENCES)
    assert said.startswith("FL rebound: +")
    assert "95 % band" in said
    assert "between" in said
    assert "at the wheel" in said


def test_the_largest_force_change_stands_first() -> None:
    found = compare(session(), session(FL=corner(rebound=7), RR=corner(rebound=2)))
    assert [force.corner for force in found.forces] == ["RR", "FL"]


def test_weather_and_items_are_told_apart_from_the_set_up() -> None:
    warm = session(air_temperature=Reading.of_text("24", "temperature"), items={"Rear bar": "2"})
    cold = session(air_temperature=Reading.of_text("9", "temperature"), items={"Rear bar": "3"})
    found = compare(warm, cold)
    assert sentences(found, PREFERENCES) == ["Rear bar: 2 to 3"]
    assert [sentence(value, PREFERENCES) for value in found.conditions] == ["air: 24 °C to 9 °C"]
