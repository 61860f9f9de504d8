"""What a record says when it was told nothing, and where its own limits lie."""

from __future__ import annotations

import math

import pytest

import trackside.records
from trackside.errors import BadRecord
from trackside.records import (
    Adjuster,
    Build,
    Car,
    CornerSheet,
    DynoRow,
    DynoSheet,
    Event,
    Parts,
    Reading,
    Session,
    ShopRule,
)
from trackside.records.dyno import MOST_LOOP_POINTS, Loop
from trackside.records.fields import OF_THE_DAMPER, OUTCOMES

KNOB = Adjuster(acts_on="rebound_bleed", clicks=20, counted_from="soft")
ROW = DynoRow(8.0, "bump", 0.1, 500.0)


def test_a_name_that_the_room_has_not_is_named() -> None:
    with pytest.raises(AttributeError, match=r"module 'trackside\.records' has no attribute 'Odd'"):
        trackside.records.Odd  # type: ignore[attr-defined]  # noqa: B018


# ── adjusters ───────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("position", "said"),
    [
        (0.0, ""), (20.0, ""), (8.0, ""),
        (21.0, "the rebound adjuster has 20 clicks from full soft; 21 is beyond them"),
        (-1.0, "the rebound adjuster has 20 clicks from full soft; -1 is beyond them"),
        (8.5, "the rebound adjuster steps by 1; 8.5 is between"),
    ],
)  # fmt: skip
def test_a_position_that_an_adjuster_has_not_is_told_with_its_clicks(
    position: float, said: str
) -> None:
    assert KNOB.problem(position) == said


def test_a_step_is_the_smallest_that_a_detent_sets() -> None:
    half = KNOB.model_copy(update={"step": 0.5})
    assert half.problem(8.5) == ""
    assert half.problem(8.25) == "the rebound adjuster steps by 0.5; 8.25 is between"
    assert KNOB.step == 1
    for step in (0.0, 10.5):
        with pytest.raises(BadRecord, match="step"):
            Adjuster.checked({**KNOB.body(), "step": step})
    assert Adjuster.checked({**KNOB.body(), "step": 10}).step == 10


@pytest.mark.parametrize(
    ("figures", "said"),
    [
        ({"rod_diameter": 0.02, "piston_diameter": 0.02}, "the rod is as thick as the piston"),
        ({"rod_diameter": 0.03, "piston_diameter": 0.02}, "the rod is as thick as the piston"),
        ({"adjusters": (KNOB, KNOB)}, "two adjusters act on the same thing"),
        ({"adjusters": (KNOB, KNOB.model_copy(update={"acts_on": "both_bleed"}))},
         "an adjuster for both directions and one for a single direction"),
        ({"version": ""}, "it is empty"),
        ({"stroke": 0.0}, "it is not above 0"),
    ],
)  # fmt: skip
def test_a_build_that_cannot_be_is_refused(figures: dict[str, object], said: str) -> None:
    with pytest.raises(BadRecord, match=said):
        Build.checked({"damper": "D", "version": "A", **figures})


def test_a_build_may_have_the_rod_thinner_and_one_size_alone() -> None:
    body = {"damper": "D", "version": "A"}
    for figures in (
        {"rod_diameter": 0.014, "piston_diameter": 0.046},
        {"rod_diameter": 0.014},
        {"piston_diameter": 0.046},
    ):
        assert figures.items() <= Build.checked({**body, **figures}).body().items()


def test_the_knob_of_a_direction_is_its_own_or_the_shared_one() -> None:
    shared = Adjuster(acts_on="both_bleed", clicks=12, counted_from="hard")
    bump = Adjuster(acts_on="bump_bleed", clicks=16, counted_from="hard")
    alone = Build(damper="D", version="A", adjusters=(shared,))
    assert alone.bleed_adjuster("bump") is shared
    assert alone.bleed_adjuster("rebound") is shared
    two = Build(damper="D", version="A", adjusters=(KNOB, bump))
    assert two.bleed_adjuster("bump") is bump
    assert two.bleed_adjuster("rebound") is KNOB
    assert two.adjuster("both_bleed") is None
    assert two.in_order() == (bump, KNOB)


def test_parts_of_which_none_was_measured_are_no_parts() -> None:
    build = Build(damper="D", version="A", bump_parts=Parts(), rebound_parts=Parts(seat=0.03))
    assert build.parts("bump") is None
    assert build.parts("rebound") == Parts(seat=0.03)
    assert Build(damper="D", version="A").parts("bump") is None


@pytest.mark.parametrize(
    ("part", "low", "high"),
    [
        ("needle_angle", 0.0, 1.57),  # half a cone: less than a right angle
        ("discharge", 0.0, None),
        ("slot_count", None, None),
    ],
)
def test_parts_lie_between_their_limits(part: str, low: float | None, high: float | None) -> None:
    if low is not None:
        with pytest.raises(BadRecord, match="it is not above 0"):
            Parts.checked({part: low})
    if high is not None:
        assert high == pytest.approx(math.pi / 2, abs=0.001)
        with pytest.raises(BadRecord, match=r"it is not below 1\.57"):
            Parts.checked({part: high})
    assert Parts.checked({"discharge": 1.0}).discharge == 1.0
    with pytest.raises(BadRecord, match="it is above 1"):
        Parts.checked({"discharge": 1.01})
    assert Parts.checked({"slot_count": 0}).slot_count == 0
    with pytest.raises(BadRecord, match="it is below 0"):
        Parts.checked({"slot_count": -1})


@pytest.mark.parametrize("share", [0.0, 1.0])
def test_a_click_takes_a_share_of_the_force_and_never_all_of_it(share: float) -> None:
    body = {"direction": "bump", "full_hard_force": 500.0, "reference_speed": 0.1}
    assert ShopRule.checked({**body, "share_per_click": 0.03}).share_per_click == 0.03
    with pytest.raises(BadRecord, match="share_per_click"):
        ShopRule.checked({**body, "share_per_click": share})
    with pytest.raises(BadRecord, match="full_hard_force: it is not above 0"):
        ShopRule.checked({**body, "full_hard_force": 0.0})


# ── a car, an event, a session ──────────────────────────────────────────────────────────────────


def test_a_car_answers_by_its_corner() -> None:
    car = Car.checked({"name": "Car", "FL": {"mass": 250.0}, "RR": {"mass": 310.0}})
    assert car.corner("FL").mass == 250.0
    assert car.corner("RR").mass == 310.0
    assert car.corner("FR").mass is None
    stops = "Red = 5:400 10:1300"
    assert Car(name="Car", stops=stops).stop(" RED ") is not None
    assert Car(name="Car", stops=stops).stop("blue") is None
    assert Car(name="Car", stops="odd").stop("red") is None
    assert Car(name="Car").stop("red") is None


def test_a_motion_ratio_is_at_most_three() -> None:
    assert Car.checked({"name": "C", "FL": {"motion_ratio": 3.0}}).FL.motion_ratio == 3.0
    for ratio in (0.0, 3.1):
        with pytest.raises(BadRecord, match="motion_ratio"):
            Car.checked({"name": "C", "FL": {"motion_ratio": ratio}})
    assert Car.checked({"name": "C", "FL": {"stop_gap": 0.0}}).FL.stop_gap == 0.0
    with pytest.raises(BadRecord, match="stop_gap"):
        Car.checked({"name": "C", "FL": {"stop_gap": -0.001}})


def test_a_day_of_an_event_is_written_so_that_it_sorts() -> None:
    assert Event.checked({"venue": "V", "date": "2026-05-09"}).altitude is None
    for date in ("9.5.2026", "2026-5-9", "2026-05-09 ", "in May"):
        with pytest.raises(BadRecord):
            Event.checked({"venue": "V", "date": date})


def test_an_item_without_words_is_not_on_the_car() -> None:
    now = Session().with_value("items.Rear bar", "hole 2").with_value("items.Rear bar", "")
    assert now.items == {}
    assert now.value("items.Rear bar") is None


def test_readings_of_the_damper_go_with_it_and_settings_do_not() -> None:
    assert set(OF_THE_DAMPER) == {"gas_pressure", "gas_temperature", "body_temperature"}
    assert "hot_pressure" in OUTCOMES
    assert "hot_target" not in OUTCOMES


def test_a_record_that_cannot_be_is_named_with_the_place() -> None:
    with pytest.raises(BadRecord) as refused:
        Car.checked({"name": "C", "FL": {"mass": "odd"}})
    assert refused.value.cause == "Car cannot be read at FL.mass: it is no number"
    assert refused.value.remedy == "correct that value"
    with pytest.raises(BadRecord) as refused:
        Build.checked({"damper": "D", "version": "A", "rod_diameter": 2, "piston_diameter": 1})
    assert refused.value.cause == (
        "Build cannot be read at build: the rod is as thick as the piston: rod 2000 mm, piston "
        "1000 mm"
    )


def test_a_corner_gives_numbers_of_readings_alone() -> None:
    sheet = CornerSheet(damper="12", camber=Reading.of_text("-2", "angle"))
    assert sheet.si("damper") is None
    assert sheet.si("toe") is None
    assert sheet.si("camber") == pytest.approx(-2 * math.pi / 180)
    now = Session(FL=sheet, driver="7")
    assert now.si("FL.camber") == sheet.si("camber")
    assert now.si("driver") is None


# ── a dyno sheet ────────────────────────────────────────────────────────────────────────────────


def test_a_sheet_that_was_told_nothing_has_friction_in_it_and_gas_out_of_it() -> None:
    sheet = DynoSheet(rows=(ROW,))
    assert sheet.gas_in is False
    assert sheet.friction_in is True
    assert sheet.rebound_sign == 1
    assert sheet.counted_from is None
    assert not sheet.waits
    with pytest.raises(BadRecord, match="rows"):
        DynoSheet.checked({"damper": "D", "rows": []})


def test_a_loop_has_as_many_forces_as_displacements_and_at_most_two_hundred() -> None:
    def loop(displacements: int, forces: int) -> Loop:
        points = {"displacement": [0.0] * displacements, "force": [1.0] * forces}
        return Loop.checked({"position": 8, "speed": 0.1, **points})

    assert MOST_LOOP_POINTS == 200  # our own choice: the mean of one run, a few kB
    assert len(loop(200, 200).force) == 200
    with pytest.raises(BadRecord, match="a loop has at most 200 points"):
        loop(201, 201)
    with pytest.raises(BadRecord, match="as many displacements as forces"):
        loop(3, 4)
