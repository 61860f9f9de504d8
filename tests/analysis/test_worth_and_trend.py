"""What a click is worth, and one corner over many sessions."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.analysis.garage import SHED, SPEEDS, at_one_position, corner, session
from trackside.analysis.estimate import curves, estimate
from trackside.analysis.trend import trend
from trackside.analysis.worth import ClickWorth, ForceStep, click_worth
from trackside.damper.basis import Basis
from trackside.errors import NoEstimate
from trackside.records import Reading
from trackside.reports.origin_words import origin_words


def worths(damper: str, bump: float = 8, rebound: float = 8) -> list[ClickWorth]:
    found = click_worth(session(corner(damper, bump, rebound)), "FL", SHED, SPEEDS)
    assert all(isinstance(worth, ClickWorth) for worth in found)
    return found  # type: ignore[return-value]


@pytest.mark.parametrize("damper", ["HARD", "TWIN", "SOFT", "RULE"])
def test_harder_adds_and_softer_takes(damper: str) -> None:
    for worth in worths(damper):
        assert worth.harder is not None
        assert worth.softer is not None
        assert np.all(worth.harder.change > 0)
        assert np.all(worth.softer.change < 0)
        assert np.all(worth.harder.percent > 0)


def test_a_change_is_a_share_of_the_force_it_starts_from() -> None:
    step = ForceStep(
        speed=np.array([0.0, 0.05, 0.1, 0.2]),
        force=np.array([0.0, 0.5, 200.0, 400.0]),
        change=np.array([0.0, 0.1, 10.0, -10.0]),
        low=np.array([0.0, 0.0, -1.0, -20.0]),
        high=np.array([0.0, 0.2, 21.0, -1.0]),
        basis=Basis.MEASURED,
    )
    assert step.percent[1:].tolist() == pytest.approx([20.0, 5.0, -2.5])
    assert np.isnan(step.percent[0]), "of no force there is no share"
    assert step.in_noise.tolist() == [True, True, True, False]


@pytest.mark.parametrize(("damper", "hard", "soft"), [("HARD", 0, 20), ("SOFT", 16, 0)])
def test_at_a_stop_there_is_no_further_click(damper: str, hard: float, soft: float) -> None:
    assert all(worth.harder is None for worth in worths(damper, hard, hard))
    assert all(worth.softer is None for worth in worths(damper, soft, soft))


def test_a_click_is_worth_a_larger_share_at_low_speed() -> None:
    """Common practice, no source: closing the needle raises low-speed force by more."""
    slow, fast = (
        worth.harder.percent
        for v in (0.025, 0.4)
        for worth in click_worth(session(), "FL", SHED, [v])[:1]
        if isinstance(worth, ClickWorth) and worth.harder is not None
    )
    assert slow[0] > 2 * fast[0]


def test_a_click_without_estimate_takes_only_itself_away() -> None:
    """A shop rule of 30 % a click leaves a tenth at 3 clicks and nothing at 4: softer has none."""
    rule = next(b for b in SHED.builds if b.damper == "RULE").shop_rules
    steep = tuple(r.model_copy(update={"share_per_click": 0.3}) for r in rule)
    builds = tuple(
        b.model_copy(update={"shop_rules": steep}) if b.damper == "RULE" else b for b in SHED.builds
    )
    shed = replace(SHED, builds=builds)
    for worth in click_worth(session(corner("RULE", 3, 3)), "FL", shed, SPEEDS):
        assert isinstance(worth, ClickWorth)
        assert worth.harder is not None
        assert worth.no_harder == ""
        assert worth.softer is None
        assert "leaves no force" in worth.no_softer


def test_a_sheet_of_one_position_is_measured_there_and_its_clicks_say_why_not() -> None:
    found = click_worth(session(), "FL", at_one_position("HARD", 10), SPEEDS)
    assert all(isinstance(worth, NoEstimate) for worth in found)
    there = session(corner(bump=10, rebound=10))
    for worth in click_worth(there, "FL", at_one_position("HARD", 10), SPEEDS):
        assert isinstance(worth, ClickWorth)
        assert worth.basis is Basis.MEASURED
        assert worth.harder is worth.softer is None
        assert "measured at one position only" in worth.no_harder
        assert "measured at one position only" in worth.no_softer
    assert all(worth.no_harder == "" for worth in worths("HARD", 0, 0)), "a stop needs no reason"


def test_what_cannot_be_told_stands_in_its_place() -> None:
    found = click_worth(session(corner(bump=None)), "FL", SHED, SPEEDS)
    assert isinstance(found[0], NoEstimate)
    assert isinstance(found[1], ClickWorth)


@pytest.mark.parametrize("damper", [None, "NOBODY"])
def test_no_damper_no_worth(damper: str | None) -> None:
    with pytest.raises(NoEstimate):
        click_worth(session(corner(damper)), "FL", SHED, SPEEDS)


def test_bases_of_a_corner() -> None:
    def basis(damper: str, position: float) -> Basis:
        return estimate(session(corner(damper, position)), "FL", "bump", SHED, SPEEDS).basis

    assert basis("HARD", 5) is Basis.MEASURED
    assert basis("HARD", 8) is Basis.BETWEEN
    assert basis("RULE", 8) is Basis.SHOP_RULE


def test_the_shop_rule_has_the_wider_band() -> None:
    bands = [
        (e.high - e.low) / e.force
        for damper in ("HARD", "RULE")
        for e in [estimate(session(corner(damper)), "FL", "rebound", SHED, SPEEDS)]
    ]
    assert np.all(bands[1] > bands[0])


def test_the_ground_speaks_no_unit_that_the_crew_may_not_use() -> None:
    origin = estimate(session(corner("RULE")), "FL", "bump", SHED, SPEEDS).origin
    assert origin_words(origin) == "the shop's full-hard force, less 3 % of it a click"


def test_each_direction_has_its_curve_or_its_reason() -> None:
    found = curves(session(corner(rebound=None)), "FL", SHED, SPEEDS)
    assert isinstance(found["rebound"], NoEstimate)
    assert "rebound position at FL is not entered" in str(found["rebound"])
    assert not isinstance(found["bump"], NoEstimate)
    beyond = curves(session(corner(bump=21)), "FL", SHED, SPEEDS)["bump"]
    assert isinstance(beyond, NoEstimate)
    assert "20 clicks" in str(beyond)


def test_an_unreadable_position_is_unknown() -> None:
    odd = corner().model_copy(update={"bump_bleed": Reading.of_text("eight", "clicks")})
    assert isinstance(curves(session(odd), "FL", SHED, SPEEDS)["bump"], NoEstimate)


def test_trend_tells_what_was_turned_and_leaves_gaps_as_gaps() -> None:
    run = [
        ("1", session(corner(rebound=8))),
        ("2", session(corner(rebound=8))),
        ("3", session(corner(rebound=None))),
        ("4", session(corner(rebound=6))),
        ("5", session(corner("SOFT", rebound=10))),
        ("6", session(corner("SOFT", rebound=9))),
    ]
    points = trend(run, "FL", "rebound", SHED, SPEEDS)
    assert [p.session for p in points] == ["1", "2", "3", "4", "5", "6"]
    assert [p.moved for p in points] == ["", "", "", "2 harder", "damper SOFT", "1 softer"]
    assert points[2].estimate is None
    assert "not entered" in points[2].why
    forces = [p.estimate.force[1] for p in points if p.estimate is not None]
    assert forces[0] == forces[1] < forces[2]
    assert forces[3] > forces[4]


def test_trend_of_a_sheet_that_cannot_be_fitted_is_a_gap_not_a_crash() -> None:
    sheet = SHED.sheets[0]
    broken = sheet.model_copy(update={"rows": sheet.rows[:2]})
    shed = replace(SHED, sheets=(broken,))
    points = trend([("1", session())], "FL", "bump", shed, SPEEDS)
    assert points[0].estimate is None
    assert points[0].why
