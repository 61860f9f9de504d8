"""Values as a page tells them: converted where that can be done, never across what they measure."""

from __future__ import annotations

import pytest

from trackside.preferences import Preferences
from trackside.records import Reading
from trackside.telling.figures import value


@pytest.mark.parametrize(
    ("typed", "quantity", "unit", "told"),
    [
        ("0.2°", "toe", "mm", "0.20 °"),  # no wheel size is known: an angle is no length
        ("30 kg", "fuel", "L", "30.0 kg"),  # nor a density
        ("1 in", "length", "mm", "25.4 mm"),  # 25.4 mm exactly (NIST SP 811 app. B, second hand)
        ("12o", "spring rate", "N/mm", "12o"),
    ],
)
def test_a_value_keeps_what_it_measures(typed: str, quantity: str, unit: str, told: str) -> None:
    crew = Preferences(units={quantity: unit})
    assert value(Reading.of_text(typed, quantity, unit), quantity, crew) == told


def test_words_and_the_unknown() -> None:
    assert value("soft, [/b]", None, Preferences()) == "soft, [/b]"
    assert value(None, "length", Preferences()) == "–"
