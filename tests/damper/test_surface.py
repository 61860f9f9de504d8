"""The table of forces: it keeps the laws of a damper whatever the rows scatter."""

import numpy as np
import pytest

from tests.bench.varied_bench import VALVES, varied_damper
from trackside.damper.sheet_fit import SheetRows, fit_sheet

SPEEDS = np.concatenate([[0.0, 1e-5, 1e-3], np.geomspace(0.005, 2.0, 60)])


@pytest.mark.parametrize("valve", VALVES)
@pytest.mark.parametrize("places", [2, 5, 12])
def test_harder_is_never_softer_and_faster_never_less(valve, places):
    damper = varied_damper(valve, 11)
    positions = np.unique(np.round(np.linspace(0, damper.clicks, places)))
    position, direction, speed, force = damper.measure(positions, 3)
    rough = force * np.exp(0.04 * np.random.default_rng(1).normal(size=force.size))
    fit = fit_sheet(SheetRows(position, direction, speed, rough)).bump
    asked = np.linspace(0.0, 1.3 * damper.clicks, 53)
    table = np.array([fit.predict(float(place), SPEEDS).force for place in asked])
    assert np.isfinite(table).all()
    assert (table[:, 0] == 0.0).all()
    assert (np.diff(table, axis=1) >= -1e-9 * table[:, :-1]).all()
    assert (np.diff(table, axis=0) <= 1e-9 * table[:-1]).all()
