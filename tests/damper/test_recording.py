"""Raw recordings: sines found, loops measured, against closed forms."""

from math import gamma

import numpy as np
import pytest

from trackside.damper.recording import Recording
from trackside.errors import BadSheet


def _run(stroke=0.05, hertz=2.0, seconds=3.0, rate=2000.0, noise=0.0, seed=0, phase=0.3):
    rng = np.random.default_rng(seed)
    t = np.arange(0, seconds, 1 / rate) + 7.0
    angle = 2 * np.pi * hertz * t + phase
    x = 0.12 + stroke / 2 * np.sin(angle) + noise * stroke * rng.normal(size=t.size)
    return t, x, np.pi * stroke * hertz * np.cos(angle)


@pytest.mark.parametrize(
    ("rpm", "speed"),
    [(10, 0.0523599), (25, 0.1308997), (50, 0.2617994), (75, 0.3926991), (100, 0.5235988),
     (200, 1.0471976)],
)  # fmt: skip
def test_peak_speed_of_a_sine(rpm, speed):
    # v = π·S·f, 100 mm: derived; a diagram in Audi's self-study programme 242 shows 0.26 and
    # 0.52 m/s (read)
    t, x, v = _run(stroke=0.1, hertz=rpm / 60, seconds=4 * 60 / rpm, noise=1e-3)
    sine = Recording.read(t, x, v).motion
    assert sine.shape == "sine"
    assert sine.peak_speed == pytest.approx(speed, rel=1e-3)
    assert sine.stroke == pytest.approx(0.1, rel=1e-3)
    assert sine.centre == pytest.approx(0.12, abs=1e-4)
    np.testing.assert_allclose(sine.speed(t), v, atol=2e-3 * speed)


@pytest.mark.parametrize("n", [0, 0.5, 2 / 3, 1, 1.5, 2])
def test_energy_of_a_power_law(n):
    # E = k·C·ωⁿ·Xⁿ⁺¹, k = 2√π·Γ(n/2 + 1)/Γ((n + 3)/2): derived, and checked by quadrature
    t, x, v = _run(rate=20_000)
    force = 900 * np.sign(v) * np.abs(v) ** n
    k = 2 * np.sqrt(np.pi) * gamma(n / 2 + 1) / gamma((n + 3) / 2)
    expected = k * 900 * (2 * np.pi * 2.0) ** n * 0.025 ** (n + 1)
    assert Recording.read(t, x, force).energy_per_cycle() == pytest.approx(expected, rel=2e-3)


def test_peak_forces_and_their_scatter():
    t, x, v = _run(seconds=20, noise=5e-4, seed=3)
    stroke = np.floor((2 * np.pi * 2.0 * t + 0.3) / np.pi + 0.5)
    uneven = 1 + 0.01 * np.random.default_rng(1).normal(size=int(stroke.max()) + 1)
    force = np.where(v > 0, 2000 * v, 4000 * v) * uneven[stroke.astype(int)]
    peaks = Recording.read(t, x, force).peak_forces()
    assert peaks.speed == pytest.approx(np.pi * 0.05 * 2, rel=1e-4)
    assert peaks.bump == pytest.approx(2000 * peaks.speed, rel=0.004)
    assert peaks.rebound == pytest.approx(4000 * peaks.speed, rel=0.004)
    assert peaks.bump_scatter / peaks.bump == pytest.approx(0.01, rel=0.5)
    assert peaks.strokes in (79, 80)


def test_the_peak_is_the_peak_and_no_average():
    t, x, v = _run(seconds=20)
    peaks = Recording.read(t, x, 9000 * np.sign(v) * v**2).peak_forces()
    assert peaks.bump == pytest.approx(9000 * peaks.speed**2, rel=1e-3)


def test_slow_run_tells_gas_from_friction():
    t, x, v = _run(stroke=0.04, hertz=0.03, seconds=90, rate=100)
    rng = np.random.default_rng(2)
    force = 210 + 900 * (x - 0.12) + 15 * np.sign(v) + rng.normal(size=t.size)
    slow = Recording.read(t, x, force).slow_run()
    assert slow.gas_force == pytest.approx(210, abs=0.5)
    assert slow.gas_rate == pytest.approx(900, rel=0.02)
    assert slow.friction == pytest.approx(15, abs=0.5)


@pytest.mark.parametrize("rate", [60.0, 500.0, 10_000.0])
def test_a_triangle_runs_at_one_speed(rate):
    # v = 2·S·f and a loop of constant forces is a rectangle, E = S·(bump + rebound): derived
    rng = np.random.default_rng(4)
    t = np.arange(0, 12, 1 / rate) + 3
    angle = 2 * np.pi * 1.3 * t + 1.1
    x = 0.08 + 0.02 * 2 / np.pi * np.arcsin(np.sin(angle)) + 2e-5 * rng.normal(size=t.size)
    force = 200 + 900 * (x - 0.08) + np.where(np.cos(angle) > 0, 310, -620)
    run = Recording.read(t, x, force)
    assert run.motion.shape == "triangle"
    assert run.motion.stroke == pytest.approx(0.04, rel=1e-3)
    peaks = run.peak_forces()
    assert peaks.speed == pytest.approx(2 * 0.04 * 1.3, rel=1e-3)
    assert peaks.bump == pytest.approx(510, rel=1e-3)
    assert peaks.rebound == pytest.approx(420, rel=1e-3)
    corners = 2.5 * 1.3 / rate  # the samples beside each sharp corner miss a little of it
    assert run.energy_per_cycle() == pytest.approx(0.04 * (510 + 420), rel=corners)


def test_round_corners_take_nothing_from_the_speed_of_the_sides():
    # a side's slope at its middle, dx/dt = X·(2/π)·k·ω for arcsin(k·sin ωt): derived
    t = np.arange(0, 8, 1e-3)
    angle = 2 * np.pi * 1.3 * t
    x = 0.02 * 2 / np.pi * np.arcsin(0.99 * np.sin(angle))
    motion = Recording.read(t, x, np.cos(angle)).motion
    assert motion.shape == "triangle"
    assert motion.peak_speed == pytest.approx(0.02 * 2 / np.pi * 0.99 * 2 * np.pi * 1.3, rel=0.01)


def test_a_slow_sampling_costs_little_and_too_slow_a_one_is_refused():
    t, x, v = _run(seconds=20, rate=2.0 * 33.7)
    force = 9000 * np.sign(v) * v**2
    peaks = Recording.read(t, x, force).peak_forces()
    assert peaks.bump == pytest.approx(9000 * peaks.speed**2, rel=0.015)
    with pytest.raises(BadSheet, match="samples a cycle"):
        Recording.read(t[::2], x[::2], force[::2])


def test_the_mean_loop_is_the_loop():
    t, x, v = _run(seconds=20, noise=1e-3)
    run = Recording.read(t, x, 2000 * v)
    away, force = run.loop(200)
    assert away.size == force.size == 200
    # the ellipse of a linear damper: (x/X)² + (F/F̂)² = 1: derived
    np.testing.assert_allclose(
        (away / 0.025) ** 2 + (force / (2000 * np.pi * 0.1)) ** 2, 1, atol=0.01
    )


@pytest.mark.parametrize(("hertz", "degrees"), [(2.0, 1.799408), (10.0, 8.927055)])
def test_series_stiffness_shows_as_phase(hertz, degrees):
    # a dashpot c behind a stiffness k lags by atan(ω·c/k): derived
    c, k, omega = 5000.0, 2e6, 2 * np.pi * hertz
    t, x, _ = _run(rate=20_000, hertz=hertz)
    lag = np.arctan(omega * c / k)
    assert np.degrees(lag) == pytest.approx(degrees, rel=1e-6)
    angle = omega * t + 0.3
    force = c * omega * 0.025 * np.cos(lag) * np.cos(angle - lag)
    run = Recording.read(t, x, force)
    # the loop's area is that of the part in phase with speed: π·c·ω·X²·cos²(lag)
    expected = np.pi * c * omega * 0.025**2 * np.cos(lag) ** 2
    assert run.energy_per_cycle() == pytest.approx(expected, rel=2e-3)


def test_recordings_that_cannot_be_read():
    t, x, v = _run()
    with pytest.raises(BadSheet, match="forward"):
        Recording.read(t[::-1], x, v)
    with pytest.raises(BadSheet, match="differ in length"):
        Recording.read(t, x[:-1], v)
    with pytest.raises(BadSheet, match="no force"):
        Recording.read(t, x, np.where(t > 8, np.nan, v))
    with pytest.raises(BadSheet, match="two cycles"):
        Recording.read(t[:600], x[:600], v[:600])
    with pytest.raises(BadSheet, match="wrong way round"):
        Recording.read(t, x, -v)
    with pytest.raises(BadSheet, match="one time"):
        Recording.read(np.floor(t * 1000) / 1000, x, v)
    with pytest.raises(BadSheet, match="neither a sine nor a triangle"):
        Recording.read(t, np.sign(x - 0.12), v)


def test_a_million_rows():
    t, x, v = _run(seconds=100, rate=10_000, noise=1e-3)
    run = Recording.read(t, x, 2000 * v)
    assert run.peak_forces().bump == pytest.approx(2000 * run.motion.peak_speed, rel=1e-3)
    assert run.energy_per_cycle() > 0
    assert run.motion.frequency == pytest.approx(2.0, rel=1e-7)


@pytest.mark.parametrize("kind", range(6))
def test_what_is_no_motion_is_refused_in_words(kind):
    for seed in range(40):
        rng = np.random.default_rng(seed)
        t = np.cumsum(rng.uniform(0.5, 1.5, 400)) * 1e-3
        angle = 2 * np.pi * 20 * t
        x = [
            rng.normal(size=t.size),
            np.cumsum(rng.normal(size=t.size)),
            np.sign(np.sin(angle)),
            np.where(rng.random(t.size) < 0.01, 1.0, 0.0),
            np.sin(angle) ** 5,
            np.mod(angle, 2 * np.pi),
        ][kind]
        with pytest.raises(BadSheet):
            Recording.read(t, 0.02 * x, rng.normal(size=t.size))
