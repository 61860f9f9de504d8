"""Values as a page tells them: converted where that can be done, never across what they measure."""

from __future__ import annotations

import numpy as np
import pytest

from trackside.analysis.worth import ForceStep
from trackside.damper.basis import Basis
from trackside.damper.shop import shop_curve
from trackside.preferences import Preferences
from trackside.records import Reading
from trackside.reports.formatting import plus_minus, step_cells, value


@pytest.mark.parametrize(
    ("typed", "quantity", "unit", "told"),
    [
        ("0.2°", "toe", "mm", "0.20 °"),  # no wheel size is known: an angle is no length
        ("30 kg", "fuel", "L", "30.0 kg"),  # nor a density
        ("1 in", "length", "mm", "25.4 mm"),  # 25.4 mm by definition
        ("12o", "spring rate", "N/mm", "12o"),
    ],
)
def test_a_value_keeps_what_it_measures(typed: str, quantity: str, unit: str, told: str) -> None:
    crew = Preferences(units={quantity: unit})
    assert value(Reading.of_text(typed, quantity, unit), quantity, crew) == told


def test_words_and_the_unknown() -> None:
    assert value("soft, [/b]", None, Preferences()) == "soft, [/b]"
    assert value(None, "length", Preferences()) == "–"


@pytest.mark.parametrize("flip", [1.0, -1.0])
def test_all_of_an_uneven_band_lies_within_what_is_told(flip: float) -> None:
    told = shop_curve(900, 0.1, 0.06).predict(0, [0.1])  # 900 N from 671 to 1208: the handbook
    at, *edges = (flip * float(force[0]) for force in (told.force, told.low, told.high))
    low, high = sorted(edges)
    assert plus_minus(at, low, high, Preferences()) == "308"
    step = ForceStep(*map(np.array, ([0.1], [1e3], [at], [low], [high])), Basis.SHOP_RULE)
    assert step_cells(step, 0, Preferences())[1] == "308"
    assert plus_minus(944.0, 899.0, 989.0, Preferences()) == "45"  # an even one: half of it
