"""Other oil against textbook flow; sheets that warmed; losses between two sheets.

The dampers are of the trial bench's tuning half, whose leak and bleed are known apart.
"""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from tests.bench.trial_bench import SPEEDS, TUNING, Trial, dampers, trial_damper
from trackside.damper.flow import FlowPath, force_at
from trackside.damper.oil import OilData, ratios
from trackside.damper.sheet_fit import SheetFit, SheetRows, fit_sheet
from trackside.damper.viscous import BY_CLEARANCE, THINNING, Viscous, carried, learned, with_oil
from trackside.damper.warming import fit_warmed
from trackside.damper.wear import gained

SURE = ((1e-12, 0.0), (0.0, 1e-12))


def _rows(damper: Trial, positions, seed: int, **faults) -> SheetRows:
    position, direction, speed, force, warmth = damper.sheet(positions, seed, **faults).columns
    return SheetRows(position, direction, speed, force, warmth)


def _oil(damper: Trial) -> OilData:
    return OilData(damper.oil.at_40, damper.oil.at_100, expansion=damper.oil.expansion)


def test_a_known_leak_moves_as_the_flow_law_says():
    """Against `force_at`, whose leak goes with viscosity and whose bleed goes with density."""
    path = FlowPath(leak=3e-6, bleed=2e-3, crack=300.0, opening=4e-6, port=1e-2)
    speed = np.array([0.01, 0.05, 0.2, 0.4])
    known = Viscous((math.log(3e-6), math.log(1e-12)), SURE)
    found = carried(lambda v: force_at(v, path), speed, 2.8, 1.03, known)
    assert np.exp(found.logs) == pytest.approx(force_at(speed, path, 2.8, 1.03), rel=2e-3)


def test_a_known_passage_moves_as_two_resistances_in_series_do():
    """Δp = R·μ·q + K·q², solved by hand (textbook): to first order the flow is the orifice's less
    R·μ/(2·K)."""
    k, r, speed = 4e4, 500.0, np.array([0.05, 0.1, 0.2])

    def force(v: np.ndarray, thick: float) -> np.ndarray:
        return r * thick * v + k * v**2

    known = Viscous((math.log(1e-15), math.log(r / (2 * k))), SURE)
    found = carried(lambda v: force(v, 1.0), speed, 2.5, 1.0, known)
    assert np.exp(found.logs) == pytest.approx(force(speed, 1 / 2.5), rel=0.05)


def test_the_usual_leak_is_that_of_the_gap():
    """π·D·h³/(12·μ·l) for 40 mm, 30 µm, 10 mm and 13 mPa·s (textbook), on 1,000 mm²: within twice
    the doubt."""
    flow = math.pi * 0.04 * 30e-6**3 / (12 * 0.013 * 0.01)  # m³/s for each Pa
    leak = flow / 1e-3**2
    off = abs(math.log(leak) - BY_CLEARANCE.logs[0])
    assert off < 2 * math.sqrt(BY_CLEARANCE.covariance[0][0])


def test_the_same_oil_changes_nothing_and_other_oil_widens_the_band():
    damper = trial_damper(TUNING[4])
    fit = fit_sheet(_rows(damper, [0, 4, 8], 1)).direction("bump")
    cold = fit.predict(4, SPEEDS)
    viscosity, density = ratios(_oil(damper), 40, 80)
    warm = fit.predict(4, SPEEDS, None, float(viscosity), float(density))
    assert np.all(warm.force < cold.force)
    assert np.all((warm.high - warm.low) / warm.force > (cold.high - cold.low) / cold.force)
    rest = fit.predict(4, [0.0, 0.1], None, float(viscosity), float(density))
    assert (rest.low[0], rest.force[0], rest.high[0]) == (0.0, 0.0, 0.0)


def test_an_oil_without_data_reaches_to_where_a_usual_one_would_be():
    damper = trial_damper(TUNING[4])
    fit = fit_sheet(_rows(damper, [0, 4, 8], 1)).direction("bump")
    viscosity, density = ratios(None, 40, 80)
    unknown = fit.predict(4, SPEEDS, None, float(viscosity), float(density))
    viscosity, density = ratios(OilData(20, 5.2), 40, 80)
    usual = fit.predict(4, SPEEDS, None, float(viscosity), float(density))
    assert np.all(unknown.low < usual.force)


@pytest.mark.parametrize(("celsius", "side"), [(80.0, "low"), (5.0, "high")])
def test_the_band_of_an_oil_without_data_ends_where_a_usual_one_ends(celsius, side):
    """The usual oil thins by `THINNING` a kelvin: warm oil reaches lower and cold oil higher, and
    the other end stays where density alone puts it."""
    fit = fit_sheet(_rows(trial_damper(TUNING[4]), [0, 4, 8], 1)).direction("bump")
    density = float(ratios(None, 40, celsius)[1])

    def of(viscosity):
        return with_oil(lambda v: fit.predict(4, v), SPEEDS, viscosity, density)

    unknown, other = of(1.0), of(math.exp(THINNING * (celsius - 40.0)))
    nearly = of(1.0 + 1e-9)  # an oil with data, as thick as before
    end = {"low": "high", "high": "low"}[side]
    moving = SPEEDS > 0.0
    assert getattr(unknown, side)[moving] == pytest.approx(getattr(other, side)[moving])
    assert getattr(unknown, end) == pytest.approx(getattr(nearly, end), rel=1e-6)
    assert getattr(unknown, side)[moving][1] != pytest.approx(getattr(nearly, side)[moving][1])


def test_warm_curves_come_closer_than_no_change_and_lie_in_their_band():
    """Error of ln(warm force), the cold error taken off, over twelve dampers at 60 and 80 °C."""
    errors, still, inside = [], [], []
    for seed, damper in dampers(12, TUNING[700:]):
        places = np.linspace(0, damper.bump.clicks, 5).round()
        fit: SheetFit = fit_sheet(_rows(damper, places, seed))
        for celsius in (60.0, 80.0):
            oil = tuple(float(r) for r in ratios(_oil(damper), 40, celsius))
            for direction in ("bump", "rebound"):
                side = fit.direction(direction)
                for place in places[::2]:
                    now = side.predict(place, SPEEDS[1:], None, *oil)
                    was = side.predict(place, SPEEDS[1:]).force
                    true = damper.true_force(direction, place, SPEEDS[1:], celsius)
                    cold = damper.true_force(direction, place, SPEEDS[1:])
                    still.append(np.log(true / cold))
                    errors.append(np.log(now.force / was) - still[-1])
                    inside.append((now.low <= true) & (true <= now.high))
    rms, none = (np.sqrt(np.mean(np.square(e), axis=0)) for e in (errors, still))
    assert np.all(rms < 0.5 * none)
    assert np.mean(inside) > 0.93


def test_two_temperatures_tell_the_leak_from_the_bleed():
    """A law of its own at two oils: the leak that it was made with is found, and a loss beside."""
    path = FlowPath(leak=6e-6, bleed=1.5e-3, crack=400.0, opening=4e-6, port=2e-2)
    speed = np.geomspace(0.01, 0.4, 12)
    seen = np.log(0.93 * force_at(speed, path, 3.0, 1.0))
    noise = 0.003**2 * np.eye(speed.size)

    def carry(viscous):
        found = carried(lambda v: force_at(v, path), speed, 3.0, 1.0, viscous)
        return found.logs, found.slopes

    start = Viscous((BY_CLEARANCE.logs[0], math.log(1e-9)), BY_CLEARANCE.covariance)
    found, gain, deviation = learned(seen, carry, noise, start)
    assert found.leak == pytest.approx(6e-6, rel=0.1)
    assert gain == pytest.approx(math.log(0.93), abs=3 * deviation)
    assert found.covariance[0][0] < 0.1 * BY_CLEARANCE.covariance[0][0]


@pytest.fixture(scope="module")
def warmed() -> tuple[Trial, list[float], SheetRows]:
    damper = trial_damper(TUNING[6])  # its low-speed force falls by a quarter from 40 to 80 °C
    places = [float(p) for p in np.linspace(0, damper.bump.clicks, 5).round()]
    return damper, places, _rows(damper, places, 3, warm_by=40.0, scatter=(0.002, 0.2))


def test_rows_of_a_sheet_that_warmed_are_put_at_one_oil(warmed):
    damper, places, rows = warmed
    even = fit_sheet(_rows(damper, places, 3, celsius=60.0, scatter=(0.002, 0.2)))
    apart = {}
    for name, fit in (("as read", fit_sheet(rows)), ("one oil", fit_warmed(rows, _oil(damper)))):
        assert fit.oil_C == pytest.approx(60.0, abs=3)
        off = [
            fit.direction(d).predict(p, SPEEDS[1:]).force
            / even.direction(d).predict(p, SPEEDS[1:]).force
            - 1.0
            for d in ("bump", "rebound")
            for p in places
        ]
        apart[name] = float(np.sqrt(np.mean(np.square(off))))
    assert apart["one oil"] < 0.6 * apart["as read"]


def test_a_position_run_cold_and_warm_says_more_than_clearances(warmed):
    damper, places, rows = warmed
    again = _rows(damper, places, 4, celsius=80.0, scatter=(0.002, 0.2))
    both = SheetRows(
        *(np.concatenate([getattr(r, n) for r in (rows, again)])
          for n in ("position_from_hard", "direction", "speed", "force", "oil_C"))
    )  # fmt: skip
    once, twice = (fit_warmed(r, _oil(damper)).direction("bump").viscous for r in (rows, both))
    assert once == BY_CLEARANCE
    assert twice.covariance[0][0] < 0.7 * BY_CLEARANCE.covariance[0][0]


def test_a_sheet_at_one_temperature_is_fitted_as_it_is(warmed):
    damper, places, _ = warmed
    rows = _rows(damper, places, 3)
    plain, put = fit_sheet(rows).direction("bump"), fit_warmed(rows).direction("bump")
    assert put.predict(places[1], SPEEDS).force == pytest.approx(
        plain.predict(places[1], SPEEDS).force
    )


@cache
def _before(seeds: range) -> list:
    """Six dampers with their seeds, the positions that were run, and the fits of those sheets."""
    found = []
    for seed, damper in dampers(6, seeds):
        places = tuple(float(p) for p in np.linspace(0, damper.bump.clicks, 5).round())
        found.append((seed, damper, places, fit_sheet(_rows(damper, places, seed, gain=0.005))))
    return found


def _lost(seeds: range, celsius: float, share: float) -> tuple[int, list[float]]:
    """Directions of six dampers in which a loss is found, and the errors of the gain over its
    deviation."""
    found, errors = 0, []
    for seed, damper, places, was in _before(seeds):
        now = fit_sheet(
            _rows(damper, places, seed + 50_000, gain=0.005, celsius=celsius, share=share)
        )
        oil = tuple(float(r) for r in ratios(_oil(damper), 40.0, celsius))
        for d in ("bump", "rebound"):
            gain = gained(was.direction(d), now.direction(d), places, 0.0, SPEEDS, oil)
            found += -gain.log > max(0.04, 1.96 * gain.deviation)
            errors.append((gain.log - math.log(share)) / gain.deviation)
    return found, errors


@pytest.mark.parametrize("celsius", [40.0, 80.0])
def test_a_loss_is_found_and_warm_oil_is_none(celsius):
    lost, errors = _lost(TUNING[800:], celsius, 0.94)
    none, _ = _lost(TUNING[800:], celsius, 1.0)
    assert none <= 1
    assert lost >= (11 if celsius == 40.0 else 6)
    assert np.mean(np.abs(errors) < 1.96) >= 0.75


def test_sheets_of_unknown_oil_say_less():
    damper = trial_damper(TUNING[9])
    places = (0.0, 5.0, 10.0)
    was, now = (fit_sheet(_rows(damper, places, s)).direction("bump") for s in (1, 2))
    known = gained(was, now, places, 0.0, SPEEDS, (1.0, 1.0))
    unknown = gained(was, now, places, 0.0, SPEEDS, None)
    assert unknown.deviation > 1.2 * known.deviation


def test_a_loss_is_judged_by_the_viscous_part_of_the_earlier_sheet():
    """What the later sheet was taken for says nothing of how the earlier one's oil moves."""
    damper = trial_damper(TUNING[9])
    places = (0.0, 5.0, 10.0)
    was, now = (fit_sheet(_rows(damper, places, s)).direction("bump") for s in (1, 2))
    other = Viscous((BY_CLEARANCE.logs[0] + 1.0, BY_CLEARANCE.logs[1]), SURE)

    def gain(one, two):
        return gained(one, two, places, 0.0, SPEEDS, (2.5, 1.03)).log

    assert gain(was, replace(now, viscous=other)) == gain(was, now)
    assert gain(replace(was, viscous=other), now) != pytest.approx(gain(was, now), abs=1e-3)


def test_no_speed_gives_no_force():
    fit = fit_sheet(_rows(trial_damper(TUNING[4]), [0, 4, 8], 1)).direction("bump")
    found = with_oil(lambda v: fit.predict(4, v), np.zeros(2), 2.0, 1.02)
    assert np.all(found.high == 0.0)
