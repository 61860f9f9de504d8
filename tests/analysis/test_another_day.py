"""Another day: pressures, charge and heat from what the car gained, by hand and against scipy."""

from __future__ import annotations

import pytest
from scipy import stats

from trackside.analysis.another_day import (
    body_heat,
    charge_today,
    cold_for_target,
    denser,
    expected_heat,
)
from trackside.preferences import Preferences
from trackside.records import Reading, Session
from trackside.reports.air_words import expected_words

BAR = 1e5
KELVIN = 273.15
ATM = 101_325.0


def run(air: float | None, cold: float = 0, hot: float = 0, surface: str = "dry") -> Session:
    made = Session(car="car", surface=surface)
    if air is not None:
        made = made.with_value("air_temperature", Reading.of_si(air, "temperature"))
    for name, bar in (("cold_pressure", cold), ("hot_pressure", hot)):
        if bar:
            made = made.with_value(f"FL.{name}", Reading.of_si(bar * BAR, "pressure"))
    return made


def today(air: float | None = 20.0, target: float = 1.9, surface: str = "dry") -> Session:
    made = run(air, surface=surface)
    return made.with_value("FL.hot_target", Reading.of_si(target * BAR, "pressure"))


def test_the_same_day_gives_the_pressure_by_hand() -> None:
    """1.90 bar hot at 85 °C is (1.90 + 1.01325)·293.15/358.15 − 1.01325 = 1.3713 bar at 20 °C."""
    cold = (1.9 * BAR + ATM) * (20 + KELVIN) / (85 + KELVIN) - ATM
    found = cold_for_target([run(20.0, cold / BAR, 1.9)], today(), "FL")
    assert found is not None
    assert found.at == pytest.approx(cold, rel=1e-9)
    assert cold == pytest.approx(1.3713 * BAR, rel=1e-4)


def test_one_run_is_wide_and_more_are_narrower() -> None:
    widths = []
    for count in (1, 2, 4, 8):
        found = cold_for_target([run(20.0, 1.4, 1.9)] * count, today(), "FL")
        assert found is not None
        assert found.low < found.at < found.high
        assert found.runs == count
        widths.append(found.high - found.low)
    assert widths == sorted(widths, reverse=True)
    assert widths[0] > 2 * widths[-1]


def test_the_interval_is_the_predictive_t() -> None:
    """Normal data, scaled inverse χ² prior of 2 degrees at 8 K: scipy's t of 2 + n − 1."""
    heats = [84.0, 88.0, 86.0]
    found = expected_heat([(heat, 20.0) for heat in heats], 20.0)
    assert found is not None
    spread = (2 * 64 + sum((heat - 86) ** 2 for heat in heats)) / 4
    low, high = stats.t(4, 86, (spread * (1 + 1 / 3)) ** 0.5).interval(0.90)
    assert (found.low, found.high) == pytest.approx((low, high))


def test_a_colder_day_goes_half_way_and_is_less_sure() -> None:
    same, colder = (expected_heat([(86.0, 20.0)], air) for air in (20.0, 10.0))
    assert same is not None
    assert colder is not None
    assert colder.at == 81.0
    assert colder.high - colder.low > same.high - same.low


def test_wet_and_dry_are_not_mixed() -> None:
    dry, wet = run(20.0, 1.4, 1.9), run(20.0, 1.5, 1.7, "wet")
    only = cold_for_target([wet], today(surface="wet"), "FL")
    assert only is not None
    assert cold_for_target([dry, wet], today(surface="wet"), "FL") == only
    assert cold_for_target([wet], today(), "FL") is None


@pytest.mark.parametrize(("runs", "now"), [
    ([], today()), ([run(None, 1.4, 1.9)], today()), ([run(20.0, 1.9, 1.4)], today()),
    ([run(20.0, 1.4, 1.9)], today(None)), ([run(20.0, 1.4, 1.9)], run(20.0)),
])  # fmt: skip
def test_what_is_not_known_is_not_made_up(runs: list[Session], now: Session) -> None:
    assert cold_for_target(runs, now, "FL") is None
    assert body_heat(runs, now, "FL") is None
    assert charge_today(now, now, "FL") is None
    assert denser(now, now) is None


def test_a_charge_is_carried_to_todays_air() -> None:
    """Nitrogen 218 psi at 20 °C is 267.42 psi at 80 °C: the worked example of `damper.gas`."""
    psi = 6894.757
    then = run(20.0).with_value("FL.gas_pressure", Reading.of_si(218 * psi, "pressure"))
    then = then.with_value("FL.gas_temperature", Reading.of_si(20.0, "temperature"))
    found = charge_today(then, run(80.0), "FL")
    assert found is not None
    assert found[0] / psi == pytest.approx(267.42, abs=0.01)


def test_words() -> None:
    found = cold_for_target([run(20.0, 1.4, 1.9)], today(), "FL")
    assert found is not None
    words = expected_words(found, "pressure", Preferences())
    assert words.startswith("1.40 bar, 90 %: ")
    assert words.endswith(", from 1 run")
