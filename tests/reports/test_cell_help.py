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


def test_what_cannot_be_read_means_nothing_and_is_no_error() -> None:
    for typed, path in (("soft", "FL.rebound_bleed"), ("12o", "FL.gas_pressure")):
        value = Reading(typed=typed)
        assert cell_help.of_value(value, path, None, Preferences()) == ""


@pytest.mark.parametrize(
    ("typed", "path", "told"),
    [
        ("150 kPa", "FL.cold_pressure", "1.50 bar = 150 kPa = 21.8 psi"),
        ("0.15 MPa", "FL.cold_pressure", "1.50 bar = 0.150 MPa = 21.8 psi"),
        ("100 N/mm", "FL.spring_rate", "100.0 N/mm = 571 lbf/in"),
        ("571.0147 lbf/in", "FL.spring_rate", "100.0 N/mm = 571 lbf/in"),
        ("10 kgf/mm", "FL.spring_rate", "98.1 N/mm = 10.00 kgf/mm"),
    ],
)  # 1 psi = 6.894757 kPa, 1 lbf/in = 175.1268 N/m, 1 kgf = 9.80665 N: NIST SP 811
def test_a_value_is_told_in_the_units_that_crews_use(typed: str, path: str, told: str) -> None:
    assert cell_help.of_text(typed, path, Preferences()) == told
