"""Dyno sheets fitted: laws, then held-out points of a bench that knows more than the model."""

from dataclasses import replace

import numpy as np
import pytest

from tests.bench.virtual_bench import SPEEDS, Sheet, VirtualDamper, population, virtual_damper
from trackside.damper.basis import Basis
from trackside.damper.clicks import ForceSteps
from trackside.damper.curve import Prediction
from trackside.damper.flow import FlowPath, force_at
from trackside.damper.sheet import MOST_FITTED
from trackside.damper.sheet_fit import SheetFit, SheetRows, fit_sheet
from trackside.errors import BadSheet, NoEstimate


def fitted(sheet: Sheet, **options) -> SheetFit:
    return fit_sheet(SheetRows(*sheet.columns), **options)


@pytest.fixture(scope="module")
def damper() -> VirtualDamper:
    return virtual_damper(3)


@pytest.fixture(scope="module")
def fit(damper) -> SheetFit:
    return fitted(damper.measure(np.linspace(0, damper.clicks, 5), seed=3))


# --- laws -------------------------------------------------------------------------------------


@pytest.mark.parametrize("direction", ["bump", "rebound"])
def test_harder_is_never_softer_and_faster_never_less(fit, damper, direction):
    positions = np.linspace(0, damper.clicks * 1.1, 60)
    speeds = np.linspace(0, 0.6, 40)
    force = np.array([fit.direction(direction).predict(p, speeds).force for p in positions])
    assert np.isfinite(force).all()
    assert (np.diff(force, axis=0) <= 1e-9 * force[:-1]).all()
    assert (np.diff(force, axis=1) >= 0).all()
    assert (force[:, 0] == 0).all()


def test_the_band_holds_the_force_and_widens_with_the_basis(fit):
    hard, soft = fit.bump.positions[:2]
    end = fit.bump.positions[-1]
    places = (hard, soft, (hard + soft) / 2, end, 1.3 * end)
    answers = [fit.bump.predict(place, SPEEDS) for place in places]
    for answer in answers:
        assert (answer.low <= answer.force).all()
        assert (answer.force <= answer.high).all()
        assert (answer.low >= 0).all()
    first, second, between, last, beyond = (_relative_width(answer) for answer in answers)
    assert [answer.basis.rank for answer in answers] == [0, 0, 1, 0, 2]
    slow = SPEEDS < 0.03  # where the needle carries the flow
    assert ((between / np.sqrt(first * second))[slow] > 1.0).all()
    assert np.median(beyond / last) > 1.05


def test_a_difference_is_antisymmetric_and_nothing_against_itself(fit):
    there, back = fit.bump.difference(3, 5, SPEEDS), fit.bump.difference(5, 3, SPEEDS)
    np.testing.assert_allclose(there.change, -back.change)
    np.testing.assert_allclose(there.low, -back.high)
    still = fit.bump.difference(4, 4, SPEEDS)
    np.testing.assert_allclose([still.change, still.low, still.high], 0.0, atol=1e-3)


def test_a_difference_has_a_narrower_band_than_two_curves(fit):
    change = fit.bump.difference(4, 5, SPEEDS)
    one = fit.bump.predict(4, SPEEDS)
    assert ((change.high - change.low) < 0.5 * (one.high - one.low)).all()


def test_the_order_of_rows_does_not_matter(damper, fit):
    columns = damper.measure(np.linspace(0, damper.clicks, 5), seed=3).columns
    for seed in range(3):
        order = np.random.default_rng(seed).permutation(len(columns[0]))
        again = fit_sheet(SheetRows(*(np.asarray(column)[order] for column in columns)))
        for direction in ("bump", "rebound"):
            one, other = fit.direction(direction), again.direction(direction)
            for position in (5, 6, 7.5):
                a, b = one.predict(position, SPEEDS), other.predict(position, SPEEDS)
                np.testing.assert_array_equal(a.force, b.force)
                np.testing.assert_array_equal(a.high, b.high)
            a, b = one.difference(7, 5, SPEEDS), other.difference(7, 5, SPEEDS)
            np.testing.assert_array_equal(a.low, b.low)
            # what is found of a row goes with the row
            moved = np.argsort(order[other.rows])
            for own, other_way in (
                (one.rows, order[other.rows]),
                (one.residuals, other.residuals),
                (one.misses, other.misses),
                (one.found.strange, other.found.strange),
            ):
                np.testing.assert_array_equal(own, other_way[moved])


# --- a damper that obeys the model comes back ---------------------------------------------------

TRUE = FlowPath(leak=6e-6, bleed=0.0, crack=350.0, opening=7e-6, port=0.03)


def _model_sheet(bleeds: dict[float, float], crack: dict[float, float] | None = None) -> SheetRows:
    position, preload, speed, force = [], [], [], []
    for p, bleed in bleeds.items():
        for q, stack in (crack or {0.0: TRUE.crack}).items():
            curve = force_at(SPEEDS, replace(TRUE, bleed=bleed, crack=stack)) + 12.0
            position += [p] * SPEEDS.size
            preload += [q] * SPEEDS.size
            speed += list(SPEEDS)
            force += list(curve)
    directions = ["rebound"] * len(speed)
    return SheetRows(position, directions, speed, force, None, preload if crack else None)


def test_parameters_come_back_from_a_clean_sheet():
    fit = fit_sheet(_model_sheet({0: 0.5e-3, 4: 1.0e-3, 8: 1.5e-3, 12: 2e-3})).rebound
    assert fit.rms_percent < 0.6
    found = {p.name: p for p in fit.parameters}
    truth = {"leak": 6e-6, "crack": 350, "opening": 7e-6, "port": 0.03, "bleed at 4": 1e-3}
    for name, value in {**truth, "friction": 12.0}.items():
        assert found[name].low <= value <= found[name].high, name
    assert found["bleed at 8"].value == pytest.approx(1.5e-3, rel=0.03)
    assert found["crack"].value == pytest.approx(350, rel=0.05)


def test_two_adjusters_in_one_direction():
    sheet = _model_sheet({0: 0.5e-3, 6: 1.2e-3, 12: 2e-3}, {0.0: 500.0, 4.0: 350.0, 8.0: 200.0})
    fit = fit_sheet(sheet).rebound
    truth = force_at(SPEEDS, replace(TRUE, bleed=1.2e-3, crack=275.0)) + 12.0
    answer = fit.predict(6, SPEEDS, preload_from_hard=6)
    assert answer.basis is Basis.BETWEEN
    np.testing.assert_allclose(answer.force, truth, rtol=0.02)
    change = fit.difference(6, 6, SPEEDS, 4, 0)
    assert change.change[5] == pytest.approx(150, rel=0.3)
    with pytest.raises(NoEstimate, match="preload"):
        fit.predict(6, SPEEDS)


def test_colder_thicker_oil_pushes_harder():
    fit = fit_sheet(_model_sheet({0: 0.5e-3, 6: 1.2e-3})).rebound
    warm = fit.predict(3, SPEEDS).force
    assert (fit.predict(3, SPEEDS, viscosity_ratio=0.3, density_ratio=0.96).force > warm).all()


def test_gas_and_friction_of_the_sheet(damper):
    still = replace(damper, relative_scatter=0.0, absolute_scatter=0.0)
    without = fitted(still.measure([0, 6, 12], seed=1))
    sheet = still.measure([0, 6, 12], seed=1, gas_in=True)
    with_gas = fitted(sheet, gas_in=True, gas_force=damper.gas_force)
    for direction in ("bump", "rebound"):
        np.testing.assert_allclose(
            with_gas.direction(direction).predict(6, SPEEDS).force,
            without.direction(direction).predict(6, SPEEDS).force,
            rtol=1e-6,
        )
    with pytest.raises(BadSheet, match="gas"):
        fitted(sheet, gas_in=True)
    assert fitted(still.measure([0, 6, 12], seed=1), friction_in=False).bump.friction < 0.01


# --- one position only --------------------------------------------------------------------------


def test_one_position_stands_there_and_a_click_law_carries_it(damper):
    sheet = damper.measure([5], seed=8)
    alone = fitted(sheet).bump
    assert alone.predict(5, SPEEDS).basis is Basis.MEASURED
    with pytest.raises(NoEstimate, match="one position"):
        alone.predict(7, SPEEDS)
    carried = fitted(sheet, click_law=ForceSteps(0.04, 0.05)).bump
    here, softer = carried.predict(5, SPEEDS), carried.predict(9, SPEEDS)
    assert softer.basis is Basis.SHOP_RULE
    assert (softer.force < here.force).all()
    assert (_relative_width(softer) > _relative_width(here)).all()
    change = carried.difference(5, 9, SPEEDS)
    assert change.basis is Basis.SHOP_RULE
    assert (change.change < 0).all()


def _relative_width(answer: Prediction) -> np.ndarray:
    return (answer.high - answer.low) / answer.force


# --- the bench that knows more ------------------------------------------------------------------


def _held_out(measured: int, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Relative error at positions half-way between measured ones: of the fit, of straight lines."""
    fit_errors, line_errors = [], []
    for seed, damper in enumerate(population(count, first_seed=100)):
        positions = np.linspace(0, damper.clicks, measured)
        sheet = damper.measure(positions, seed)
        fit = fitted(sheet)
        _, directions, _, force = sheet.columns
        for direction in ("bump", "rebound"):
            curves = force[np.array(directions) == direction].reshape(measured, -1)
            for k, between in enumerate((positions[1:] + positions[:-1]) / 2):
                true = damper.true_force(direction, between, SPEEDS)
                got = fit.direction(direction).predict(between, SPEEDS).force
                fit_errors.append(got / true - 1)
                line_errors.append((curves[k] + curves[k + 1]) / 2 / true - 1)
    return np.array(fit_errors), np.array(line_errors)


def _rms_percent(error: np.ndarray) -> float:
    return float(100 * np.sqrt(np.mean(error**2)))


def test_left_out_positions_of_five():
    fit, line = _held_out(5, 12)
    assert _rms_percent(fit) < 3.0  # the requirement; benchmarks show about 1.9
    assert _rms_percent(fit) < _rms_percent(line) / 3


def test_left_out_positions_of_three_beat_straight_lines_by_four():
    fit, line = _held_out(3, 12)
    assert _rms_percent(fit) < 3.5
    assert _rms_percent(fit) < _rms_percent(line) / 4


def test_one_wild_row_hardly_moves_the_curve(damper, fit):
    sheet = damper.measure(np.linspace(0, damper.clicks, 5), seed=3)
    rows = list(sheet.rows)
    wild = next(k for k, row in enumerate(rows) if row[:2] == (0.0, "bump") and row[2] == 0.1)
    p, d, v, f = rows[wild]
    rows[wild] = (p, d, v, 1.4 * f)
    bent = fitted(Sheet(tuple(rows))).bump.predict(damper.clicks / 8, SPEEDS).force
    np.testing.assert_allclose(bent, fit.bump.predict(damper.clicks / 8, SPEEDS).force, rtol=0.02)


# --- basis and rows --------------------------------------------------------------------------


def test_rows_and_residuals_belong_together(damper):
    sheet = damper.measure([0, 8], seed=2)
    fit = fitted(sheet)
    position, directions, speed, force = sheet.columns
    for direction in ("bump", "rebound"):
        side = fit.direction(direction)
        assert {directions[k] for k in side.rows} == {direction}
        for row, residual in zip(side.rows, side.residuals, strict=True):
            answer = side.predict(position[row], [speed[row]])
            assert residual == pytest.approx(force[row] - answer.force[0], abs=1e-6)


def test_of_runs_with_very_many_points_some_are_fitted_and_all_are_answered_for(damper):
    speeds = np.linspace(0.005, 0.5, 150)
    sheet = damper.measure(np.linspace(0, damper.clicks, 5), 3, speeds)
    position, directions, speed, force = map(np.array, sheet.columns)
    bump = np.flatnonzero(directions == "bump")
    wild = bump[220]
    force[wild] *= 1.6
    force[bump[301]] = 0.0  # a slow row that reads nothing
    fit = fit_sheet(SheetRows(position, directions, speed, force)).bump
    assert fit.found.residual.at.count <= MOST_FITTED
    assert fit.rows.tolist() == bump.tolist()
    assert fit.residuals.shape == fit.misses.shape == fit.found.strange.shape == bump.shape
    assert np.isfinite(fit.found.strange).all()
    assert fit.found.strange[220] > 6.0
    assert fit.rms_percent < 5.0
    assert {speeds[0], speeds[-1]} <= {float(v) for v in fit.speeds}


def test_a_direction_without_rows():
    fit = fit_sheet(_model_sheet({0: 0.5e-3, 6: 1.2e-3}))
    assert fit.bump is None
    with pytest.raises(NoEstimate, match="bump"):
        fit.direction("bump")


def test_bases_from_firm_to_weak():
    known = [Basis.MEASURED, Basis.BETWEEN, Basis.BEYOND, Basis.SHOP_RULE]
    ranks = [basis.rank for basis in known]
    assert ranks == sorted(set(ranks))
    assert str(Basis.SHOP_RULE) == "shop rule"


@pytest.mark.parametrize("steps", [2.5, -2.5])
def test_a_position_far_beyond_those_measured_is_refused(damper, steps):
    fit = fitted(damper.measure([4, 6, 8], seed=2)).bump
    with pytest.raises(NoEstimate, match="from 4 to 8 clicks from full hard"):
        fit.predict(6 + 4 * steps, SPEEDS)
    with pytest.raises(NoEstimate, match="too far"):
        fit.difference(6, 6 + 4 * steps, SPEEDS)
    assert fit.predict(6 + 4 * steps / 2, SPEEDS).basis is Basis.BEYOND


def test_speeds_that_the_sheet_ran(damper):
    fit = fitted(damper.measure([4, 8], 2, SPEEDS[2:6])).bump  # 50 to 150 mm/s
    assert fit.ran([0.025, 0.05, 0.1, 0.15, 0.2]).tolist() == [False, True, True, True, False]


def test_outside_the_speeds_of_the_sheet_the_band_still_holds():
    # fresh runs of the virtual bench, half as fast and twice as fast as the sheet's
    inside = slice(2, 8)  # 50 to 250 mm/s
    held, within, without = [], [], []
    for seed, damper in enumerate(population(12, first_seed=900)):
        positions = np.linspace(0, damper.clicks, 4)
        fit = fitted(damper.measure(positions, seed, SPEEDS[inside])).bump
        _, directions, _, force = damper.measure(positions, seed + 50).columns
        again = force[np.array(directions) == "bump"].reshape(4, -1)
        for position, new in zip(positions, again, strict=True):
            answer = fit.predict(position, SPEEDS)
            held.append(((answer.low <= new) & (new <= answer.high))[[1, -1]])
            without.append(_relative_width(answer)[1])
            within.append(_relative_width(answer)[3])
    assert np.mean(held) >= 0.85
    assert np.median(without) > 2 * np.median(within)
