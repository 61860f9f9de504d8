"""What the day's air does to a tyre's pressure: by hand, and silent where a figure is unknown."""

import pytest

from trackside.analysis.air import cold_as_before, density
from trackside.preferences import Preferences
from trackside.records import CornerSheet, Reading, Session
from trackside.reports.air_words import cold_words, density_words

METRIC = Preferences()


def session(air=None, baro=None, humidity=None, **tyre):
    corner = {name: Reading.of_si(value, "pressure") for name, value in tyre.items()}
    weather = {
        "air_temperature": (air, "temperature"),
        "air_pressure": (baro, "barometric pressure"),
        "humidity": (humidity, "share"),
    }
    known = {n: Reading.of_si(v, q) for n, (v, q) in weather.items() if v is not None}
    return Session(car="car", FL=CornerSheet(**corner), **known)


def told(before, now):
    """What is said at FL."""
    return cold_words(cold_as_before(before, now, "FL"), METRIC)


THEN = session(22, cold_pressure=1.50e5, hot_pressure=1.90e5)


def test_a_colder_day_asks_for_less_cold():
    # (1.50 + 1.01325) bar × 285.15 / 295.15 − 1.01325 bar = 1.415 bar: p/T constant, derived
    words = told(THEN, session(12))
    assert words == "about 1.41 bar for 1.90 hot as before (air 12 °C)"
    assert "1.50 bar" in told(THEN, session(22))


def test_thin_air_counts_with_the_gauge():
    # at 850 hPa the same gauge pressure hot is 2.75 bar absolute: (1.90 + 0.85) × 295.15 /
    # (295.15 × 2.91325 / 2.51325) − 0.85 = 1.522 bar; derived
    assert "1.52 bar" in told(THEN, session(22, 8.5e4))


@pytest.mark.parametrize(
    ("before", "now"),
    [
        (None, session(12)),
        (session(22, hot_pressure=1.9e5), session(12)),
        (session(22, cold_pressure=1.5e5), session(12)),
        (session(cold_pressure=1.5e5, hot_pressure=1.9e5), session(12)),
        (THEN, session()),
        (session(22, cold_pressure=1.9e5, hot_pressure=1.5e5), session(12)),
    ],
)
def test_what_is_not_known_is_not_made_up(before, now):
    assert cold_as_before(before, now, "FL") is None


def test_density():
    # 1.1993 kg/m³ at 20 °C, 101325 Pa, half saturated: CIPM-2007, as in the calculator's own tests
    assert density_words(density(session(20, 101_325, 0.5))) == "air 1.199 kg/m³"
    assert density(session(20, 101_325)) is None
    assert density(session(300, 101_325, 0.5)) is None


def test_the_target_is_what_cold_pressures_are_set_for() -> None:
    # p/T constant, derived: (1.50 + 1.01325) bar × 2.81325 / 2.91325 − 1.01325 bar = 1.414 bar
    words = told(THEN, session(22, hot_target=1.80e5))
    assert words == "about 1.41 bar for the target, 1.80 hot (air 22 °C)"
