"""Steady runs found in one long recording: by what the rod does, not by what a header says."""

import numpy as np
import pytest

from trackside.damper.recording import Recording
from trackside.damper.runs import find_runs


def _drive(pieces, rate=1000.0, noise=0.0, wave=np.sin):
    """(seconds, Hz, stroke m) one after the other, phase unbroken; 0 Hz is a rest."""
    hertz = np.concatenate([np.full(int(s * rate), f) for s, f, _ in pieces])
    stroke = np.concatenate([np.full(int(s * rate), x) for s, _, x in pieces])
    angle = 2 * np.pi * np.cumsum(hertz) / rate + 0.7
    rng = np.random.default_rng(0)
    x = 0.1 + stroke / 2 * wave(angle) + noise * rng.normal(size=angle.size)
    return np.arange(angle.size) / rate, x, np.cos(angle)


def _triangle(angle):
    return 2 / np.pi * np.arcsin(np.sin(angle))


@pytest.mark.parametrize("wave", [np.sin, _triangle])
@pytest.mark.parametrize("noise", [0.0, 2e-4])
def test_runs_of_many_speeds(wave, noise):
    speeds = [0.1, 0.5, 1.0, 2.0, 2.2, 6.0]
    t, x, v = _drive([(max(8 / f, 3), f, 0.05) for f in speeds], noise=noise, wave=wave)
    found = [Recording.read(t[s], x[s], v[s]).motion for s in find_runs(t, x)]
    assert [m.frequency for m in found] == pytest.approx(speeds, rel=1e-3)
    assert [m.stroke for m in found] == pytest.approx([0.05] * 6, rel=5e-3)


def test_runs_of_two_strokes_at_one_frequency():
    t, x, v = _drive([(5, 1.0, 0.05), (5, 1.0, 0.02), (5, 1.0, 0.1)])
    found = [Recording.read(t[s], x[s], v[s]).motion for s in find_runs(t, x)]
    assert [m.stroke for m in found] == pytest.approx([0.05, 0.02, 0.1], rel=1e-3)


def test_ramps_and_rests_belong_to_no_run():
    ramp = [(0.05, f, 0.05) for f in np.linspace(1, 4, 20)]
    t, x, _ = _drive([(6, 1.0, 0.05), *ramp, (3, 4.0, 0.05), (2, 0.0, 0.05), (3, 4.0, 0.05)])
    runs = find_runs(t, x)
    assert len(runs) == 3
    steady = [(0, 6), (7, 10), (12, 15)]
    for run, (start, end) in zip(runs, steady, strict=True):
        assert start - 0.1 <= t[run.start]
        assert t[run.stop - 1] <= end + 0.1
        assert t[run.stop - 1] - t[run.start] > 0.75 * (end - start)


def test_no_run_in_what_is_none():
    t, x, _ = _drive([(1.4, 1.0, 0.05)])
    assert find_runs(t, x) == []
    assert find_runs(t, np.full_like(t, 0.1)) == []
    assert find_runs(t, np.linspace(0, 1, t.size)) == []
    assert len(find_runs(*_drive([(3.2, 1.0, 0.05)])[:2])) == 1
