"""Air density and altitude against computed and published values."""

import numpy as np
import pytest

from trackside.corner.air import air_density, standard_pressure
from trackside.errors import BadNumber


@pytest.mark.parametrize(
    ("t", "p", "h", "rho"),
    [
        (20, 101325, 0.5, 1.1993139),
        (20, 101325, 0.0, 1.2045573),
        (15, 101325, 0.0, 1.2255213),
        (30, 100000, 0.6, 1.1384426),
        (10, 730 * 133.322387415, 0.4, 1.1956949),
        (40, 760 * 133.322387415, 0.4, 1.1150352),
    ],
)
def test_computed_densities(t, p, h, rho):
    # CIPM-2007 (Picard and others, Metrologia 45 (2008) 149: abstract read) with the constants that
    # two open implementations agree on (second hand): computed
    assert air_density(t, p, h) == pytest.approx(rho, rel=1e-6)


def test_other_sources():
    # dry air at 20 °C in the documentation of a psychrometric library (read): 65 ppm apart. Gupta,
    # Mass Metrology, p. 205, as the test of an R package quotes it (second hand), at 10 and 40 °C
    assert air_density(20, 101325, 0) == pytest.approx(1.20448, rel=1e-4)
    assert air_density(10, 730 * 133.322387415, 0.4) == pytest.approx(1.19569, rel=1e-4)
    assert air_density(40, 760 * 133.322387415, 0.4) == pytest.approx(1.11497, rel=1e-4)


def test_a_simple_formula_says_about_the_same():
    # 1.1787 at 25 °C, 760 mmHg, 40 %: a public value of the shorter formula, which the same R
    # package quotes (second hand)
    assert air_density(25, 760 * 133.322387415, 0.4) == pytest.approx(1.1787, rel=5e-4)


def test_against_coolprop():
    # CoolProp's humid air, computed with the installed version
    humid = pytest.importorskip("CoolProp.HumidAirProp")
    for t, p, h in ((5, 95e3, 0.3), (25, 101e3, 0.8), (38, 99e3, 0.5)):
        volume = humid.HAPropsSI("Vha", "T", t + 273.15, "P", p, "R", h)
        assert air_density(t, p, h) == pytest.approx(1 / volume, rel=2e-4)


def test_damp_air_is_lighter():
    assert (np.diff(air_density(28, 1e5, np.linspace(0, 1, 6))) < 0).all()


@pytest.mark.parametrize(
    ("height", "pressure"),
    [(0, 101325), (500, 95460.835), (700, 93193.556), (1000, 89874.563), (2240, 77154.735),
     (11000, 22632.040)],
)  # fmt: skip
def test_standard_atmosphere(height, pressure):
    # p = 101325·(T/288.15)^(g/(R·L)), formula and constants of the standard atmosphere (ISO 2533,
    # not read): computed, and fluids.ATMOSPHERE_1976 agrees; 15 °C and 1013.25 hPa at sea level and
    # −56.5 °C at 11 km were read on a web page
    assert standard_pressure(height) == pytest.approx(pressure, rel=1e-7)


def test_what_cannot_be():
    for bad in ((20, 101.325, 0.5), (20, 101325, 50), (120, 101325, 0.5)):
        with pytest.raises(BadNumber):
            air_density(*bad)
    with pytest.raises(BadNumber):
        standard_pressure(20_000)
