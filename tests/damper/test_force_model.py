"""The law from click to click."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.damper.force_model import EVEN, FORMS, ForceModel

nodes = st.lists(st.integers(0, 40), min_size=2, max_size=7, unique=True).map(
    lambda found: tuple(float(x) for x in sorted(found))
)


@given(nodes, st.floats(-10, 10), st.floats(-3, 3), st.floats(-5, 50))
def test_a_straight_line_stays_one_everywhere(places, level, slope, position):
    weights = ForceModel(places).weights(position)
    values = level + slope * np.array(places)
    expected = level + slope * position
    scale = 1 + np.abs(weights).sum() * np.abs(values).max()
    assert abs(weights[0] @ values - expected) < 1e-5 * scale


@given(nodes)
def test_measured_positions_keep_their_values_without_doubt(places):
    law = ForceModel(places, FORMS)
    weights, doubt = law.weights(places), law.doubt(places, np.sqrt(places))
    np.testing.assert_allclose(weights, np.eye(len(places)), atol=1e-3)
    assert np.abs(doubt).max() < 1e-3


def test_doubt_grows_away_from_what_was_measured():
    doubt = ForceModel((0.0, 5.0, 10.0)).doubt([5.5, 7.5, 12.0, 16.0], np.arange(3.0))
    deviation = np.sqrt(np.diag(doubt))
    assert (np.diff(deviation) > 0).all()


def _round_hole(part: np.ndarray) -> np.ndarray:
    """Open share of a hole that a sleeve has uncovered by a part of it: the circle's segment,
    textbook. Half way it is half open, as an even needle is."""
    out = 1.0 - 2.0 * part
    return (np.arccos(out) - out * np.sqrt(1.0 - out**2)) / np.pi


def test_three_even_bleeds_stand_for_an_even_needle_and_for_a_round_hole_alike():
    part = np.array([3.0, 17.0]) / 20.0
    hole = _round_hole(part)
    values = np.array([0.1, 0.6, 1.1])
    law = ForceModel((0.0, 10.0, 20.0)).learned(values, 1e-6 * np.eye(3))
    told = law.weights(20.0 * part) @ values - 0.1
    assert hole[0] < told[0] < part[0]
    assert part[1] < told[1] < hole[1]
    deviation = np.sqrt(np.diag(law.doubt(20.0 * part, values)))
    for shape in (part, hole):
        assert (np.abs(shape - told) < 1.2 * deviation).all()  # no rare kind: well inside the band


def test_a_fourth_position_tells_a_round_hole_from_an_even_needle():
    part = np.linspace(0.0, 1.0, 22)
    hole = _round_hole(part)
    for area in (0.1 + part, 0.1 + hole):
        law = ForceModel((0.0, 7.0, 14.0, 21.0)).learned(area[::7], 1e-6 * np.eye(4))
        told = law.weights(np.arange(22.0)) @ area[::7]
        assert np.abs(told - area).max() < np.abs(hole - part).max() / 3.0


def test_a_needle_that_opens_by_shares_is_met_between_three_positions():
    # each click opens the same share more: geometric steps; straight lines are off by up to 0.12
    part = np.linspace(0.0, 1.0, 21)
    for growth in (2.0, 3.0):
        area = 0.1 + np.expm1(growth * part) / np.expm1(growth)
        law = ForceModel((0.0, 10.0, 20.0)).learned(area[::10], 1e-6 * np.eye(3))
        told = law.weights(np.arange(21.0)) @ area[::10]
        assert np.abs(told - area).max() < 0.025


def test_a_ring_with_three_even_positions_is_taken_for_even():
    values = np.array([0.1, 0.6, 1.1])
    law = ForceModel((0.0, 10.0, 20.0)).learned(values, 1e-6 * np.eye(3), EVEN)
    np.testing.assert_allclose(law.weights([3.0, 17.0]) @ values, [0.25, 0.95], atol=1e-4)


@given(
    nodes.flatmap(
        lambda places: st.tuples(
            st.just(places),
            st.lists(st.floats(0, 5), min_size=len(places), max_size=len(places)),
        )
    )
)
def test_the_rising_law_never_falls_as_the_adjuster_opens(case):
    places, steps = case
    values = np.cumsum(steps)
    law = ForceModel(places, FORMS)
    way = np.linspace(places[0], places[-1], 37)
    along = np.array([law.rising(float(x), values) @ values for x in way])
    assert (np.diff(along) >= -1e-3 * (1 + values[-1])).all()


def test_one_position_says_nothing_of_others():
    law = ForceModel((4.0,))
    assert law.weights([4.0, 6.0]).tolist() == [[1.0], [1.0]]
    assert np.diag(law.doubt([4.0, 6.0], np.ones(1))).tolist() == [0.0, np.inf]


def test_departure_is_blind_to_straight_lines():
    places = (0.0, 3.0, 7.0, 12.0)
    rows = ForceModel(places).departure
    assert rows.shape == (2, 4)
    np.testing.assert_allclose(rows @ (2.0 + 0.3 * np.array(places)), 0.0, atol=1e-9)
    assert ForceModel((0.0, 3.0)).departure.shape == (0, 2)


def test_two_positions_leave_more_doubt_than_three():
    two, three = (
        float(ForceModel(places).doubt(4.0, np.array(values))[0, 0])
        for places, values in (((0.0, 10.0), [0.0, 1.0]), ((0.0, 6.0, 10.0), [0.0, 0.6, 1.0]))
    )
    assert two > 2 * three


SURE = 1e-6 * np.eye(4)


def _share(law: ForceModel, line: str) -> float:
    return sum(form.share for form in law.forms if form.line == line)


def test_the_values_say_which_form_the_law_has():
    places = (0.0, 4.0, 8.0, 12.0, 16.0, 20.0)
    part = np.array(places) / 20.0
    sure = 1e-6 * np.eye(6)
    for line, values in (
        ("straight", part),
        ("bent", part**1.5),
        ("steep", part**2.2),
        ("growing", np.expm1(3.0 * part) / np.expm1(3.0)),
        ("eased", part**2 * (3.0 - 2.0 * part)),
        ("late", np.maximum(part - 0.1, 0.0)),
        ("idle", np.clip((part - 0.08) / 0.76, 0.0, 1.0)),
    ):
        law = ForceModel(places).learned(0.2 + values, sure)
        assert _share(law, line) > 0.6, line
        assert sum(form.share for form in law.forms) == pytest.approx(1.0)


def test_the_values_say_how_even_the_detents_are():
    # 21 positions of an even needle, and the same with detents that are off by 3 % of the travel
    places = tuple(float(p) for p in range(21))
    even = np.array(places) / 20.0
    rng = np.random.default_rng(4)
    known = 1e-8 * np.eye(21)
    doubts = []
    for off in (0.0, 0.03):
        values = np.sort(even + off * rng.normal(size=21))
        law = ForceModel(places).learned(values, known)
        doubts.append(float(np.sqrt(law.doubt(10.5, values)[0, 0])))
    assert doubts[0] < 0.004
    assert 0.006 < doubts[1] < 0.06


@pytest.mark.parametrize("power", [1.3, 1.5, 1.8])
def test_a_needle_that_opens_ever_more_is_met_closer_beside_full_hard(power):
    # the area that was left out is the check: 0.3 + (x/20)^power
    places = (0.0, 10.0, 15.0, 20.0)
    values = 0.3 + (np.array(places) / 20) ** power
    plain = ForceModel(places)
    truth = 0.3 + 0.25**power
    miss, plain_miss = (
        abs(float((law.weights(5.0) @ values)[0]) - truth)
        for law in (plain.learned(values, SURE), plain)
    )
    assert miss < 0.7 * plain_miss


def test_three_positions_of_a_cone_needle_give_it_between_them():
    # its area by the frustum πx·sin a·(D − x·sin a·cos a), open to 0.7 of its farthest; base bleed
    part = np.linspace(0.0, 0.7, 29)
    area = 0.25 + part * (2.0 - part)
    places = (0.0, 14.0, 28.0)
    law = ForceModel(places).learned(area[::14], (0.005 * area[14]) ** 2 * np.eye(3))
    told = law.weights(np.arange(29.0)) @ area[::14]
    assert np.abs(told / area - 1.0).max() < 0.013  # straight lines: 0.058


def test_a_detents_play_moves_the_value_by_as_much_as_a_click_does_there():
    # the needle (x/20)^2.2 opens 0.15 of a mean click's worth at 2 clicks, and 2 times it at 18
    places = tuple(float(p) for p in range(0, 21, 4))
    values = (np.array(places) / 20.0) ** 2.2
    law = ForceModel(places).learned(values, 1e-8 * np.eye(6))
    doubt = np.sqrt(np.diag(law.doubt([2.0, 6.0, 14.0, 18.0], values)))
    assert doubt[3] > 2.0 * doubt[0]
    assert doubt[2] > 1.5 * doubt[1]


def test_clicks_of_an_even_needle_are_known_to_some_hundredths_of_one():
    # the play believed before rows speak is 0.015 of a click: no more than a few of it is doubt
    places, asked = tuple(float(p) for p in range(0, 25, 3)), [10.0, 11.0]
    values = np.array(places) / 24.0
    law = ForceModel(places).learned(values, 1e-8 * np.eye(9))
    doubt = law.doubt(asked, values)
    click = np.sqrt(doubt[0, 0] + doubt[1, 1] - 2.0 * doubt[0, 1]) * 24.0
    assert 0.01 < click < 0.06


def test_dead_clicks_are_met_where_they_were_not_measured():
    clicks = np.arange(21.0)
    for area in (
        0.2 + np.maximum(clicks - 2.0, 0.0) / 18.0,
        0.2 + np.clip((clicks - 1.5) / 15.5, 0.0, 1.0),
    ):
        law = ForceModel(tuple(clicks[::4])).learned(area[::4], 1e-6 * np.eye(6))
        plain = ForceModel(tuple(clicks[::4]))
        off, plain_off = (np.abs(some.weights(clicks) @ area[::4] - area) for some in (law, plain))
        assert off.max() < 0.6 * plain_off.max()
        deviation = np.sqrt(np.diag(law.doubt(clicks, area[::4])))
        assert (off <= 2.5 * deviation + 1e-9).all()


@pytest.mark.parametrize("dead", [1.5, 2.0, 2.5, 3.0])
def test_nobody_knows_where_dead_clicks_end_between_two_measured_positions(dead):
    clicks = np.arange(21.0)
    area = 0.2 + np.maximum(clicks - dead, 0.0) / (20.0 - dead)
    law = ForceModel(tuple(clicks[::4])).learned(area[::4], 1e-6 * np.eye(6))
    off = np.abs(law.weights(clicks) @ area[::4] - area)
    deviation = np.sqrt(np.diag(law.doubt(clicks, area[::4])))
    assert (off <= 2.5 * deviation + 1e-9).all()
