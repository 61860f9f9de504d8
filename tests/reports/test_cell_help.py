"""What a cell means, in words."""

from __future__ import annotations

import pytest

from trackside.preferences import Preferences
from trackside.records import Adjuster, Reading
from trackside.reports import cell_help

KNOB = Adjuster(acts_on="rebound_bleed", clicks=20, counted_from="soft")


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("8", "8 clicks of 20 from full soft"),
        ("1", "1 click of 20 from full soft"),
        ("", "0 to 20 clicks from full soft"),
    ],
)
def test_a_count_says_of_how_many_and_from_which_end(typed: str, told: str) -> None:
    value = Reading.of_text(typed, "clicks")
    assert cell_help.of_value(value, "FL.rebound_bleed", KNOB, Preferences()) == told


def test_an_unknown_damper_claims_no_number_of_clicks() -> None:
    assert cell_help.of_value(None, "FL.rebound_bleed", None, Preferences()) == ""


def test_a_pressure_is_told_in_the_other_unit_too() -> None:
    """1 bar is 100 kPa (SI); 1 psi is 6894.757 Pa (NIST SP 811, appendix B, from memory)."""
    value = Reading.of_text("300 psi", "pressure")
    told = cell_help.of_value(value, "FL.gas_pressure", None, Preferences())
    assert "20.68 bar" in told
    assert "300.0 psi" in told
