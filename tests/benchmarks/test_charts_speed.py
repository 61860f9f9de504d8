"""How long a chart takes, as a ratio to a fixed piece of numpy work in the same run.

The budgets: a full page at 80 by 24 in 25 ms and at 120 by 40 in 50 ms, the live panel at 60 by 16
with four curves of 60 points in 4 ms. The limits are those budgets over the time that WORKLOAD
takes on the machine that they were set on.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np
import pytest

from trackside.charts import Series, live, plot

SPEED = np.linspace(-300, 300, 60)
WORKLOAD_MS = 5.3


def _series() -> list[Series]:
    found = []
    for role, rate in zip(("FL", "FR", "RL", "RR"), (9, 9.3, 6, 6.6), strict=True):
        force = np.sign(SPEED) * rate * np.abs(SPEED) ** 0.8
        found.append(Series(SPEED, force, role, role, low=force * 0.93, high=force * 1.07))
    return found


def _workload() -> None:
    for _ in range(1000):
        np.interp(SPEED, SPEED, SPEED).cumsum().round(3)


def _spent_ms(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return 1e3 * (time.perf_counter() - start)


@pytest.mark.benchmark
@pytest.mark.parametrize(
    ("name", "draw", "budget_ms"),
    [
        ("page 80x24", lambda: plot(_series(), 80, 24, x_label="mm/s", y_label="N"), 25),
        ("page 120x40", lambda: plot(_series(), 120, 40, x_label="mm/s", y_label="N"), 50),
        ("live 60x16", lambda: live(_series(), 60, 16, x_label="mm/s", y_label="N"), 4),
    ],
)
def test_a_chart_keeps_its_budget(
    name: str, draw: Callable[[], object], budget_ms: float, capsys: pytest.CaptureFixture[str]
) -> None:
    draw()
    pairs = [(_spent_ms(draw), _spent_ms(_workload)) for _ in range(30)]
    drawn, reference = (statistics.median(times) for times in zip(*pairs, strict=True))
    ratio = statistics.median(chart / work for chart, work in pairs)
    with capsys.disabled():
        print(f"\n{name}: {drawn:.2f} ms, {ratio:.2f} of the workload ({reference:.2f} ms)")
    assert ratio <= budget_ms / WORKLOAD_MS
