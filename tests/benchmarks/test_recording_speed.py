"""A million-row recording, read and reduced: against numpy's bare reader in the same run.

python -m pytest tests/benchmarks/test_recording_speed.py -s -m benchmark
"""

import time
from pathlib import Path

import numpy as np
import pytest

from trackside.analysis.rig import read_rig

pytestmark = pytest.mark.benchmark

ROWS, RATE = 1_000_000, 10_000.0


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    t = np.arange(ROWS) / RATE
    hertz = np.select([t < 60, t < 70, t < 80, t < 90], [0.05, 0.5, 1.0, 2.0], 4.0)
    angle = 2 * np.pi * np.cumsum(hertz) / RATE
    x, v = 0.015 * np.sin(angle), 0.03 * np.pi * hertz * np.cos(angle)
    noise = np.random.default_rng(0).normal(size=ROWS)
    force = 200 + 900 * x + 20 * np.sign(v) + np.where(v > 0, 3000, 5000) * v + noise
    path = tmp_path_factory.mktemp("bench") / "million.csv"
    np.savetxt(
        path,
        np.column_stack([t, 1000 * x, force]),
        fmt=["%.4f", "%.4f", "%.2f"],
        delimiter=",",
        header="time_s,displacement_mm,force_N",
        comments="",
    )
    return path


def _best(work, times: int = 3) -> float:
    found = []
    for _ in range(times):
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return min(found)


def test_a_million_rows(recording: Path) -> None:
    rig = read_rig([recording])
    assert len(rig.runs) == 5
    assert rig.slow is not None
    ours = _best(lambda: read_rig([recording]))
    bare = _best(lambda: np.loadtxt(recording, delimiter=",", skiprows=1))
    print(f"\n1e6 rows read and reduced in {ours:.2f} s, {ours / bare:.2f} x the reading alone")
    assert ours < 2.0
    assert ours < 2.5 * bare
