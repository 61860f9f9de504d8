"""The law from click to click."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from trackside.damper.law import MeasuredLaw

nodes = st.lists(st.integers(0, 40), min_size=2, max_size=7, unique=True).map(
    lambda found: tuple(float(x) for x in sorted(found))
)


@given(nodes, st.floats(-10, 10), st.floats(-3, 3), st.floats(-5, 50))
def test_a_straight_line_stays_one_everywhere(places, level, slope, position):
    weights, _ = MeasuredLaw(places).weights(position)
    values = level + slope * np.array(places)
    expected = level + slope * position
    scale = 1 + np.abs(weights).sum() * np.abs(values).max()
    assert abs(weights[0] @ values - expected) < 1e-5 * scale


@given(nodes)
def test_measured_positions_keep_their_values_without_doubt(places):
    weights, doubt = MeasuredLaw(places).weights(np.array(places))
    np.testing.assert_allclose(weights, np.eye(len(places)), atol=1e-3)
    assert np.abs(doubt).max() < 1e-3


def test_doubt_grows_away_from_what_was_measured():
    _, doubt = MeasuredLaw((0.0, 5.0, 10.0)).weights([5.5, 7.5, 12.0, 16.0])
    deviation = np.sqrt(np.diag(doubt))
    assert (np.diff(deviation) > 0).all()


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
    law = MeasuredLaw(places)
    way = np.linspace(places[0], places[-1], 37)
    along = np.array([law.rising(float(x), values) @ values for x in way])
    assert (np.diff(along) >= -1e-3 * (1 + values[-1])).all()


def test_one_position_says_nothing_of_others():
    weights, doubt = MeasuredLaw((4.0,)).weights([4.0, 6.0])
    assert weights.tolist() == [[1.0], [1.0]]
    assert np.diag(doubt).tolist() == [0.0, np.inf]


def test_departure_is_blind_to_straight_lines():
    places = (0.0, 3.0, 7.0, 12.0)
    rows = MeasuredLaw(places).departure
    assert rows.shape == (2, 4)
    np.testing.assert_allclose(rows @ (2.0 + 0.3 * np.array(places)), 0.0, atol=1e-9)
    assert MeasuredLaw((0.0, 3.0)).departure.shape == (0, 2)
