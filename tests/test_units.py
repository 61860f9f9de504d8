"""Units against pint and the printed factors of NIST SP 811; reading what hands type.

SP 811, appendix B: the printed values were read in three agreeing second-hand copies, not in the
standard itself. pint: computed with the installed version. Exact values follow from the
definitions of inch, pound and standard gravity.
"""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.errors import BadNumber
from trackside.units import (
    QUANTITIES,
    clean,
    from_si,
    one_line,
    read,
    read_number,
    show,
    show_lap,
    show_span,
)

REGISTRY = pint.UnitRegistry()

PINT = {
    "bar": "bar", "psi": "psi", "kPa": "kPa", "MPa": "MPa", "hPa": "hPa", "inHg": "inch_Hg",
    "mmHg": "mmHg", "mm": "mm", "in": "inch", "cm": "cm", "m": "m", "N/mm": "N/mm",
    "lbf/in": "lbf/inch", "kgf/mm": "kgf/mm", "N/m": "N/m", "N": "N", "lbf": "lbf", "kgf": "kgf",
    "kN": "kN", "mm/s": "mm/s", "in/s": "inch/s", "m/s": "m/s", "km/h": "km/hour",
    "mph": "mile/hour", "kg": "kg", "lb": "lb", "L": "liter", "US gal": "gallon",
    "°": "degree", "′": "arcminute", "°C": "degC", "°F": "degF", "K": "kelvin", "s": "s",
    "min": "minute",
    "N·s/m": "N*s/m", "N·s/mm": "N*s/mm", "lbf·s/in": "lbf*s/inch", "kgf·s/mm": "kgf*s/mm",
    "kN·m·s/rad": "kN*m*s", "lbf·ft·s/rad": "lbf*ft*s", "J": "J", "ft·lbf": "ft*lbf",
    "h": "hour", "ml": "milliliter", "fl oz": "fluid_ounce", "N·m": "N*m", "lbf·ft": "lbf*ft",
    "lbf·in": "lbf*inch",
}  # fmt: skip
BASE = {"Pa": "Pa", "m": "m", "rad": "rad", "N/m": "N/m", "N": "N", "m/s": "m/s", "kg": "kg",
        "m³": "m^3", "°C": "degC", "s": "s", "N·s/m": "N*s/m", "N·m·s/rad": "N*m*s",
        "J": "J", "N·m": "N*m"}  # fmt: skip

CASES = [
    (quantity.name, unit.symbol)
    for quantity in QUANTITIES.values()
    for unit in quantity.units
    if unit.base in BASE
]


@pytest.mark.parametrize(("quantity", "symbol"), CASES)
@pytest.mark.parametrize("value", [-40.0, 0.0, 1.0, 68.0, 212.0])
def test_every_unit_agrees_with_pint(quantity: str, symbol: str, value: float) -> None:
    unit = QUANTITIES[quantity].unit(symbol)
    if value < 0 and not QUANTITIES[quantity].signed:
        return
    if value < 0 and symbol == "K":
        return
    expected = REGISTRY.Quantity(value, PINT[symbol]).to(BASE[unit.base]).magnitude
    # the barometer's mercury columns are conventional figures of 12 digits
    assert read(f"{value} {symbol}", quantity).si == pytest.approx(expected, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "quantity", "exact", "printed", "printed_rel"),
    [
        ("1 psi", "pressure", 6894.757293168361, 6.894757e3, 1e-7),
        ("1 lbf", "force", 4.4482216152605, 4.448222, 1e-7),
        ("1 lbf/in", "spring rate", 175.12683524647636, 175.1268, 3e-7),
        ("1 mph", "speed", 0.44704, 0.44704, 0.0),
        ("1 bar", "pressure", 1e5, 1e5, 0.0),
        ("1 in", "length", 0.0254, 0.0254, 0.0),
        ("10 in/s", "speed", 0.254, 0.254, 0.0),
        ("300 psi", "pressure", 20.684271879505e5, None, 0.0),
        ("800 lbf/in", "spring rate", 140.101468197181e3, None, 0.0),
        ("1 inHg", "barometric pressure", 3386.38864034, None, 0.0),
    ],
)
def test_exact_factors_and_their_printed_values(
    text: str, quantity: str, exact: float, printed: float | None, printed_rel: float
) -> None:
    found = read(text, quantity).si
    assert found == pytest.approx(exact, rel=1e-12)
    if printed is not None:
        assert found == pytest.approx(printed, rel=printed_rel or 1e-12)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [(32, 0), (68, 20), (212, 100), (-40, -40), (180, 82.2222222222)]
)
def test_fahrenheit_at_five_points(fahrenheit: float, celsius: float) -> None:
    """Computed with pint; −40 and 68 too, since a wrong offset passes at 32 alone."""
    assert read(f"{fahrenheit} °F", "temperature").si == pytest.approx(celsius, abs=1e-9)
    assert from_si(celsius, "temperature", "°F") == pytest.approx(fahrenheit, abs=1e-9)


def test_a_charge_of_300_psi_is_two_megapascals() -> None:
    """Arithmetic on the definitions of pound, gravity and inch; that 300 psi is a usual charge is
    common practice, no source."""
    shown = from_si(read("300 psi", "pressure").si, "pressure", "MPa")
    assert shown == pytest.approx(300 * 0.45359237 * 9.80665 / 0.0254**2 / 1e6, rel=1e-12)
    assert round(shown, 2) == 2.07


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12,5", 12.5), ("12.5", 12.5), ("1.234,5", 1234.5), ("1,234.5", 1234.5),
        ("1 234,5", 1234.5), ("1'234.5", 1234.5), ("1,234", 1.234), (".5", 0.5), (",5", 0.5),
        ("−3", -3.0), ("–3", -3.0), ("+7", 7.0), ("1e3", 1000.0), ("5.", 5.0),
        ("1\u202f234,5", 1234.5), ("1.234.567,8", 1234567.8),
    ],
)  # fmt: skip
def test_comma_and_point(text: str, value: float) -> None:
    assert read_number(text) == value


@pytest.mark.parametrize(
    "text",
    ["1.234.567", "1,234,567", "1.23,4.5", "12.34,5", "1,2.3,4", "", "x", "--3", "1 2", "nan",
     "inf", "1e999", "3 clicks", "٣٫٥x"],
)  # fmt: skip
def test_what_is_no_number_or_two_is_refused(text: str) -> None:
    with pytest.raises(BadNumber) as error:
        read_number(text)
    assert error.value.remedy or error.value.cause


@pytest.mark.parametrize(
    ("text", "quantity", "si", "symbol"),
    [
        ("300 psi", "pressure", 2068427.1879505, "psi"),
        ("300psi", "pressure", 2068427.1879505, "psi"),
        ("20.7 bar", "pressure", 20.7e5, "bar"),
        ("20,7 BAR", "pressure", 20.7e5, "bar"),
        ("1,45", "pressure", 1.45e5, "bar"),
        ("62C", "temperature", 62.0, "°C"),
        ("181F", "temperature", (181 - 32) / 1.8, "°F"),
        ("181 ºF", "temperature", (181 - 32) / 1.8, "°F"),
        ("-2°30'", "angle", math.radians(-2.5), "°"),
        ("−2°30′", "angle", math.radians(-2.5), "°"),
        ("-0°30'", "angle", math.radians(-0.5), "°"),
        ("12'", "toe", math.radians(0.2), "′"),
        ('1/8"', "length", None, ""),
        ("1:32.456", "lap time", 92.456, "s"),
        ("1'32,456", "lap time", 92.456, "s"),
        ("92.4", "lap time", 92.4, "s"),
        ("800 lb/in", "spring rate", 140101.468197181, "lbf/in"),
        ("55 %", "share", 0.55, "%"),
        ("55", "share", 0.55, "%"),
    ],
)
def test_what_hands_type(text: str, quantity: str, si: float | None, symbol: str) -> None:
    if si is None:
        with pytest.raises(BadNumber):
            read(text, quantity)
        return
    found = read(text, quantity)
    assert found.si == pytest.approx(si, rel=1e-12)
    assert found.unit.symbol == symbol


@pytest.mark.parametrize(
    ("text", "quantity", "told"),
    [
        ("20 mm", "pressure", "not a unit of pressure"),
        ("-5", "spring rate", "below zero"),
        ("1:75.0", "lap time", "59 seconds"),
        ("12 [b]x", "force", "not a unit"),
    ],
)
def test_another_unit_is_refused_with_a_remedy(text: str, quantity: str, told: str) -> None:
    with pytest.raises(BadNumber, match=told):
        read(text, quantity)


def test_a_bare_number_is_taken_in_the_unit_of_the_crew() -> None:
    assert read("20", "pressure", "psi").si == pytest.approx(20 * 6894.757293168361)
    assert read("20", "pressure").si == 20e5


@given(st.sampled_from(CASES), st.floats(-1e6, 1e6))
def test_there_and_back(case: tuple[str, str], value: float) -> None:
    quantity, symbol = case
    unit = QUANTITIES[quantity].unit(symbol)
    si = value * unit.factor + unit.offset
    assert from_si(si, quantity, symbol) == pytest.approx(value, rel=1e-9, abs=1e-6)


@given(st.sampled_from(CASES), st.floats(0, 1e4))
def test_what_is_shown_reads_as_the_same_value(case: tuple[str, str], value: float) -> None:
    quantity, symbol = case
    unit = QUANTITIES[quantity].unit(symbol)
    if quantity == "lap time":
        return
    si = value * unit.factor + unit.offset
    again = read(show(si, quantity, symbol, with_unit=True), quantity).si
    assert abs(again - si) <= 0.51 * 10.0**-unit.decimals * unit.factor + 1e-9 * abs(si)


def test_lap_times_are_shown_as_on_the_timing_screen() -> None:
    assert show_lap(92.456) == "1:32.456"
    assert show_lap(59.9996) == "1:00.000"
    assert show_lap(None) == "–"


@pytest.mark.parametrize("position", ["2.75", "0.125", "8", "100", "10.5"])
def test_a_quarter_click_is_shown_as_it_was_counted(position: str) -> None:
    assert show(read(position, "clicks").si, "clicks") == position


@pytest.mark.parametrize(
    ("lowest", "below"), [("-273.15 °C", "-273.2"), ("-459.67 °F", "-460 °F"), ("0 K", "-1 K")]
)
def test_nothing_is_colder_than_absolute_zero(lowest: str, below: str) -> None:
    """0 K is −273.15 °C by definition, and −459.67 °F (computed with pint)."""
    assert read(lowest, "temperature").si == pytest.approx(-273.15)
    with pytest.raises(BadNumber, match="absolute zero"):
        read(below, "temperature")


@pytest.mark.parametrize(
    ("kelvin", "unit", "shown"), [(45, "°C", "45 °C"), (45, "°F", "81 °F"), (45, "K", "45 K")]
)
def test_a_difference_knows_no_zero_point(kelvin: float, unit: str, shown: str) -> None:
    """A degree Fahrenheit is 5/9 of a kelvin, by definition."""
    assert show_span(kelvin, "temperature", unit) == shown


def test_minus_zero_is_not_shown() -> None:
    assert show(-0.0001, "force") == "0"


@given(st.text())
def test_no_text_brings_control_codes(text: str) -> None:
    kept = clean(text)
    assert not any(c < " " and c not in "\n\t" for c in kept)
    assert not any("\x7f" <= c <= "\x9f" or "\u202a" <= c <= "\u202e" for c in kept)
    kept.encode("utf-8")
    assert "\n" not in one_line(text)
    assert clean(kept) == kept


@pytest.mark.parametrize("text", ["[/", "[b]", "🏁 kerb", "a\tb", "تجربة", "line\nline"])
def test_what_people_write_stays(text: str) -> None:
    assert clean(text) == text


def test_a_lap_of_no_length_that_is_one_is_shown_as_it_is() -> None:
    """Another program may have written any number."""
    assert show_lap(1e308) == "1e+308"
    assert show_lap(-1e300) == "-1e+300"
    assert show_lap(100000.0) == "1666:40.000"
