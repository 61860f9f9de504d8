"""The flow network: laws first, then numbers from outside."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from trackside.damper.flow import FlowPath, flow_coefficient, force_at, speed_at
from trackside.errors import BadNumber

AREA = np.pi / 4 * (0.046**2 - 0.014**2)  # reference model: 46 mm piston, 14 mm rod
REFERENCE = FlowPath(
    leak=0.0,
    bleed=flow_coefficient(np.pi / 4 * 0.002**2, AREA, 850, 0.7),
    crack=1e6 * AREA,
    opening=flow_coefficient(6e-12 / AREA, AREA, 850, 0.7),  # g = 6e-12 m²/Pa
)


def _or_zero(low: float, high: float) -> st.SearchStrategy[float]:
    return st.just(0.0) | st.floats(low, high).map(lambda power: 10.0**power)


paths = st.builds(
    FlowPath,
    leak=_or_zero(-9, -4),
    bleed=_or_zero(-6, -2),
    crack=_or_zero(0, 3.7),
    opening=st.floats(-9, -3).map(lambda power: 10.0**power),
    port=st.just(np.inf) | st.floats(-4, 0).map(lambda power: 10.0**power),
    knee=_or_zero(0, 2),
)
speeds = st.floats(1e-6, 10.0)
forces = st.floats(1e-3, 1e5)


@given(paths, speeds, speeds)
def test_a_faster_rod_never_meets_less_force(path, one, other):
    slow, fast = sorted((one, other))
    assert force_at(slow, path) <= force_at(fast, path) * (1 + 1e-10)


@given(paths, forces, st.floats(0.1, 10))
def test_force_comes_back_from_its_speed(path, force, density_ratio):
    speed = speed_at(force, path, 2.0, density_ratio)
    if speed == 0.0:  # nothing flows below crack without bleed and leak
        assert force <= path.crack
    else:
        # at the knee a speed of near zero may belong to any force up to crack
        loss = 1e-16 * force / max(speed, 1e-300)
        if path.knee:  # and far below crack the lift is a difference of two nearly equal numbers
            loss += 1e-15 * (path.crack / path.knee) ** 2
        assert force_at(speed, path, 2.0, density_ratio) == pytest.approx(force, rel=1e-9 + loss)


@given(paths)
def test_no_speed_no_force(path):
    assert force_at(0.0, path) == 0.0


@given(paths, speeds, st.floats(1.01, 100))
def test_opening_any_way_never_raises_the_force(path, speed, factor):
    before = force_at(speed, path) * (1 + 1e-9)
    for name in ("leak", "bleed", "opening", "port", "knee"):
        opened = FlowPath(**{**path.__dict__, name: getattr(path, name) * factor})
        assert force_at(speed, opened) <= before


@given(paths, speeds, st.floats(1.0, 1000.0))
def test_more_preload_never_lowers_the_force(path, speed, more):
    tighter = FlowPath(**{**path.__dict__, "crack": path.crack + more})
    assert force_at(speed, tighter) >= force_at(speed, path) * (1 - 1e-9)


@given(paths, speeds, st.floats(1.0, 100.0), st.floats(1.0, 1.2))
def test_thinner_lighter_oil_never_pushes_harder(path, speed, viscosity_ratio, density_ratio):
    warm = force_at(speed, path, viscosity_ratio, density_ratio)
    assert warm <= force_at(speed, path) * (1 + 1e-9)


@given(st.lists(st.tuples(paths, speeds), min_size=1, max_size=30))
def test_never_nan_and_the_same_alone_as_together(cases):
    together = FlowPath(
        **{
            name: np.array([getattr(path, name) for path, _ in cases])
            for name in ("leak", "bleed", "crack", "opening", "port", "knee")
        }
    )
    force = force_at(np.array([speed for _, speed in cases]), together)
    assert np.isfinite(force).all()
    alone = [float(force_at(speed, path)) for path, speed in cases]
    np.testing.assert_allclose(force, alone, rtol=1e-10)


EXTREMES = {
    "ordinary": {},
    "no preload": {"crack": 0.0},
    "no bleed": {"bleed": 0.0},
    "no leak": {"leak": 0.0},
    "sharp knee": {"knee": 0.0},
    "choked port": {"port": 1e-4},
    "open port": {"port": np.inf},
    "stack alone": {"leak": 0.0, "bleed": 0.0, "knee": 0.0},
    "bleed alone": {"leak": 0.0, "opening": 0.0},
    "leak alone": {"bleed": 0.0, "opening": 0.0},
    "orifices beyond single precision": {"bleed": 1e-60, "leak": 1e-70, "opening": 1e-48},
}


@pytest.mark.parametrize("extreme", EXTREMES.values(), ids=EXTREMES)
def test_a_long_array_is_solved_to_the_last_digits(extreme):
    # the law itself is the check: the speed of the force, its miss divided by the slope
    rng = np.random.default_rng(2)
    count = (1_300, 1)
    wide = {
        "leak": 10 ** rng.uniform(-8, -5, count),
        "bleed": 10 ** rng.uniform(-5, -2, count),
        "crack": 10 ** rng.uniform(0, 3.5, count),
        "opening": 10 ** rng.uniform(-8, -4, count),
        "port": 10 ** rng.uniform(-3, -1, count),
        "knee": 10 ** rng.uniform(-1, 2, count),
    }
    path = FlowPath(**{**wide, **extreme})
    speed = np.append(0.0, np.geomspace(1e-4, 3.0, 9))
    force = force_at(speed, path)
    assert force.shape == (1_300, 10)
    assert (force[:, 0] == 0.0).all()
    force, speed = force[:, 1:], speed[1:]
    assert np.isfinite(force).all()
    up, down = speed_at(force * (1 + 1e-6), path), speed_at(force * (1 - 1e-6), path)
    miss = (speed_at(force, path) - speed) / ((up - down) / 2e-6)
    rounding = 1e-15 * speed / (up - down) * 2e-6  # where a force hardly hangs on its speed
    assert (np.abs(miss) < 1e-10 + rounding).all()


def test_no_points_are_no_work():
    assert force_at(np.empty((3, 0)), REFERENCE).shape == (3, 0)


def test_a_knee_ends_where_the_sharp_one_does():
    sharp, soft = (FlowPath(3e-6, 1e-3, 400, 7e-6, 0.03, knee) for knee in (0.0, 40.0))
    speed = np.array([0.005, 0.025, 2.0])
    ratio = force_at(speed, soft) / force_at(speed, sharp)
    assert 0.98 < ratio[0] < 1
    assert ratio[1] < 0.98
    assert 0.999 < ratio[2] < 1


def test_a_closed_path_lets_no_speed_through():
    assert force_at(0.1, FlowPath(0, 0, 100, 0)) == np.inf


def test_curves_by_speeds_broadcast():
    bleeds = np.array([[0.5e-3], [1e-3], [2e-3]])
    force = force_at(np.linspace(0, 0.5, 7), FlowPath(0, bleeds, 400, 5e-6, 0.01))
    assert force.shape == (3, 7)
    assert (np.diff(force[:, 1:], axis=0) < 0).all()


@pytest.mark.parametrize("value", [-1e-9, np.nan])
def test_magnitudes_only(value):
    with pytest.raises(BadNumber):
        force_at(value, REFERENCE)
    with pytest.raises(BadNumber):
        speed_at(value, REFERENCE)
    with pytest.raises(BadNumber):
        FlowPath(0, value, 0, 0)


# --- numbers -------------------------------------------------------------------------------------


def test_reference_model_table():
    # A·v = (k + g·(Δp − p_crack))·√Δp, derived from the orifice law; its root by the cubic formula
    # and by scipy's brentq agree (computed)
    speed = [0.01, 0.025, 0.05, 0.0707395573, 0.2, 1.0]
    force = [30.13467, 188.34169, 753.36674, 1507.96447, 2464.55480, 6215.94736]
    np.testing.assert_allclose(force_at(speed, REFERENCE), force, rtol=2e-7)


def test_against_the_cubic():
    # port = inf, no leak: opening·s³ + (bleed − opening·crack)·s = v with s = √F (derived)
    for speed in np.geomspace(0.08, 5, 25):
        bleed, crack, opening = (
            float(x) for x in (REFERENCE.bleed, REFERENCE.crack, REFERENCE.opening)
        )
        roots = np.roots([opening, 0, bleed - opening * crack, -speed])
        root = max(roots[np.abs(roots.imag) < 1e-9].real)
        assert force_at(speed, REFERENCE) == pytest.approx(root**2, rel=1e-9)


def test_against_brentq():
    # scipy.optimize.brentq on this test's own writing of the law
    rng = np.random.default_rng(5)
    for _ in range(300):
        leak, bleed = 10 ** rng.uniform(-8, -5), 10 ** rng.uniform(-5, -2)
        crack, opening, port = (
            rng.uniform(0, 2000),
            10 ** rng.uniform(-7, -4),
            10 ** rng.uniform(-3, -1),
        )
        speed, knee = 10 ** rng.uniform(-3, 0.3), rng.choice([0.0, 5.0, 60.0])

        def short(f, speed=speed, leak=leak, bleed=bleed, c=crack, o=opening, p=port, k=knee):
            lift = o * (f - c + np.hypot(f - c, k)) / 2
            valve = lift * p / np.hypot(lift, p)
            return leak * f + (bleed + valve) * np.sqrt(f) - speed

        expected = brentq(short, 0, 1e9, xtol=1e-12, rtol=1e-14)
        got = force_at(speed, FlowPath(leak, bleed, crack, opening, port, knee))
        assert got == pytest.approx(expected, rel=1e-10)


def test_orifice_coefficient():
    # Q = Cd·a·√(2Δp/ρ), textbook: 2 mm, 1 MPa, 850 kg/m³, Cd 0.61 gives 9.295767e-5 m³/s (derived)
    k = flow_coefficient(np.pi / 4 * 0.002**2, AREA, 850, 0.61)
    flow = speed_at(1e6 * AREA, FlowPath(0, k, 0, 0)) * AREA
    assert flow == pytest.approx(9.295767e-5, rel=1e-6)


def test_orifice_against_fluids():
    # a short tube's Cd is 1/√(1 + K), derived; K 0.57 and so 0.798087: fluids.entrance_sharp of the
    # installed version, computed
    fluids = pytest.importorskip("fluids")
    discharge = 1 / np.sqrt(1 + fluids.entrance_sharp())
    assert discharge == pytest.approx(0.798087, rel=1e-6)
    area = np.pi / 4 * 0.002**2
    jet = np.sqrt(2 * 1e6 / 850) * area
    k = flow_coefficient(area, AREA, 850, discharge)
    through = float(speed_at(1e6 * AREA, FlowPath(0, k, 0, 0))) * AREA
    # the tube's loss and the jet's own head make up the whole pressure drop
    speed = through / area
    assert fluids.dP_from_K(fluids.entrance_sharp(), 850, speed) + 425 * speed**2 == pytest.approx(
        1e6
    )
    assert through < jet


def test_exponent_two_below_crack_and_two_thirds_far_above():
    # d ln F / d ln v of v = k·√F below crack, and of v = g·F^(3/2) far above it: derived
    def exponent(speed):
        low, high = force_at([speed * 0.999, speed * 1.001], REFERENCE)
        return np.log(high / low) / np.log(1.001 / 0.999)

    assert exponent(0.02) == pytest.approx(2.0, abs=1e-6)
    assert exponent(1e4) == pytest.approx(2 / 3, abs=2e-3)


def test_half_the_bleed_is_four_times_the_force_below_crack():
    half = FlowPath(0, np.asarray(REFERENCE.bleed) / 2, REFERENCE.crack, REFERENCE.opening)
    ratio = force_at(0.02, half) / force_at(0.02, REFERENCE)
    assert ratio == pytest.approx(4.0, rel=1e-9)  # F = (v/k)²: derived


def test_orifice_force_goes_with_density_and_leakage_with_viscosity():
    # an orifice's F = (v/k)² goes with ρ, derived; a gap's Q = π·D·c³·Δp/(12·μ·L) with 1/μ: Rabie,
    # Fluid Power Engineering, p. 21 (formula read)
    orifice, gap = FlowPath(0, 1e-3, 1e6, 0), FlowPath(1e-5, 0, 1e6, 0)
    assert force_at(0.05, orifice, density_ratio=1.05) == pytest.approx(2500 / 1.05, rel=1e-10)
    assert force_at(0.05, gap, viscosity_ratio=4.0) == pytest.approx(1250, rel=1e-10)


# --- what the trade expects of a valve: common practice, no source --------------------------------

TYPICAL = {"leak": 5e-6, "crack": 300, "opening": 8e-6, "port": 0.02}


def test_closing_the_needle_works_most_at_low_speed():
    open_, shut = (force_at([0.03, 0.4], FlowPath(bleed=b, **TYPICAL)) for b in (3e-3, 1.5e-3))
    share = shut / open_ - 1
    assert share[0] > 5 * share[1] > 0


def test_more_preload_raises_the_knee():
    speed = np.linspace(0.001, 0.4, 400)
    knees = []
    for crack in (200.0, 400.0):
        force = force_at(speed, FlowPath(2e-6, 2e-3, crack, 8e-6, 0.05))
        knees.append(force[np.argmin(np.diff(force, 2))])
    assert knees[1] > 1.5 * knees[0]


def test_a_base_bleed_leaves_flow_at_full_hard():
    # below crack v = bleed·√F: derived; that oil still passes at full hard is common practice
    shut = FlowPath(leak=0, bleed=0.0, crack=1000, opening=5e-6)
    assert speed_at(500, shut) == 0
    base = FlowPath(leak=0, bleed=0.5e-3, crack=1000, opening=5e-6)  # the needle adds nothing
    assert speed_at(500, base) == pytest.approx(0.5e-3 * np.sqrt(500), rel=1e-12)
