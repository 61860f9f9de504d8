"""Raw recordings of a virtual damper, as files of a bench."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from tests.bench.virtual_bench import virtual_damper

DAMPER = virtual_damper(1007)
GAS, RATE = 212.0, 900.0
STROKE = 0.05
HERTZ = (0.03, 0.16, 0.32, 0.64, 1.28, 2.5)
FORMATS = ["%.5f", "%.5f", "%.3f"]


def motion(hertz: float, rate: float, cycles: float = 6.3) -> np.ndarray:
    """t, x, v, F of a sine run of the virtual damper at 6 clicks: s, m, m/s, N; gas in."""
    t = np.arange(0, cycles / hertz, 1 / rate)
    angle = 2 * np.pi * hertz * t + 0.4
    x, v = STROKE / 2 * np.sin(angle), np.pi * STROKE * hertz * np.cos(angle)
    bump = DAMPER.true_force("bump", 6, np.maximum(v, 0))
    rebound = DAMPER.true_force("rebound", 6, np.maximum(-v, 0))
    return np.column_stack([t, x, v, bump - rebound + GAS + RATE * x])


def table(hertz: float, rate: float = 1000.0, **more: float) -> np.ndarray:
    """Time s, displacement mm, force N."""
    t, x, _, force = motion(hertz, rate, **more).T
    return np.column_stack([t, 1000 * x, force])


def written(
    path: Path, rows: np.ndarray, header: str = "time_s,displacement_mm,force_N", **more: object
) -> Path:
    given = {"fmt": FORMATS[: rows.shape[1]], "delimiter": ",", "comments": "", **more}
    np.savetxt(path, rows, header=header, **given)  # type: ignore[arg-type]
    return path
