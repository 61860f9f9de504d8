"""The band of a change that the parts carry over from another build of the damper."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.analysis.test_parts import BUILD
from trackside.analysis import carried
from trackside.analysis.carried import CarriedCurve, Ratio
from trackside.analysis.parts import parts_curve
from trackside.damper.basis import Basis
from trackside.damper.curve import Difference, Prediction


class Bench:
    """Two exact curves, 400 N at the first position and so much at the second."""

    def __init__(self, other: float) -> None:
        self.other = other

    def predict(self, position: float, speed: np.ndarray, *_: Any) -> Prediction:
        force = np.full_like(speed, 400.0)
        return Prediction(speed, force, force, force, Basis.MEASURED)

    def difference(self, a: float, b: float, speed: np.ndarray, *_: Any) -> Difference:
        change = np.full_like(speed, self.other - 400.0)
        return Difference(speed, change, change / 4.0, change, change, Basis.MEASURED)


@pytest.mark.parametrize("other", [300.0, 500.0])
def test_a_ratio_that_may_only_be_larger_makes_any_step_larger(
    other: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A ratio of 1.0 to 1.3 makes −100 N one of −100 to −130 N (arithmetic)."""
    none, more = np.zeros(1), np.full(1, 0.3)
    monkeypatch.setattr(carried, "ratio", lambda *_: Ratio(none, none, more))
    found = CarriedCurve(Bench(other)).difference(0, 1, np.array([0.1]))  # type: ignore[arg-type]
    step = other - 400.0
    assert found.percent == pytest.approx(step / 4.0), "of 400 N"
    assert sorted([found.low[0], found.high[0]]) == pytest.approx(sorted([step, 1.3 * step]))


def test_where_the_parts_of_one_are_not_known_a_strip_down_is_the_band() -> None:
    """REBUILT is our own choice."""
    disc_by_disc = parts_curve(BUILD, "rebound")
    for was, now in ((None, None), (disc_by_disc, None), (None, disc_by_disc)):
        found = carried.ratio(was, now, 8.0, np.array([0.1, 0.3]))
        assert found.share.tolist() == [0.0, 0.0]
        assert found.less.tolist() == found.more.tolist() == [0.05, 0.05]
