"""Tyre pressures against a published example and values derived from p/T constant."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.corner.tyres import cold_pressure, pressure_at
from trackside.errors import BadNumber

# 0.45359237 kg · 9.80665 m/s² / (0.0254 m)²: by the definitions of pound, standard gravity and inch
PSI = 6894.757293168361


def _celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


@pytest.mark.parametrize(("f", "psi", "exact"), [(50, 18.7, 18.68990), (130, 23.9, 23.93029)])
def test_published_example(f, psi, exact):
    # 20 psi at 70 °F is 18.7 at 50 °F and 23.9 at 130 °F: a page of team.net of 2002 (read), with
    # 460 and 14.7; with 459.67 and 14.696: derived
    got = pressure_at(20 * PSI, _celsius(70), _celsius(f)) / PSI
    assert got == pytest.approx(psi, abs=0.05)
    assert got == pytest.approx(exact, abs=2e-5)


@pytest.mark.parametrize(
    ("psi", "rise"), [(20, 0.65505), (26, 0.76833), (30, 0.84385), (32, 0.88160), (35, 0.93824)]
)
def test_rise_for_ten_degrees_fahrenheit(psi, rise):
    # (p + pₐ)/T constant, from 70 to 80 °F: derived
    got = pressure_at(psi * PSI, _celsius(70), _celsius(80)) / PSI - psi
    assert got == pytest.approx(rise, abs=1e-5)


@pytest.mark.parametrize(("c", "bar"), [(22, 1.3875478), (14, 1.3224745)])
def test_cold_for_a_hot_target(c, bar):
    # 1.90 bar at 85 °C, (p + pₐ)·T_cold/T_hot − pₐ: derived
    assert cold_pressure(1.9e5, 85, c) == pytest.approx(bar * 1e5, abs=0.5)


def test_each_kelvin_of_the_garage():
    # (1.90 bar + pₐ)/358.15 K = 0.8134162 kPa a kelvin below 1.90 bar at 85 °C: derived
    step = cold_pressure(1.9e5, 85, 22) - cold_pressure(1.9e5, 85, 21)
    assert step == pytest.approx(813.4162, rel=1e-6)


def test_at_altitude():
    # hot and cold at 93194 Pa: 1.4018507 bar, derived
    assert cold_pressure(1.9e5, 85, 22, 93194) == pytest.approx(1.4018507e5, abs=0.5)


def test_the_barometer_moves_the_gauge():
    assert pressure_at(2e5, 20, 20, 100e3, 98e3) == pytest.approx(2.02e5)


@given(st.floats(0.5e5, 4e5), st.floats(-10, 60), st.floats(40, 130))
def test_there_and_back(pressure, cold, hot):
    assert cold_pressure(pressure_at(pressure, cold, hot), hot, cold) == pytest.approx(pressure)


def test_what_cannot_be():
    with pytest.raises(BadNumber):
        pressure_at(-2e5, 20, 40)
    with pytest.raises(BadNumber):
        pressure_at(2e5, 20, -300)
