"""Counting, and the two click laws that need no sheet."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.damper.clicks import (
    AreaSteps,
    ForceSteps,
    acts_on,
    as_counted,
    from_full_hard,
    harder_by,
    turned,
)
from trackside.damper.flow import FlowPath, force_at
from trackside.errors import BadNumber, NoEstimate

HARD = FlowPath(leak=3e-6, bleed=0.7e-3, crack=500.0, opening=6e-6, port=0.02)


@given(st.integers(0, 40), st.sampled_from(["hard", "soft"]))
def test_a_count_comes_back(count, counted_from):
    assert as_counted(from_full_hard(count, 40, counted_from), 40, counted_from) == count


def test_counting():
    assert from_full_hard(3, None, "hard") == 3
    assert from_full_hard(3, 20, "soft") == 17
    with pytest.raises(NoEstimate):
        from_full_hard(3, None, "soft")
    with pytest.raises(BadNumber):
        from_full_hard(3, 20, "middle")


def test_what_an_adjuster_acts_on():
    assert acts_on("both_bleed", "bump") == acts_on("both_bleed", "rebound") == "bleed"
    assert acts_on("bump_bleed", "rebound") is None
    assert acts_on("rebound_preload", "rebound") == "preload"


def test_each_step_takes_the_same_share_at_the_reference_speed():
    law = ForceSteps(0.06, 0.05)
    hard = force_at(0.05, HARD)
    force = [force_at(0.05, law.path_at(HARD, 0, n)) / hard for n in range(12)]
    np.testing.assert_allclose(force, 1 - 0.06 * np.arange(12), rtol=1e-9)


@given(st.floats(0, 10), st.floats(0, 10))
def test_steps_do_not_depend_on_the_way_taken(middle, end):
    law = ForceSteps(0.06, 0.05)
    once = law.path_at(HARD, 0, end)
    twice = law.path_at(law.path_at(HARD, 0, middle), middle, end)
    assert twice.bleed == pytest.approx(once.bleed, rel=1e-8)


def test_even_steps_of_8_percent_fade_at_high_rod_speed():
    # common practice, no source, both the share and that little of it is left at high rod speed,
    # where the stack carries the flow
    softer = ForceSteps(0.08, 0.05).path_at(HARD, 0, 4)
    share = 1 - force_at([0.05, 0.2, 0.5], softer) / force_at([0.05, 0.2, 0.5], HARD)
    assert share[0] == pytest.approx(0.32, rel=1e-9)
    assert share[0] > 2 * share[1] > 2 * share[2] > 0


def test_preload_steps_change_the_crack_alone():
    path = ForceSteps(0.05, 0.3).path_at(HARD, 0, 3, "preload")
    assert (path.leak, path.bleed, path.opening) == (HARD.leak, HARD.bleed, HARD.opening)
    assert path.crack < HARD.crack
    assert force_at(0.3, path) == pytest.approx(0.85 * force_at(0.3, HARD), rel=1e-9)


@pytest.mark.parametrize(
    ("path", "anchor", "position", "acts"),
    [
        (HARD, 0, 17, "bleed"),  # 102 % of the force
        (FlowPath(0, 0, 900, 5e-6), 6, 0, "bleed"),  # already shut
        (HARD, 2, 0, "preload"),  # below the knee, where preload cannot add force
    ],
)
def test_steps_that_cannot_be(path, anchor, position, acts):
    with pytest.raises(NoEstimate):
        ForceSteps(0.06, 0.01).path_at(path, anchor, position, acts)


def test_even_area():
    law = AreaSteps(2e-4)
    assert law.path_at(HARD, 0, 3).bleed == pytest.approx(0.7e-3 + 6e-4)
    assert law.path_at(HARD, 5, 3).bleed == pytest.approx(0.7e-3 - 4e-4)
    with pytest.raises(NoEstimate):
        law.path_at(HARD, 5, 0)
    with pytest.raises(NoEstimate):
        law.path_at(HARD, 5, 4, "preload")


@pytest.mark.parametrize("share", [0.0, 1.0, -0.1, np.nan])
def test_shares_that_mean_nothing(share):
    with pytest.raises(BadNumber):
        ForceSteps(share, 0.05)


@given(st.integers(1, 60), st.floats(0, 60), st.floats(-20, 20), st.sampled_from(["hard", "soft"]))
def test_turning_harder_is_told_as_harder_whatever_the_convention(
    clicks: int, count: float, harder: float, counted: str
) -> None:
    after = turned(count, harder, clicks, counted)
    assert harder_by(count, after, clicks, counted) == pytest.approx(harder, abs=1e-9)
    assert from_full_hard(after, clicks, counted) == pytest.approx(
        from_full_hard(count, clicks, counted) - harder, abs=1e-9
    )


@pytest.mark.parametrize(
    ("path", "anchor", "position", "acts", "said"),
    [
        (HARD, 0, 17, "bleed",
         "6% a click leaves no force at 17 clicks: "
         "enter a smaller share, or measure the damper at this position."),
        (HARD, 17, 0, "bleed",
         "6% a click leaves no force at 17 clicks: "
         "enter a smaller share, or measure the damper at this position."),
        (FlowPath(0, 0, 900, 5e-6), 6, 0, "bleed",
         "even with the bleed shut the piston passes more oil than this step allows: "
         "enter a smaller share, or measure the damper nearer full hard."),
        (HARD, 2, 0, "preload",
         "at the reference speed the preload does not decide the force: "
         "take a higher reference speed for this adjuster."),
    ],
)  # fmt: skip
def test_steps_that_cannot_be_say_why_and_what_helps(path, anchor, position, acts, said):
    with pytest.raises(NoEstimate) as refused:
        ForceSteps(0.06, 0.01).path_at(path, anchor, position, acts)
    assert str(refused.value) == said


def test_what_cannot_be_counted_or_opened_says_what_helps():
    with pytest.raises(NoEstimate) as refused:
        AreaSteps(2e-4).path_at(HARD, 5, 0)
    assert refused.value.cause == "the bleed is shut before 0 clicks from full hard"
    assert refused.value.remedy == "enter a smaller area for one click, or count again"
    with pytest.raises(NoEstimate) as refused:
        AreaSteps(2e-4).path_at(HARD, 5, 4, "preload")
    assert refused.value.cause == "a preload adjuster opens no area"
    assert refused.value.remedy == "give it even force steps, or measure it"
    with pytest.raises(NoEstimate) as refused:
        from_full_hard(3, None, "soft")
    assert refused.value.cause == (
        "clicks are counted from full soft, and how many this adjuster has is not written down"
    )
    assert (
        refused.value.remedy == "count them once from full hard to full soft and enter the number"
    )
